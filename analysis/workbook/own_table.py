"""Owns the joining of a table of one's own, such as the wind of each day, to a season's trips."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from analysis import labels
from analysis.errors import UsageError

KEYS = ("trip", "date")


def joined(trips: pd.DataFrame, own: pd.DataFrame | str | Path, on: str) -> pd.DataFrame:
    """Return the trips with the columns of one's own table; see `Season.join`."""
    if on not in KEYS:
        msg = f"on={on!r}: a table is joined by 'trip' or by 'date'."
        raise UsageError(msg)
    table, name = (own, "your table") if isinstance(own, pd.DataFrame) else _read(Path(own))
    if on not in table:
        there = labels.listing([repr(str(column)) for column in table.columns]) or "none"
        msg = f"{name}: there is no column {on!r}; its columns are {there}."
        raise UsageError(msg)
    key = table[on].astype(str).str.strip()
    if on == "date":
        key = _as_dates(table[on], name)
    twice = key[key.duplicated()]
    if len(twice):
        msg = (
            f"{name}: {on} {twice.iloc[0]!r} has several rows. Remedy: leave one row a {on}, so "
            "that it is plain which one counts."
        )
        raise UsageError(msg)
    theirs = table.drop(columns=on)
    clash = [column for column in theirs.columns if column in trips]
    theirs = theirs.rename(columns={column: f"own_{column}" for column in clash})
    found = trips[on].map(dict(zip(key, range(len(key)), strict=True)))
    if found.isna().all():
        msg = (
            f"{name}: no row of it, of {len(table)}, is of a {on} of this season. Remedy: write "
            f"{on} as here, such as {trips[on].iloc[0]!r}."
        )
        raise UsageError(msg)
    beside = theirs.iloc[found.dropna().astype(int).to_list()]
    beside.index = trips.index[found.notna()]
    return trips.join(beside)


def _read(path: Path) -> tuple[pd.DataFrame, str]:
    try:
        return pd.read_csv(path.expanduser()), str(path)
    except (OSError, ValueError) as error:
        msg = f"{path}: no CSV that can be read ({error}). Remedy: save it as CSV with a header."
        raise UsageError(msg) from error


def _as_dates(column: pd.Series, name: str) -> pd.Series:
    """Read days as the log writes them."""
    days = pd.to_datetime(column, format="ISO8601", errors="coerce")
    bad = column[days.isna()]
    if len(bad):
        msg = (
            f"{name}, row {bad.index[0] + 1}: date {bad.iloc[0]!r} is no day. Remedy: write it as "
            "year-month-day, such as 2026-07-04."
        )
        raise UsageError(msg)
    return days.dt.strftime("%Y-%m-%d")
