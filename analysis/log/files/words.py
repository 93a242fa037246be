"""Owns columns of text that hold each distinct word once: a word is read, then its rows follow."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

Texts = npt.NDArray[np.object_]
Codes = npt.NDArray[np.integer[Any]]


def worded(text: Any) -> pd.Categorical:
    """Hold a text column as its distinct words, in order of appearance, and a number a row.

    Parameters
    ----------
    text : sequence of str

    Examples
    --------
    >>> column = worded(["diver", "rigger", "diver"])
    >>> column.categories.tolist(), column.codes.tolist()
    (['diver', 'rigger'], [0, 1, 0])
    """
    codes, words = pd.factorize(pd.array(text, dtype="str"))
    return pd.Categorical.from_codes(codes, categories=pd.Index(words, dtype="str"))


def plain(frame: pd.DataFrame) -> pd.DataFrame:
    """Return a frame whose columns that hold each word once are plain text."""
    words = {str(name): frame[name].cat for name in frame.select_dtypes("category")}
    return frame.assign(
        **{
            name: w.categories.array.take(w.codes.to_numpy(), allow_fill=True)
            for name, w in words.items()
        }
    )


def in_order(column: Any) -> pd.Categorical:
    """Hold text as its words in order of the alphabet, so that rows sort and group as text does.

    Parameters
    ----------
    column : pandas.Series or sequence of str
        Text, or categories of it.

    Examples
    --------
    >>> in_order(["rigger", "diver"]).categories.tolist()
    ['diver', 'rigger']
    """
    words = column.array if isinstance(column, pd.Series) else column
    if not isinstance(words, pd.Categorical):
        words = worded(words)
    used = np.zeros(len(words.categories) + 1, dtype=bool)
    used[words.codes] = True  # -1, a cell without a word, is the last
    return words.set_categories(words.categories[used[:-1]].sort_values())


def under_each_other(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Put frames under each other whose text is held as words; those stay in order."""
    every: dict[str, set[str]] = {}
    for frame in frames:
        for name in frame.select_dtypes(["category", "str"]):
            every.setdefault(str(name), set()).update(coded(frame[name])[1])
    kinds = {
        name: pd.CategoricalDtype(pd.Index(sorted(words), dtype="str"))
        for name, words in every.items()
    }
    alike = [
        frame.astype({name: kind for name, kind in kinds.items() if name in frame})
        for frame in frames
    ]
    return pd.concat(alike, ignore_index=True)


def spelt(words: Sequence[str], which: Codes) -> pd.Categorical:
    """Return words of a short list as a column that holds each once; two may be the same."""
    once = worded(words)
    return pd.Categorical.from_codes(once.codes[which], categories=once.categories)


def all_alike(word: str, rows: int) -> pd.Categorical:
    """Return a column of text that says one word in every row."""
    return spelt([word], np.zeros(rows, dtype=np.int8))


def coded(text: "pd.Series[str]") -> tuple[Codes, Texts]:
    """Return the number of each row's word, and the words; of a part some may have no row.

    Parameters
    ----------
    text : pandas.Series
        Text, or categories of it.
    """
    if isinstance(text.dtype, pd.CategoricalDtype):
        return text.cat.codes.to_numpy(), text.cat.categories.to_numpy(dtype=object)
    codes, words = pd.factorize(text)
    return codes, np.asarray(words, dtype=object)
