"""Owns columns of text that hold each distinct word once: a word is read, then its rows follow."""

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
        **{name: w.categories.array.take(w.codes.to_numpy()) for name, w in words.items()}
    )


def all_alike(word: str, rows: int) -> "pd.Series[str]":
    """Return a column of text that says one word in every row, numbered from 0."""
    return pd.Series(pd.array([word], dtype="str").take(np.zeros(rows, dtype=np.intp)))


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
