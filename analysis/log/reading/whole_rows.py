"""Owns rows that leave to others what they mean: cells empty for as above, trips told again."""

from collections.abc import Mapping
from dataclasses import replace

import pandas as pd

from analysis.labels import count
from analysis.log.files.tables import TextTable
from analysis.log.files.words import plain
from analysis.log.wording.settings import Wording

_OF_TRIP = ("trip", "date", "start", "end")

Told = tuple[dict[str, TextTable], list[str]]
"""Tables by name, and notes."""


def whole_rows(tables: Mapping[str, TextTable], wording: Wording) -> Told:
    """Make each row say itself what it means: `fill_down`, then `trips_once`.

    Parameters
    ----------
    tables : mapping
        Name -> table as the files have it.
    wording : analysis.log.wording.settings.Wording

    Returns
    -------
    tables : dict
    notes : list of str
    """
    filled, notes = fill_down(tables, wording)
    once, more = trips_once(filled, wording)
    return once, [*notes, *more]


def fill_down(tables: Mapping[str, TextTable], wording: Wording) -> Told:
    """Read an empty cell of the columns that boat.toml names as the one above it.

    Parameters
    ----------
    tables : mapping
        Name -> table as the files have it.
    wording : analysis.log.wording.settings.Wording

    Returns
    -------
    tables : dict
    notes : list of str
        How many cells were read so, and where.
    """
    found = dict(tables)
    notes = []
    for name, columns in wording.as_above.items():
        if name not in tables:
            continue
        frame = plain(tables[name].frame)
        for column in columns:
            if column not in frame:
                continue
            empty = frame[column] == ""
            frame[column] = frame[column].mask(empty).ffill().fillna("").astype("str")
            filled = int((empty & (frame[column] != "")).sum())
            where = f"{tables[name].place.name}: {count(filled, 'empty cell')} of {column}"
            verb = "is" if filled == 1 else "are"
            notes.append(f"{where} {verb} read as the one above, as boat.toml says")
        found[name] = replace(tables[name], frame=frame)
    return found, notes


def trips_once(tables: Mapping[str, TextTable], wording: Wording) -> Told:
    """Read a trip that is told again on each row of another table once.

    Where trips stand in the same file or sheet as another table, rows that say the same of when a
    trip was are one. What else they say of it holds where all of them say it; a note is of its
    row. Rows that differ stay, to be told as a trip that stands twice.

    Parameters
    ----------
    tables : mapping
        Name -> table as the files have it.
    wording : analysis.log.wording.settings.Wording

    Returns
    -------
    tables : dict
    notes : list of str
    """
    place = wording.tables.get("trips")
    shared = [name for name, at in wording.tables.items() if at == place and name != "trips"]
    found = dict(tables)
    if place is None or not shared or "trips" not in tables:
        return found, []
    frame = plain(tables["trips"].frame)
    when = [column for column in _OF_TRIP if column in frame]
    told = frame.loc[(frame[when] != "").any(axis=1)]
    if not told.duplicated(when).any():
        return found, []
    # a note is of its row, not of the trip
    others = [column for column in frame if column not in (*when, "line", "note")]
    once = told.groupby(when, sort=False, as_index=False).agg(
        {"line": "min", **dict.fromkeys(others, _agreed)}
    )
    frame = once.astype({str(column): "str" for column in (*when, *others)})
    found["trips"] = replace(tables["trips"], frame=frame)
    told_of = f"{tables['trips'].place.name}: its rows tell {count(len(frame), 'trip')}"
    return found, [f"{told_of}, most of them again"]


def _agreed(cells: "pd.Series[str]") -> str:
    """Return what all cells say, empty where they differ."""
    first = str(cells.iloc[0])
    return first if (cells == first).all() else ""
