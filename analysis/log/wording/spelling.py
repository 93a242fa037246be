"""Owns when two typed words are one: the name most like a word, and what spellings share."""

import difflib
import re
import unicodedata
from collections.abc import Iterable

_DIGITS = re.compile(r"\d+")
_SURE = 0.8
_RIVAL = 0.1


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, or None when none is much like it."""
    by_folded = {k.casefold(): k for k in known}
    found = difflib.get_close_matches(word.casefold(), list(by_folded), n=1, cutoff=0.6)
    return by_folded[found[0]] if found else None


def same_name(name: str) -> str:
    """Return what two spellings of one name share: capitals and the width of spaces do not matter.

    Examples
    --------
    >>> same_name("Blue  Heron") == same_name("blue heron")
    True
    """
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def bare(word: str) -> str:
    """Return a word's letters and digits alone.

    Examples
    --------
    >>> bare("Landed!"), bare("False-Release")
    ('landed', 'falserelease')
    """
    return "".join(letter for letter in word.casefold() if letter.isalnum())


def surely(word: str, known: Iterable[str]) -> list[str]:
    """Return the known words that `word` can be a spelling of: one is certain, two are not.

    Words of other digits are other words, as P1 and P2 are.

    Examples
    --------
    >>> surely("Divr", ["diver", "rigger"]), surely("diver 3", ["diver 1", "diver 2"])
    (['diver'], [])
    >>> surely("rigger", ["rigger port", "riggers", "rigged"])
    ['riggers', 'rigged']
    """
    names = list(known)
    folded = bare(word)
    same = [name for name in names if bare(name) == folded]
    if same or len(folded) < 4:
        return same
    scores = {
        name: difflib.SequenceMatcher(None, folded, bare(name)).ratio()
        for name in names
        if _DIGITS.findall(folded) == _DIGITS.findall(bare(name))
    }
    best = max(scores.values(), default=0.0)
    if best < _SURE:
        return []
    return [name for name, score in scores.items() if score >= best - _RIVAL]
