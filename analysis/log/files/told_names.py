"""Owns what a recording's file is called in outputs: its name, without a position."""

import re
from collections.abc import Sequence
from pathlib import Path

# degrees with decimals; degrees and minutes before or after a letter of the compass
_POSITION = re.compile(
    r"[-+]?\d{1,3}[.,]\d{3,}"
    r"|(?<!\d)\d{2,5}(?:[.,]\d+)?[°_ ]?[NSEW](?![A-Za-z])"
    r"|(?<![A-Za-z])[NSEW][ _]?\d{2,3}[.,°_ -]?\d{2}[.,\d' _-]*",
    re.IGNORECASE,
)
HIDDEN = "(position)"


def without_position(name: str) -> str:
    """Return a file's name with each position in it hidden.

    Examples
    --------
    >>> without_position("61.23456N 9.87654E.gpx"), without_position("2026-07-04.gpx")
    ('(position)N (position)E.gpx', '2026-07-04.gpx')
    >>> without_position("N61 14.07 E009 52.59.nmea"), without_position("6114N_0952E.log")
    ('(position)(position).nmea', '(position)_(position).log')
    """
    stem, dot, ending = name.rpartition(".")
    return _POSITION.sub(HIDDEN, stem) + dot + ending if dot else _POSITION.sub(HIDDEN, name)


def told_names(files: Sequence[Path]) -> list[str]:
    """Return what each file is called in outputs: no two alike."""
    told: list[str] = []
    for file in files:
        name, number = without_position(file.name), 2
        stem, dot, ending = name.rpartition(".")
        while name in told:
            name, number = f"{stem} {number}{dot}{ending}", number + 1
        told.append(name)
    return told
