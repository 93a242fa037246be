"""Owns rod-hours: the sets of a season cut into slices where a set or a reading changes."""

from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log.files.words import all_alike, coded, in_order, spelt

Instants = npt.NDArray[np.int64]

_HOUR_US = 3.6e9
_SET_COLUMNS = (
    "trip",
    "rod",
    "side",
    "gear",
    "setting",
    "line_out_m",
    "lead_m",
    "leader_length_m",
    "lure",
    "set",
    "source",
)
_KINDS = ("", "ground", "water")
"""Of speeds; of several at one time, the first of these counts."""
READING_COLUMNS = ("speed_mps", "speed_kind", "surface_temp_c")
"""What a slice takes from the boat's readings."""
SHOWN = (*READING_COLUMNS, "turn_rad_s")
"""What it takes from all of its instruments."""


def instants(times: "pd.Series[Any] | pd.DatetimeIndex") -> Instants:
    """Return UTC times as whole microseconds since 1970."""
    index = pd.DatetimeIndex(times)
    return np.asarray((index if index.unit == "us" else index.as_unit("us")).asi8, dtype=np.int64)


def stamps(microseconds: Instants) -> pd.DatetimeIndex:
    """Return whole microseconds since 1970 as UTC times; the inverse of `instants`."""
    return pd.DatetimeIndex(microseconds.view("datetime64[us]")).tz_localize("UTC")


def ordered_key(group: npt.NDArray[np.int64], time: Instants, origin: int, span: int) -> Instants:
    """Join group number and time in one integer that sorts by group, then by time.

    `origin` and `span` must cover all times of all keys that are to be compared, with a margin
    of one microsecond on either side.
    """
    return group * (span + 2) + (time - origin) + 1


def _problems(
    sets: pd.DataFrame,
    bad: npt.NDArray[np.bool_],
    column: str,
    written: "pd.Series[Any]",
    reason: Any,
) -> pd.DataFrame:
    """Describe bad sets in the columns of every set-aside list."""
    return pd.DataFrame(
        {
            "table": sets.loc[bad, "table"].to_numpy(dtype=object),
            "row": sets.loc[bad, "line"].to_numpy(),
            "column": column,
            "value": written[bad].dt.strftime("%Y-%m-%d %H:%M").to_numpy(dtype=object),
            "reason": np.broadcast_to(np.asarray(reason, dtype=object), bad.shape)[bad],
            "remedy": "correct the times of one of them, or of the trip",
        },
        columns=list(SET_ASIDE_COLUMNS),
    )


