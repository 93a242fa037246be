"""Owns moments written in two columns: a date beside the time is read with it."""

from collections.abc import Sequence

import pandas as pd

from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date
from analysis.log.reading.draft import Draft
from analysis.log.schema import fields_of


def _is_dated(word: str) -> bool:
    """Tell whether a cell says a date; a clock of 05.20 says none."""
    return not read_clock(word)[0] and read_date(word) is not None


def join_dates(drafts: Sequence[Draft]) -> list[str]:
    """Put the column date of a table before its column time, where we know no such column.

    A row that repeats the date of its trip says nothing new: its time stays bare, for after
    midnight it belongs to the next day. A time that has a date of its own keeps it.

    Parameters
    ----------
    drafts : sequence of Draft
        The tables, changed in place.

    Returns
    -------
    list of str
        A note for each table whose columns were joined.
    """
    notes = []
    trips = next((draft.frame for draft in drafts if draft.name == "trips"), None)
    for draft in drafts:
        ours = {field.name for field in fields_of(draft.name)}
        if "date" in ours or not {"date", "time", "trip"} <= set(draft.frame) or "time" not in ours:
            continue
        frame = draft.frame
        frame[["trip", "date", "time"]] = frame[["trip", "date", "time"]].astype("str")
        of_trip = _dates_of_trips(trips, frame["trip"])
        dated = {word: _is_dated(str(word)) for word in frame["time"].unique()}
        bare = (frame["time"] != "") & ~frame["time"].map(dated).astype(bool)
        apart = bare & (frame["date"] != "") & (frame["date"] != of_trip)
        if apart.any():
            joined = (frame["date"] + " " + frame["time"]).where(apart, frame["time"])
            frame["time"] = joined.astype("str")
            notes.append(f"{draft.name}: the columns date and time are read together")
    return notes


def _dates_of_trips(trips: pd.DataFrame | None, ids: "pd.Series[str]") -> "pd.Series[str]":
    """Return the date of each row's trip as written; empty where it is not known."""
    if trips is None or not {"trip", "date"} <= set(trips):
        return pd.Series("", index=ids.index, dtype="str")
    dates = trips.drop_duplicates("trip").set_index("trip")["date"]
    return ids.map(dates).fillna("").astype("str")
