"""Owns the labels of rods: one rod is one rod however it is typed."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cache

import pandas as pd

from analysis.log.wording.spelling import bare

SIDES_IN_SHORT: Mapping[str, str] = {
    **dict.fromkeys(("p", "prt", "left", "portside"), "port"),
    **dict.fromkeys(("s", "stb", "stbd", "sb", "strbd", "right", "starbd"), "starboard"),
    **dict.fromkeys(("c", "ctr", "cntr", "center", "middle", "mid"), "centre"),
}
"""What an English log says for a side in short (common practice, no source)."""


@cache
def rod_key(label: str) -> str:
    """Return what all spellings of one rod share: no capitals, no spaces, no dashes.

    Examples
    --------
    >>> rod_key("P 1") == rod_key("p1") == rod_key("P-1")
    True
    """
    return bare(label) or label


def of_rod(values: Mapping[str, float], rod: str, default: float) -> float:
    """Return a rod's value of a table of boat.toml, however the rod is typed in either."""
    key = rod_key(rod)
    return next((value for name, value in values.items() if rod_key(name) == key), default)


def side_of_label(rod: str) -> str:
    """Return the side that a rod's label speaks of, empty where it speaks of none or of two.

    Examples
    --------
    >>> side_of_label("Port 2"), side_of_label("DR stbd"), side_of_label("S1"), side_of_label("4")
    ('port', 'starboard', 'starboard', '')
    """
    words = {word.lower() for word in re.findall(r"[^\W\d_]+", rod)}
    known = {side: side for side in SIDES_IN_SHORT.values()} | dict(SIDES_IN_SHORT)
    sides = {known[word] for word in words if word in known}
    return sides.pop() if len(sides) == 1 else ""


def usual_spellings(written: Iterable["pd.Series[str]"]) -> dict[str, str]:
    """Return each label as written -> the spelling of that rod which the log uses most.

    Where two are used equally, the first in the alphabet is meant.

    Parameters
    ----------
    written : iterable of pandas.Series
        Labels as the tables have them; empty ones are no rod.

    Examples
    --------
    >>> usual_spellings([pd.Series(["P1", "p1", "P1", ""])])
    {'P1': 'P1', 'p1': 'P1'}
    """
    counts: Counter[str] = Counter()
    for column in written:
        counts.update({str(label): n for label, n in column.value_counts().items()})
    most_first = sorted(counts.keys() - {""}, key=lambda label: (-counts[label], label))
    usual: dict[str, str] = {}
    for label in most_first:
        usual.setdefault(rod_key(label), label)
    return {label: usual[rod_key(label)] for label in most_first}
