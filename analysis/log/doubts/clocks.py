"""Owns clocks that were an hour off: one table of a trip against another."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.log.doubts.record import Doubts
from analysis.log.files.words import coded
from analysis.log.read import SeasonLog
from analysis.log.times import Instants, instants_of

_MINUTE = 60_000_000
_HOUR = 60 * _MINUTE
_SAME = 3 * _MINUTE
"""A strike this near to the end of a set of its rod ended it, in microseconds."""
_ABOUT = 10 * _MINUTE
"""Readings begin and end with the trip to within this, in microseconds."""
_FEWEST, _MOST_FIT, _LEAST_FIT = 3, 0.75, 0.25
_AFTER_CHANGE_DAYS = 10


def an_hour_off(log: SeasonLog, doubts: Doubts) -> None:
    """Doubt a trip's strikes or readings that fit its sets, or the trip, an hour sooner or later.

    Strikes fit where at least three quarters fall on the end of a set of their rod; as written at
    most a quarter must (ours: no source). Sets that follow from the strikes are no witness: a log
    in short form, or of strikes alone, cannot tell an hour that leaves them within their trip.
    """
    sets = log.stretches.loc[log.stretches["table"] == "sets"]
    outs = _of_rods(sets, "time_out")
    bounds = {
        str(trip): np.array(pair)
        for trip, *pair in zip(
            log.trips["trip"],
            instants_of(log.trips["start"]),
            instants_of(log.trips["end"]),
            strict=True,
        )
    }
    whole: set[int] = set()
    for _, strikes in log.strikes.groupby("trip"):
        if len(strikes) >= _FEWEST and (by := _strikes_off(strikes, outs)):
            reason = "its trip's strikes fall on the ends of their sets if they are"
            _doubt("strikes", strikes, by, reason, log.boat.time_zone, doubts)
            whole |= set(strikes["line"])
    rest = log.strikes.loc[~log.strikes["line"].isin(whole)]
    for by, strikes in _singly_off(rest, sets):
        reason = "they fall on the ends of sets that lack their strike if they are"
        _doubt("strikes", strikes, by, reason, log.boat.time_zone, doubts)
    if log.readings is None:
        return
    typed = log.readings.loc[log.readings["line"] > 0]  # a track's have no line
    spans = typed.groupby("trip")["time"].agg(["size", "min", "max"])
    ends = np.column_stack([instants_of(spans[name]) for name in ("min", "max")])
    for trip, size, span in zip(spans.index, spans["size"], ends, strict=True):
        if size >= _FEWEST and (by := _readings_off(span, bounds[str(trip)])):
            reason = "its trip's readings begin and end with the trip if they are"
            readings = typed.loc[typed["trip"] == trip]
            _doubt("readings", readings, by, reason, log.boat.time_zone, doubts)


def _doubt(
    table: str, rows: pd.DataFrame, by: int, reason: str, zone: ZoneInfo, doubts: Doubts
) -> None:
    """Doubt the times of some rows, which should be later by so many microseconds."""
    times = rows["time"].dt.tz_convert(zone)
    remedy = "compare the two clocks"
    if _after_change(times.iloc[0].to_pydatetime()):
        remedy += ": clocks were changed shortly before, one may have kept the old time"
    reason += " an hour later" if by > 0 else " an hour earlier"
    for line, time in zip(rows["line"], times, strict=True):
        value, becomes = (
            f"{when:%Y-%m-%d %H:%M}" for when in (time, time + pd.Timedelta(by, "us"))
        )
        doubts.add(table, int(line), "time", value, reason, remedy, becomes)


def _strikes_off(strikes: pd.DataFrame, outs: Mapping[tuple[str, str], Instants]) -> int:
    """Return the shift by which strikes fall on the ends of their sets, 0 for none."""
    places = list(zip(strikes["trip"], strikes["rod"], instants_of(strikes["time"]), strict=True))

    def fit(by: int) -> float:
        near = [
            (trip, rod) in outs and bool((np.abs(outs[trip, rod] - us - by) <= _SAME).any())
            for trip, rod, us in places
        ]
        return sum(near) / len(near)

    if fit(0) > _LEAST_FIT:
        return 0
    good = [by for by in (-_HOUR, _HOUR) if fit(by) >= _MOST_FIT]
    return good[0] if len(good) == 1 else 0


def _singly_off(strikes: pd.DataFrame, sets: pd.DataFrame) -> Iterator[tuple[int, pd.DataFrame]]:
    """Yield a shift, and the strikes scattered over trips that are off by it.

    A strike on no end of a set, in a log whose others fall on such ends, is off by an hour where
    its rod has a set an hour away that ended in a strike and has none. One alone may be chance:
    at least three must be, all in one direction but for a quarter, and half of all that fall on
    no end (ours: no source).
    """
    ended = sets.loc[sets["ended_by"].astype("str") == "strike"]
    ends, hits = _of_rods(ended, "time_out"), _of_rods(strikes, "time")
    free = {key: us[_away(us, hits.get(key, us[:0]))] for key, us in ends.items()}
    places = zip(strikes["trip"], strikes["rod"], instants_of(strikes["time"]), strict=True)
    alone = np.zeros(len(strikes), dtype=bool)
    shift = np.zeros(len(strikes), dtype=np.int64)
    for at, (trip, rod, us) in enumerate(places):
        mine = ends.get((trip, rod))
        alone[at] = mine is None or not (np.abs(mine - us) <= _SAME).any()
        if mine is None or not alone[at]:
            continue
        late = free[trip, rod] - us
        fits = [by for by in (-_HOUR, _HOUR) if (np.abs(late - by) <= _SAME).any()]
        shift[at] = fits[0] if len(fits) == 1 else 0
    for by in (-_HOUR, _HOUR):
        here, other = shift == by, shift == -by
        one_way = other.sum() <= _LEAST_FIT * here.sum()
        if here.sum() >= _FEWEST and one_way and here.sum() >= alone.sum() / 2:
            yield by, strikes.loc[here]


def _of_rods(rows: pd.DataFrame, time: str) -> dict[tuple[str, str], Instants]:
    """Gather a column's instants by trip and rod, in the order of the rows."""
    (trip, trips), (rod, rods) = coded(rows["trip"]), coded(rows["rod"])
    both = trip.astype(np.intp) * len(rods) + rod
    order = np.argsort(both, kind="stable")
    each, begin = np.unique(both[order], return_index=True)
    parts = np.split(instants_of(rows[time])[order], begin)[1:]  # none of no rows
    return {
        (trips[key // len(rods)], rods[key % len(rods)]): part
        for key, part in zip(each.tolist(), parts, strict=True)
    }


def _away(instants: Instants, others: Instants) -> npt.NDArray[np.bool_]:
    """Return which instants have no other at the same time."""
    apart = np.abs(instants[:, np.newaxis] - others[np.newaxis, :]) > _SAME
    return np.asarray(apart.all(axis=1), dtype=bool)


def _readings_off(span: Instants, bounds: Instants) -> int:
    """Return the shift by which readings begin and end with their trip, 0 for none."""
    away = bounds - span
    return next((by for by in (-_HOUR, _HOUR) if (np.abs(away - by) <= _ABOUT).all()), 0)


def _after_change(local: datetime) -> bool:
    """Tell whether the clocks of a zone changed within the days before."""
    return local.utcoffset() != (local - timedelta(days=_AFTER_CHANGE_DAYS)).utcoffset()
