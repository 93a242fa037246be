"""Owns how much a heading speaks of a column of ours: whole, in parts, or of another thing."""

import re
from difflib import SequenceMatcher, get_close_matches
from functools import cache

from analysis.log.files.headings import folded
from analysis.log.schema import TABLES
from analysis.log.suggest.lexicon import BESIDES, FILLERS, HEADINGS, PERSONS
from analysis.log.wording.unit_words import split_heading

SURELY = 0.9
"""What a heading says at least that is all in one of the spellings we know."""
_NEAR = 0.86
_PART = 0.5
_OTHER = 0.4
_SHORTENED = 0.55
_SHORTEST = 3
_VOWELS = frozenset("aeiouyäöåøæéèêü")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
# a clock is one of ours by where it stands, whatever another table calls its own
_COLUMNS = tuple(
    dict.fromkeys(one.name for fields in TABLES.values() for one in fields if one.kind != "time")
)


@cache
def _spellings(column: str) -> tuple[str, ...]:
    own = {folded(word) for word in HEADINGS.get(column, "").split("|") if word}
    return (folded(column), *sorted(own - {folded(column)}))


def _core(plain: str) -> frozenset[str]:
    """Return the words of a folded heading that carry its meaning."""
    words = plain.split("_")
    return frozenset(word for word in words if word not in FILLERS) or frozenset(words)


@cache
def heading_score(heading: str, column: str) -> float:
    """Return how much a heading speaks of a column of ours, from 0 to 1.

    Examples
    --------
    >>> heading_score("Which lure?", "lure") > heading_score("Lure size", "lure") > 0.5
    True
    >>> heading_score("Air temp", "surface_temp") < 0.5
    True
    """
    # Time in ends in no inches: the whole heading counts as much as what stands before a unit
    spaced = _CAMEL.sub(" ", heading)
    whole, before = folded(spaced), folded(split_heading(spaced)[0])
    return max(_plain_score(plain, column) for plain in {whole, before})


def _plain_score(plain: str, column: str) -> float:
    own = _spellings(column)
    if plain == own[0]:
        return 1.0
    if plain in own:
        return 0.95
    if not plain:
        return 0.0
    core = _core(plain)
    if core in _cores(column):
        return SURELY
    if near := get_close_matches(plain, own, n=1, cutoff=_NEAR):
        return SURELY * SequenceMatcher(None, plain, near[0]).ratio()
    inside = [c for c in _cores(column) if c <= core and max(map(len, c)) >= _SHORTEST]
    if inside:
        best = max(inside, key=len)
        # the last word of a heading is what it is, those before are of what it is
        last = [word for word in plain.split("_") if word in core][-1] in best
        part = _PART + 0.3 * len(best) / len(core) + 0.05 * last
        return part * (_OTHER if core & BESIDES else 1.0)
    words = plain.split("_")
    return _SHORTENED * any(_shortened(words, one.split("_")) for one in own)


def _shortened(words: list[str], whole: list[str]) -> bool:
    """Whether words stand for others: their beginning, or their first letter and consonants."""
    return len(words) == len(whole) and all(map(_short_for, words, whole))


def _short_for(word: str, whole: str) -> bool:
    if word == whole or (len(word) >= _SHORTEST and whole.startswith(word)):
        return True
    consonants = [letter for letter in whole if letter not in _VOWELS]
    letters = iter(whole[1:])
    inside = word[:1] == whole[:1] and all(letter in letters for letter in word[1:])
    last = bool(consonants) and word[-1:] == consonants[-1]
    return 1 < len(word) < len(whole) and inside and last and not set(word[1:]) & _VOWELS


@cache
def _cores(column: str) -> frozenset[frozenset[str]]:
    return frozenset(map(_core, _spellings(column)))


@cache
def speaks_of_else(heading: str, table: str, *, clocks: bool = False) -> bool:
    """Whether a heading names a thing that has no column in a table of ours.

    Where `clocks` stand below it, it names none of our columns that hold no time: Back is then
    no line-out.

    Examples
    --------
    >>> speaks_of_else("Bottom depth (ft)", "sets"), speaks_of_else("Speed", "sets")
    (True, True)
    >>> speaks_of_else("Surface temp", "readings"), speaks_of_else("Yoko", "sets")
    (False, False)
    >>> speaks_of_else("Back", "trips"), speaks_of_else("Back", "trips", clocks=True)
    (True, False)
    """
    ours = [one.name for one in TABLES[table]]
    if max(heading_score(heading, column) for column in ours) >= _PART:
        return False
    core = _core(folded(_CAMEL.sub(" ", split_heading(heading)[0])))
    named = bool(core & (BESIDES | PERSONS))
    return named or (
        not clocks and any(heading_score(heading, column) > SURELY for column in _COLUMNS)
    )
