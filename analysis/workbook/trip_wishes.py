"""Owns what trips may be chosen by: day of the week, moon, days of the season, words of a note."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis import labels
from analysis.errors import UsageError

Flags = NDArray[np.bool_]
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MOONS = {"dark": (0.0, 0.25), "half": (0.25, 0.75), "full": (0.75, 1.01)}
"""Lit share of the moon's face, from and to before; the cuts are ours."""


def by_days(trips: pd.DataFrame, wish: Any, year: int) -> tuple[Flags, str]:
    """Choose trips from the first to the last of two local days, either of which may be open.

    Raises
    ------
    UsageError
        For anything but two days, or the later one first.
    """
    pair = list(wish) if isinstance(wish, Sequence) and not isinstance(wish, str) else []
    if len(pair) != 2 or pair == [None, None]:
        msg = (
            f'days {wish!r}: write the first and the last day, such as ("{year}-07-01", '
            f'"{year}-07-14"); None leaves one side open.'
        )
        raise UsageError(msg)
    first, last = (None if day is None else read_day(day, year) for day in pair)
    if first and last and first > last:
        msg = f"days {wish!r}: the first day is after the last. Remedy: write the earlier first."
        raise UsageError(msg)
    dates = trips["date"].astype(str)
    kept = (dates >= (first or "")) & (dates <= (last or "9999"))
    told = [
        f"{word} {labels.day(pd.Timestamp(day).date(), year=False)}"
        for word, day in (("from", first), ("to", last))
        if day
    ]
    return kept.to_numpy(dtype=bool), " ".join(told)


def by_moon(trips: pd.DataFrame, name: str) -> Flags:
    """Choose trips by the name of their moon."""
    low, high = MOONS[name]
    return trips["moon"].between(low, high, inclusive="left").to_numpy(dtype=bool)


def by_note(trips: pd.DataFrame, words: Sequence[str]) -> Flags:
    """Choose trips whose note holds any of some words, in whatever capitals."""
    notes = trips["note"].astype(str).str.casefold()
    found = [notes.str.contains(word.casefold(), regex=False) for word in words]
    return np.asarray(np.logical_or.reduce(found), dtype=bool)


def read_day(day: object, year: int) -> str:
    """Read a day of the season, with or without its year, as ``YYYY-MM-DD``.

    Raises
    ------
    UsageError
        For anything that is no day.

    Examples
    --------
    >>> read_day("07-14", 2026)
    '2026-07-14'
    """
    text = str(day).strip()
    read = pd.to_datetime(text, format="ISO8601", errors="coerce") if len(text) > 6 else pd.NaT
    if pd.isna(read):
        read = pd.to_datetime(f"{year}-{text}", format="%Y-%m-%d", errors="coerce")
    if pd.isna(read):
        msg = f"day {text!r}: write it as year-month-day, such as {year}-07-14, or as 07-14."
        raise UsageError(msg)
    return str(read.strftime("%Y-%m-%d"))
