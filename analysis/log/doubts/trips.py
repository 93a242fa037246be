"""Owns doubts of whole trips: written twice, hours that no rod covers."""

import numpy as np
import pandas as pd

from analysis.log.doubts.record import Doubts
from analysis.log.read import SeasonLog

UNCOVERED = pd.Timedelta(minutes=60)
"""A stretch of a trip with no rod down that is doubted when longer (ours: no source)."""
_LIKE = 0.5
"""Share of a trip's strikes, by minute, that another trip has too."""
_FEWEST = 3


def trips_in_doubt(log: SeasonLog, doubts: Doubts) -> None:
    """Doubt trips under way at once, trips of the same strikes, and hours with no rod down."""
    twice = _at_once(log, doubts)
    _copied(log, twice, doubts)
    _uncovered(log, doubts)


def _at_once(log: SeasonLog, doubts: Doubts) -> set[str]:
    """Doubt the trips that begin before another of the boat has ended, and return them."""
    trips = log.trips.sort_values(["start", "end", "line"], ignore_index=True)
    ended = trips["end"].cummax().shift()
    late = (trips["start"] < ended).to_numpy()
    for i in np.flatnonzero(late):
        before = trips.iloc[:i]
        other = before.loc[before["end"] > trips["start"].iloc[i]].iloc[-1]
        row = trips.iloc[i]
        doubts.add(
            "trips",
            row["line"],
            "start",
            f"{row['start'].tz_convert(log.boat.time_zone):%Y-%m-%d %H:%M}",
            f"the trip of line {other['line']} was still under way: the boat fished twice at once, "
            "and hours may count twice",
            "correct the times, or delete the trip that is written twice with its rows",
        )
    return set(trips.loc[late, "trip"])


def _copied(log: SeasonLog, twice: set[str], doubts: Doubts) -> None:
    """Doubt a trip of which most strikes stand in another one too, of another day."""
    strikes = log.strikes
    local = strikes["time"].dt.tz_convert(log.boat.time_zone)
    seen = pd.DataFrame(
        {
            "trip": strikes["trip"],
            "mark": local.dt.strftime("%H:%M:%S ") + strikes["rod"],
            "day": local.dt.date,
        }
    )
    marks = seen.groupby("trip")["mark"].agg(frozenset)
    lines = dict(zip(log.trips["trip"], log.trips["line"].astype(int), strict=True))
    trips = log.trips.sort_values(["start", "line"])["trip"]
    order = [trip for trip in trips if trip in marks.index and trip not in twice]
    of_mark: dict[str, list[str]] = {}
    for trip in order:
        shared: dict[str, int] = {}
        for mark in marks[trip]:
            for other in of_mark.get(mark, ()):
                shared[other] = shared.get(other, 0) + 1
        for other, count in shared.items():
            if count >= _FEWEST and count > _LIKE * max(len(marks[trip]), len(marks[other])):
                doubts.add(
                    "trips",
                    lines[trip],
                    "trip",
                    trip,
                    f"most of its strikes have rod and time of those of line {lines[other]}",
                    "check whether one trip was typed twice; if so, delete one with its rows",
                )
        for mark in marks[trip]:
            of_mark.setdefault(mark, []).append(trip)


def _uncovered(log: SeasonLog, doubts: Doubts) -> None:
    """Doubt long stretches of a trip in which, by its sets, no rod was down."""
    sets = log.stretches[["trip", "time_in", "time_out"]]
    trips = log.trips.loc[log.trips["trip"].isin(sets["trip"].unique())]
    # a trip's start and end stand as sets of no length: what lies between is covered or not
    edges = [
        pd.DataFrame({"trip": trips["trip"], "time_in": trips[name], "time_out": trips[name]})
        for name in ("start", "end")
    ]
    rows = pd.concat([edges[0], sets, edges[1]]).sort_values(["trip", "time_in"], kind="stable")
    covered = rows["time_out"].groupby(rows["trip"]).cummax().groupby(rows["trip"]).shift()
    longest = (rows["time_in"] - covered).groupby(rows["trip"]).max()
    lines = dict(zip(trips["trip"], trips["line"].astype(int), strict=True))
    gaps = longest[longest > UNCOVERED]
    for trip, gap in zip(gaps.index.astype(str), gaps, strict=True):
        doubts.add(
            "trips",
            lines[trip],
            "",
            trip,
            f"no rod was down for {gap.total_seconds() / 60:.0f} minutes of this trip",
            "add the sets that are missing, or correct the trip's start and end",
        )
