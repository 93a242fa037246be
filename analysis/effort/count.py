"""Owns the account of a season's effort: slices, placed strikes, and what does not count."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.effort.slices import cut, fishable_sets, reading_changes
from analysis.effort.strikes import NO_SETS, place
from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log import SeasonLog
from analysis.log.files.words import all_alike, plain


@dataclass(frozen=True, kw_only=True)
class Effort:
    """What one boat fished in one season.

    Parameters
    ----------
    slices : pandas.DataFrame
        One row a rod and time slice (see `analysis.names`), index 0..n-1. The hours add up to
        those of `sets`, the strikes to the strikes that were placed.
    sets : pandas.DataFrame
        The sets that count, times as counted, with ``hours``.
    strikes : pandas.DataFrame
        All kept strikes of the log, with what `analysis.effort.strikes.place` adds.
    set_aside : pandas.DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`: sets that do not count, and strikes that could not
        be placed although their trip has set records.
    changed : pandas.DataFrame
        The same columns: sets that count for less time than written.
    strikes_only_trips : list of str
        Trips without set records: their strikes never enter a rate.
    """

    slices: pd.DataFrame
    sets: pd.DataFrame
    strikes: pd.DataFrame
    set_aside: pd.DataFrame
    changed: pd.DataFrame
    strikes_only_trips: list[str]


def count_effort(log: SeasonLog) -> Effort:
    """Count the rod-hours of a season and place its strikes in them.

    Parameters
    ----------
    log : analysis.log.SeasonLog
        A vetted season.

    Returns
    -------
    Effort
        Slices, strikes and all that does not count.
    """
    recorded = log.trips_with_sets
    sets, aside, changed = fishable_sets(log.stretches, log.trips, log.boat.time_zone)
    left_out = len(sets) < len(log.stretches)
    unfished = ~log.stretches["set"].isin(sets["set"]) if left_out else slice(0)
    held = ["trip", "rod", "line", "time_in", "time_out"]
    frames = [log.lost_sets[held], plain(log.stretches.loc[unfished, held])]
    lost_sets = pd.concat(frames, ignore_index=True)
    slices = cut(sets, reading_changes(log.readings, log.turns))
    strikes = place(log.strikes, slices, recorded, lost_sets)
    inside = strikes.loc[strikes["placed"]]
    count = len(slices)
    slices["strikes"] = np.bincount(inside["slice"], minlength=count)
    landed = inside.loc[inside["outcome"] == "landed", "slice"]
    slices["landed"] = np.bincount(landed, minlength=count)
    slices.insert(0, "boat", pd.Series(all_alike(log.boat.name, count)))
    slices.insert(1, "season", log.year)
    lost = strikes.loc[~strikes["placed"] & (strikes["reason"] != NO_SETS)]
    unplaced = pd.DataFrame(
        {
            "table": "strikes",
            "row": lost["line"].to_numpy(),
            "column": "time",
            "value": lost["time"].dt.tz_convert(log.boat.time_zone).dt.strftime("%Y-%m-%d %H:%M"),
            "reason": lost["reason"] + "; it counts in the tables of species, not in a rate",
            "remedy": [
                f"put line {line} of sets right"
                if line > 0
                else "correct the time or the rod, or add the set"
                for line in lost["lost_set"]
            ],
        },
        columns=list(SET_ASIDE_COLUMNS),
    )
    by_place = ["table", "row"]
    return Effort(
        slices=slices,
        sets=sets,
        strikes=strikes,
        set_aside=pd.concat([aside, unplaced]).sort_values(by_place, ignore_index=True),
        changed=changed.sort_values(by_place, ignore_index=True),
        strikes_only_trips=[trip for trip in log.trips["trip"] if trip not in recorded],
    )


def sets_set_aside(log: SeasonLog, effort: Effort) -> pd.DataFrame:
    """Gather what the rods fished in rows of sets that do not count.

    Parameters
    ----------
    log : analysis.log.SeasonLog
    effort : Effort
        Of that log.

    Returns
    -------
    DataFrame
        ``trip, date, hours`` of those in `SeasonLog.lost_sets` that repeat no other, and of the
        sets that the effort left out; of two sets of one rod that begin at once, the longer.
    """
    told = ["trip", "date", "hours"]
    unread = log.lost_sets.loc[~log.lost_sets["repeats"], told]
    if log.sets is None:
        return unread
    sets = plain(log.sets[~log.sets["line"].isin(effort.sets["line"])])
    hours = (sets["time_out"] - sets["time_in"]).dt.total_seconds() / 3600
    left = sets.assign(hours=hours).sort_values("hours", ascending=False)
    left = left.drop_duplicates(["trip", "rod", "time_in"])
    date = log.trips.set_index("trip")["date"].reindex(left["trip"].to_numpy()).to_numpy()
    frames = [unread, left.assign(date=date)[told]]
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else unread