def fishable_sets(
    sets: pd.DataFrame, trips: pd.DataFrame, zone: ZoneInfo
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Bring sets into their trips and make each rod fish one set at a time.

    Where two sets of one rod overlap, the earlier one ends where the later begins: a new set is
    written down when it begins, an end is often filled in afterwards. Sets of one rod that begin
    at the same time contradict each other and are all set aside. A set that then runs over its
    trip's start or end is cut there; one wholly outside is set aside. So no rod-hour counts twice.

    Parameters
    ----------
    sets : pandas.DataFrame
        The stretches of a log.
    trips : pandas.DataFrame
        Clean trips.
    zone : zoneinfo.ZoneInfo
        The boat's zone, to show times as they were written.

    Returns
    -------
    kept : pandas.DataFrame
        The sets that count, ``time_in`` and ``time_out`` as counted, with ``hours``.
    set_aside : pandas.DataFrame
        Sets that do not count.
    changed : pandas.DataFrame
        Sets that count for less than written.
    """
    sets, rod = _rod_by_rod(sets)
    written_in, written_out = (
        sets[column].dt.tz_convert(zone) for column in ("time_in", "time_out")
    )
    time_in, time_out = instants(sets["time_in"]), instants(sets["time_out"])
    next_in, last = np.roll(time_in, -1), np.ones(len(sets), dtype=bool)
    last[:-1] = rod[1:] != rod[:-1]  # of its rod in its trip
    again = ~last & (next_in == time_in)
    twins = again | np.roll(again, 1)
    overlap = ~last & (next_in < time_out)
    lost_min = (time_out - next_in) / 6e7
    time_out = np.where(overlap, next_in, time_out)

    of_trip, names = coded(sets["trip"])
    bounds = trips.set_index("trip").reindex(names)
    start, end = (instants(bounds[name])[of_trip] for name in ("start", "end"))
    outside = ((time_out <= start) | (time_in >= end)) & ~twins
    kept = ~twins & ~outside
    early, late = (time_in < start) & kept, (time_out > end) & kept
    reasons = np.full(len(sets), "", dtype=object)
    line = sets["line"].to_numpy()
    for i in np.flatnonzero(overlap & kept).tolist():
        reasons[i] = (
            f"overlaps the set on line {line[i + 1]}; counted to where that one begins"
            f" ({lost_min[i]:.0f} min less)"
        )
    begin_in, end_out = ("time_in", written_in), ("time_out", written_out)
    early_reason = "begins before its trip; counted from the trip's start"
    late_reason = "ends after its trip; counted to the trip's end"
    set_aside = [
        _problems(sets, twins, *begin_in, "two sets of this rod begin at the same time"),
        _problems(sets, outside, *begin_in, "the set lies outside its trip"),
    ]
    changed = [
        _problems(sets, overlap & kept, *end_out, reasons),
        _problems(sets, early, *begin_in, early_reason),
        _problems(sets, late, *end_out, late_reason),
    ]
    time_in, time_out = np.maximum(time_in, start)[kept], np.minimum(time_out, end)[kept]
    counted = {"hours": (time_out - time_in) / _HOUR_US}
    if early.any():
        counted["time_in"] = stamps(time_in)
    if (overlap | late).any():
        counted["time_out"] = stamps(time_out)
    sets = sets if kept.all() else sets.loc[kept].reset_index(drop=True)
    return (
        sets.assign(**counted),
        pd.concat(set_aside, ignore_index=True),
        pd.concat(changed, ignore_index=True),
    )


def _rod_by_rod(sets: pd.DataFrame) -> tuple[pd.DataFrame, npt.NDArray[np.int64]]:
    """Return sets ordered by trip, rod and time in, and the number of each one's trip and rod."""
    rod = np.asarray(sets.groupby(["trip", "rod"]).ngroup(), dtype=np.int64)
    time = instants(sets["time_in"])
    later = (rod[1:] == rod[:-1]) & (time[1:] >= time[:-1])
    if (later | (rod[1:] > rod[:-1])).all():  # as a log without the short form has them
        return sets.reset_index(drop=True), rod
    order = np.lexsort((time, rod))
    return sets.iloc[order].reset_index(drop=True), rod[order]


def reading_changes(readings: pd.DataFrame | None, turns: pd.DataFrame) -> pd.DataFrame:
    """Return what each trip's instruments showed, one row where a reading or a turn changes.

    A reading holds from its time until the next one, field by field; the first one also before
    it. Readings of one time are averaged; their speed is over ground if any of them is.

    Parameters
    ----------
    readings : pandas.DataFrame or None
        Clean readings.
    turns : pandas.DataFrame
        See `analysis.log.instruments.turning.turns_of`.

    Returns
    -------
    pandas.DataFrame
        ``trip, time`` and `SHOWN`, sorted; the first row of a trip holds from before.
    """
    shown = _with_turns(_held(readings), turns)
    same = shown["trip"] == shown["trip"].shift()
    for name in SHOWN:
        before = shown[name].shift()
        same &= (shown[name] == before) | (shown[name].isna() & before.isna())
    return shown.loc[~same].reset_index(drop=True)


def _held(readings: pd.DataFrame | None) -> pd.DataFrame:
    """Return readings, one a time, with what those before them still tell."""
    columns = ["trip", "time", *READING_COLUMNS]
    if readings is None or readings.empty:
        empty = pd.DataFrame({name: pd.Series(dtype="float64") for name in columns})
        return empty.astype({"trip": "str", "speed_kind": "str", "time": "datetime64[us, UTC]"})
    shown = readings[columns].copy()
    # the kind belongs to the speed it was written beside
    rank = {kind: float(at) for at, kind in enumerate(_KINDS)}
    shown["speed_kind"] = shown["speed_kind"].map(rank).where(shown["speed_mps"].notna())
    shown = shown.groupby(["trip", "time"], as_index=False, sort=True).agg(
        {"speed_mps": "mean", "speed_kind": "min", "surface_temp_c": "mean"}
    )
    held = shown.groupby("trip", sort=False)[list(READING_COLUMNS)]
    shown[list(READING_COLUMNS)] = held.ffill()
    shown[list(READING_COLUMNS)] = shown.groupby("trip", sort=False)[list(READING_COLUMNS)].bfill()
    kind = shown["speed_kind"].fillna(0).to_numpy(dtype=np.intp)
    return shown.assign(speed_kind=pd.array(_KINDS, dtype="str").take(kind))


def _with_turns(shown: pd.DataFrame, turns: pd.DataFrame) -> pd.DataFrame:
    """Put turns among held readings; either holds on where the other changes."""
    if turns.empty:
        return shown.assign(turn_rad_s=np.nan)
    numbered = turns[["trip", "time"]].assign(turn=np.arange(len(turns), dtype=float))
    both = shown.merge(numbered, on=["trip", "time"], how="outer", sort=True)
    of_trip = both.groupby("trip", sort=False)
    # a rate that is not known ends the one before, so not the rates but their rows are held
    row = of_trip["turn"].ffill()
    rates = np.append(turns["turn_rad_s"].to_numpy(dtype=float), np.nan)
    both["turn_rad_s"] = rates[row.fillna(len(turns)).to_numpy(dtype=np.intp)]
    names = list(READING_COLUMNS)
    both[names] = of_trip[names].ffill()
    both[names] = both.groupby("trip", sort=False)[names].bfill()
    return both.drop(columns="turn").fillna({"speed_kind": ""})


def cut(sets: pd.DataFrame, changes: pd.DataFrame) -> pd.DataFrame:
    """Cut sets into slices at the changes of their trip's readings.

    Parameters
    ----------
    sets : pandas.DataFrame
        From `fishable_sets`.
    changes : pandas.DataFrame
        From `reading_changes`.

    Returns
    -------
    pandas.DataFrame
        One row a rod and time slice, sorted by trip, rod and start: the set's columns, ``set``
        (its number), ``start``, ``end``, ``hours`` and `SHOWN`. The slices of a set
        cover it without gap or overlap, so their hours add up to its hours.
    """
    of_set, names = coded(sets["trip"])
    trips = pd.Index(names)
    time_in, time_out = instants(sets["time_in"]), instants(sets["time_out"])
    changes = changes.loc[changes["trip"].isin(trips)].reset_index(drop=True)
    if changes.empty:
        return _uncut(sets)
    time = instants(changes["time"])
    everything = np.concatenate([time_in, time_out, time])
    origin, span = int(everything.min()), int(np.ptp(everything))
    group = of_set.astype(np.int64)
    of_change = np.asarray(trips.get_indexer(pd.Index(changes["trip"])), dtype=np.int64)
    keys = ordered_key(of_change, time, origin, span)
    order = np.argsort(keys, kind="stable")
    keys, time, changes = keys[order], time[order], changes.iloc[order].reset_index(drop=True)

    first = np.searchsorted(keys, ordered_key(group, time_in, origin, span), side="right")
    last = np.searchsorted(keys, ordered_key(group, time_out, origin, span), side="left")
    first_of_trip = np.searchsorted(keys, group * (span + 2), side="left")
    # a trip's first reading holds before it too, so nothing changes there
    first = np.maximum(first, np.minimum(first_of_trip + 1, len(keys)))
    pieces = np.maximum(last - first, 0) + 1
    set_of = np.repeat(np.arange(len(sets)), pieces)
    piece = np.arange(len(set_of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    begins = piece == 0
    ends = piece == pieces[set_of] - 1
    # the change at which slice number `piece` of its set begins
    change = first[set_of] + piece - 1
    inside = np.clip(change, 0, len(time) - 1)
    after = np.clip(change + 1, 0, len(time) - 1)
    start = np.where(begins, time_in[set_of], time[inside])
    end = np.where(ends, time_out[set_of], time[after])

    slices = sets[list(_SET_COLUMNS)]
    if len(set_of) > len(sets):
        slices = slices.iloc[set_of].reset_index(drop=True)
    slices["start"], slices["end"] = stamps(start), stamps(end)
    slices["hours"] = (end - start) / _HOUR_US
    has_reading = np.isin(group, of_change)[set_of]
    kind, kinds = coded(changes["speed_kind"])
    for name in SHOWN:
        if name == "speed_kind":
            of_slice = np.where(has_reading, kind[inside], len(kinds))
            slices[name] = in_order(spelt([*kinds, ""], of_slice))
        else:
            slices[name] = np.where(has_reading, changes[name].to_numpy()[inside], np.nan)
    return slices


def _uncut(sets: pd.DataFrame) -> pd.DataFrame:
    """Return sets as slices where no instrument showed anything."""
    unknown = dict.fromkeys(SHOWN, pd.Series(np.nan, index=sets.index))
    unknown["speed_kind"] = pd.Series(all_alike("", len(sets)))
    times = {"start": sets["time_in"], "end": sets["time_out"], "hours": sets["hours"]}
    return sets[list(_SET_COLUMNS)].assign(**times, **unknown)
