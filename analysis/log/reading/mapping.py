"""Owns what boat.toml says of single cells: own words, and cells that hold several things."""

from collections.abc import Mapping

import numpy as np

from analysis.log.reading.draft import Draft
from analysis.log.wording.patterns import split_words
from analysis.log.wording.settings import Wording
from analysis.log.wording.spelling import same_name


def map_cells(draft: Draft, wording: Wording) -> None:
    """Split the cells that `[patterns]` splits, then put our words for those of `[values]`.

    Parameters
    ----------
    draft : Draft
        The table, changed in place.
    wording : analysis.log.wording.settings.Wording
    """
    for column in wording.patterns.get(draft.name, {}):
        _split(draft, column, wording)
    for column, words in wording.values.items():
        if column in draft.frame:
            _put_words(draft, column, words)


def _split(draft: Draft, column: str, wording: Wording) -> None:
    """Split one column; a column that has its own word in a row keeps it."""
    pattern = wording.patterns[draft.name][column]
    headings = {str(name): str(name) for name in draft.frame} | {
        heading.casefold(): name for name, heading in draft.table.headings.items()
    }
    source = column if column in draft.frame else headings.get(column.casefold())
    if source is None:
        return
    text = draft.frame[source].copy()
    toml = draft.file.parent / "boat.toml"
    words = split_words(pattern, text, toml, f"patterns.{draft.name}.{column}")
    found = [words[word] for word in text]
    unread = np.array([m is None and word != "" for m, word in zip(found, text, strict=True)])
    draft.doubt(
        source,
        unread,
        "it does not fit the pattern of this column",
        f"correct it, or the pattern under [patterns.{draft.name}] in boat.toml",
    )
    for group in pattern.groupindex:
        own = np.full(len(text), "", dtype=object)
        if group in draft.frame and group != source:
            own = draft.frame[group].to_numpy(dtype=object)
        parts = [m[group] if m else "" for m in found]
        draft.frame[group] = [o or part for o, part in zip(own, parts, strict=True)]
        draft.frame[group] = draft.frame[group].astype("str")


def _put_words(draft: Draft, column: str, words: Mapping[str, str]) -> None:
    told = {same_name(word): ours for word, ours in words.items()}
    text = draft.frame[column]
    draft.frame[column] = text.map(lambda word: told.get(same_name(word), word)).astype("str")
