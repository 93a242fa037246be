"""Owns which of our words a cell of an unknown log means: of a choice, or of a gear's kind."""

from functools import cache

from analysis.log.files.headings import folded
from analysis.log.suggest.lexicon import DENIALS, GEAR_KINDS, WORDS
from analysis.log.wording.spelling import bare

_SHORTEST = 2


@cache
def known_word(column: str, word: str) -> str:
    """Return our word for one of a choice in any language, empty for none or two."""
    found = [ours for ours, words in _choices(column).items() if bare(word) in words]
    return found[0] if len(found) == 1 else ""


@cache
def likely_word(column: str, word: str) -> str:
    """Return our word for a cell that has one of a choice among others; it is to be asked.

    Examples
    --------
    >>> likely_word("outcome", "lost, at the net"), likely_word("outcome", "Mistet")
    ('lost', 'lost')
    >>> likely_word("outcome", "not landed"), likely_word("outcome", "landed one, lost one")
    ('', '')
    """
    whole = known_word(column, word)
    parts = set(folded(word).split("_"))
    if whole or parts & DENIALS:
        return whole
    # a letter alone may be any word's first: only as a whole cell does it say something
    long = {part for part in parts if len(part) > _SHORTEST}
    found = [ours for ours, words in _choices(column).items() if words & long]
    return found[0] if len(found) == 1 else ""


@cache
def _choices(column: str) -> dict[str, set[str]]:
    return {
        ours: {bare(other) for other in words.split("|")}
        for ours, words in WORDS.get(column, {}).items()
    }


@cache
def kind_of_gear(word: str) -> str:
    """Return the kind of gear that a name speaks of, empty for none or two.

    Examples
    --------
    >>> kind_of_gear("Dykker liten"), kind_of_gear("planer")
    ('diver', '')
    """
    plain = " " + folded(word).replace("_", " ") + " "
    found = [
        kind
        for kind, words in GEAR_KINDS.items()
        if any(f" {folded(own).replace('_', ' ')} " in plain for own in words.split("|"))
    ]
    return found[0] if len(found) == 1 else ""
