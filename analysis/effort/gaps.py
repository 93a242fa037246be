"""Owns what a log lacks: each gap, its cost to the answer, the remedy in a captain's words."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.lures import lure_key
from analysis.effort.count import Effort
from analysis.labels import count, number, percent
from analysis.log import SeasonLog
from analysis.log.rods import rod_key
from analysis.units import from_si, in_boat_units

Mask = npt.NDArray[np.bool_]

DOUBTFUL_M = 1.0
"""Standard deviation of the height of the water's layers from which a gap is told of."""


@dataclass(frozen=True, kw_only=True)
class Gap:
    """Something the log does not tell.

    Parameters
    ----------
    what : str
        What is missing, and of how much.
    cost : str
        What it costs the answer.
    remedy : str
        What to write down next time.
    """

    what: str
    cost: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class Further:
    """What the height of the water's layers would be in doubt by with further thermometers.

    Root mean square over the trips, in metres: now, with a cast a fortnight, with a probe at the
    ball on each trip, with a logger on one line on each trip, and with a cast on each trip.
    """

    now_m: float
    fortnight_m: float
    probe_m: float
    logger_m: float
    each_trip_m: float


def coverage(
    log: SeasonLog,
    effort: Effort,
    layer_doubt_m: npt.ArrayLike,
    why_no_depth: npt.ArrayLike | None = None,
    *,
    further: Further | None = None,
    unseen: bool = False,
    untried: Mapping[str, float] | None = None,
) -> list[Gap]:
    """List the gaps of a season.

    Parameters
    ----------
    log : analysis.log.SeasonLog
        The vetted season.
    effort : analysis.effort.Effort
        Its effort.
    layer_doubt_m : array_like, shape (slices,)
        Standard deviation of the height of the water's layers at each slice, NaN where nothing
        was measured below the surface.
    why_no_depth : array_like of str, shape (slices,), optional
        Why a slice has no depth, empty where it has one.
    further : Further, optional
        What further thermometers would buy.
    unseen : bool
        Whether the water was measured at its surface alone.
    untried : mapping, optional
        Gear of which there is no soak, in this season or others given with it -> standard
        deviation of its depth, as a share; by default those without a soak in the log.

    Returns
    -------
    list of Gap
        Dearest first: effort, then strikes, depth, speed, temperature, tackle.
    """
    hours = effort.slices["hours"].to_numpy()
    doubt = np.asarray(layer_doubt_m, dtype=float)
    return [
        *_unread_gaps(log),
        *_effort_gaps(log, effort),
        *_strike_gaps(log, effort),
        *_rod_gaps(log),
        *_depth_gaps(log, effort.slices, hours, why_no_depth),
        *_soak_gaps(log, untried),
        *_lure_gaps(log),
        *_speed_gaps(effort.slices, hours),
        *_temperature_gaps(log, effort.slices, hours, doubt, further, unseen=unseen),
        *_tackle_gaps(effort.slices, hours),
    ]


def _share(mask: Mask, hours: npt.NDArray[np.float64]) -> str:
    """Write the share of the rod-hours that a mask marks; empty when there are none."""
    total, marked = hours.sum(), hours[mask].sum()
    if not marked > 0:
        return ""
    if mask[hours > 0].all():
        return "all rod-hours"
    percent = 100 * marked / total
    return f"{'less than 1' if percent < 1 else f'{percent:.0f}'} % of rod-hours"


def _fished(mask: Mask, slices: pd.DataFrame) -> str:
    """Write the strikes and rod-hours that a mask marks."""
    strikes, hours = slices.loc[mask, "strikes"].sum(), slices.loc[mask, "hours"].sum()
    return f"{count(int(strikes), 'strike')} in {number(hours)} rod-hours"


def without_hours(log: SeasonLog, effort: Effort) -> str:
    """Say that a log has no rod-hours, and why; empty where it has some.

    Parameters
    ----------
    log : analysis.log.SeasonLog
        The vetted season.
    effort : analysis.effort.Effort
        Its effort.
    """
    if effort.slices["hours"].sum() > 0:
        return ""
    return f"no rod-hours: {_unused_sets(log, effort) or 'no trip has set records'}"


def _unused_sets(log: SeasonLog, effort: Effort) -> str:
    """Count the sets that cannot be used, with the commonest reason; empty where there are none."""
    problems = pd.concat([log.set_aside, effort.set_aside], ignore_index=True)
    aside = problems.loc[problems["table"] == "sets"]
    if aside.empty:
        return ""
    reason = aside["reason"].str.split(";").str[0]
    found = (aside["column"] + ": " + reason).where(aside["column"] != "", reason).value_counts()
    often = "" if len(found) == 1 else "most often "
    written = int(log.rows.set_index("table")["read"]["sets"])
    return f"{len(aside)} of {count(written, 'set')} cannot be used ({often}{found.index[0]})"


def _unread_gaps(log: SeasonLog) -> Iterator[Gap]:
    for why, files in groupby(sorted(log.unread, key=lambda file: file.why), lambda f: f.why):
        same = list(files)
        names = ", ".join(file.name for file in same)
        yield Gap(
            what=f"{names}: beside the tables, and not read",
            cost=f"nothing in it counts; {why}",
            remedy=same[0].remedy,
        )


def _rod_gaps(log: SeasonLog) -> Iterator[Gap]:
    """Tell of entries of boat.toml that no rod has, and of rods that lack one."""
    fished = log.stretches if len(log.stretches) else log.strikes
    rods = {rod_key(rod): rod for rod in sorted(fished["rod"].unique().tolist())}
    heights = log.boat.tip_height_m
    per_rod = {"counter_scale": log.boat.counter_scale}
    if isinstance(heights, Mapping):
        per_rod["tip_height_m"] = heights
    for key, values in per_rod.items():
        if idle := [rod for rod in values if rod_key(rod) not in rods]:
            yield Gap(
                what=f"{key} in boat.toml names {', '.join(idle)}, which never fishes in this log",
                cost="the entry changes nothing",
                remedy=f"write the rod as the log does ({', '.join(rods.values())}), or remove it",
            )
    if isinstance(heights, Mapping):
        named = {rod_key(rod) for rod in heights}
        if bare := [rod for key, rod in rods.items() if key not in named]:
            yield Gap(
                what=f"tip_height_m in boat.toml does not name {', '.join(bare)}",
                cost=f"{DEFAULT_TIP_HEIGHT_M:g} m above the water is taken there",
                remedy="measure the height of these rods' tips and write it",
            )


def _effort_gaps(log: SeasonLog, effort: Effort) -> Iterator[Gap]:
    trips, bare = len(log.trips), len(effort.strikes_only_trips)
    if bare:
        strikes = int(effort.strikes["trip"].isin(effort.strikes_only_trips).sum())
        which = "no trip has" if bare == trips else f"{bare} of {count(trips, 'trip')} have no"
        yield Gap(
            what=f"{which} set records",
            cost=f"their {count(strikes, 'strike')} count in the tables of species and outcomes,"
            " but in no rate: nobody knows how long which rod fished where",
            remedy="write down when each rod goes in and comes out, with its line-out and setting",
        )
    if unused := _unused_sets(log, effort):
        yield Gap(
            what=unused,
            cost="their rod-hours are missing, and strikes on them cannot be placed",
            remedy="put the rows right that are listed as set aside, from the boat's own notes",
        )
    alone = effort.slices.loc[effort.slices["source"] == "spread"]
    if len(alone):
        yield Gap(
            what=f"{number(alone['hours'].sum())} of "
            f"{number(effort.slices['hours'].sum())} rod-hours"
            f" ({count(alone['trip'].nunique(), 'trip')}) rest on a spread alone",
            cost="what those rods fished after the start is taken from the spread and the strikes;"
            " a period where more than a third of the rod-hours do is never clear",
            remedy="write a row of changes when a rod is changed, moved or taken out",
        )
    cut = effort.changed["row"].nunique()
    if cut:
        written = log.stretches.loc[log.stretches["set"].isin(effort.sets["set"])]
        whole = (written["time_out"] - written["time_in"]).dt.total_seconds().sum() / 3600
        yield Gap(
            what=f"{count(cut, 'set')} reaching into the rod's next set or out of the trip",
            cost="they count only up to there:"
            f" {whole - effort.sets['hours'].sum():.1f} rod-hours less",
            remedy="write down when a rod comes out, not only when it goes in again",
        )
    counted = log.rows.set_index("table")
    lost_trips = int(counted["set_aside"]["trips"])
    if lost_trips:
        with_trip = log.set_aside["reason"].str.startswith("its trip was set aside")
        lost = log.set_aside.loc[with_trip, "table"].value_counts()
        sets, strikes = int(lost.get("sets", 0)), int(lost.get("strikes", 0))
        yield Gap(
            what=f"{lost_trips} of {count(int(counted['read']['trips']), 'trip')} cannot be used",
            cost="nothing of these trips counts: not the hours of their"
            f" {count(sets, 'set')}, not their {count(strikes, 'strike')}",
            remedy="put the rows of trips right that are listed as set aside",
        )


def _strike_gaps(log: SeasonLog, effort: Effort) -> Iterator[Gap]:
    strikes = effort.strikes
    if strikes.empty:
        yield Gap(
            what="the log has no strike",
            cost="there is effort, but nothing to compare: no depth can be told from another",
            remedy="write down each strike, missed ones too, with its time and rod",
        )
        return
    lost = int((effort.set_aside["table"] == "strikes").sum())
    if lost:
        yield Gap(
            what=f"{lost} of {count(len(strikes), 'strike')} fell when no set of their rod"
            " was down",
            cost="they count in the tables of species and outcomes, but in no rate",
            remedy="note the time of the strike and the end of the set from the same clock",
        )
    aside = int(log.rows.set_index("table")["set_aside"]["strikes"])
    if aside:
        yield Gap(
            what=f"{count(aside, 'strike')} in the file cannot be used",
            cost="they count nowhere",
            remedy="put the rows right that are listed as set aside",
        )
    for column, cost in (
        ("species", "they count in rates of all species, not in one species' table"),
        ("outcome", "they count as strikes, but neither as landed nor as lost"),
    ):
        empty = int((strikes[column] == "").sum())
        if empty:
            yield Gap(
                what=f"no {column} in {empty} of {count(len(strikes), 'strike')}",
                cost=cost,
                remedy=f"write the {column}" + " where it was seen" * (column == "species"),
            )


def _depth_gaps(
    log: SeasonLog,
    slices: pd.DataFrame,
    hours: npt.NDArray[np.float64],
    why: npt.ArrayLike | None,
) -> Iterator[Gap]:
    """Tell of rod-hours without a depth, a gear and a reason at a time, the most hours first."""
    if why is None:
        return
    reasons = pd.Series(np.asarray(why, dtype=object), index=slices.index)
    lost = slices.assign(reason=reasons, hours=hours).loc[reasons != ""]
    # a reason with other numbers in it is the same reason
    kind = lost["reason"].str.replace(r"[0-9.]+", "#", regex=True)
    groups = [rows for _, rows in lost.groupby(["gear", kind])]
    for rows in sorted(groups, key=lambda rows: -rows["hours"].sum()):
        here = slices.index.isin(rows.index)
        if share := _share(here, hours):
            most = rows.groupby("reason")["hours"].sum().sort_values().index
            often, such = str(most[-1]), " and the like" if len(most) > 1 else ""
            yield Gap(
                what=f"no depth of {rows['gear'].iloc[0]} for {share}:"
                f" {in_boat_units(often, log.boat.units)}{such}",
                cost=f"{_fished(here, slices)} are in no band",
                remedy="correct the line-out, the setting or the speed there, or the gear in"
                " boat.toml",
            )


def _soak_gaps(log: SeasonLog, untried: Mapping[str, float] | None) -> Iterator[Gap]:
    """Tell of gears whose depth rests on defaults, and how far those may be off."""
    if untried is None:
        soaked = set() if log.soaks is None else set(log.soaks["gear"])
        untried = {gear: np.nan for gear in log.boat.gears if gear not in soaked}
    fished = sorted(set(log.stretches["gear"]) & set(untried))
    if len(untried) == len(log.boat.gears):
        yield Gap(
            what="no soaks: no gear of this boat was measured with a depth logger",
            cost=f"depths rest on default parameters{_doubt_of(fished or untried, untried)}",
            remedy="clip a depth logger to each gear for a few trials at different settings and"
            " line-outs; eight bring the error to about 3 %",
        )
    elif fished:
        yield Gap(
            what=f"no soaks of {', '.join(fished)}",
            cost=f"their depths rest on default parameters{_doubt_of(fished, untried)}",
            remedy="clip a depth logger to these gears for a few trials",
        )


def _doubt_of(gears: Collection[str], share: Mapping[str, float]) -> str:
    """Say by how much the depth of each gear may be off, where that is known."""
    told = [f"{percent(share[gear])} for {gear}" for gear in gears if share[gear] > 0]
    return f": uncertain by about {', '.join(told)}" if told else ""


def _lure_gaps(log: SeasonLog) -> Iterator[Gap]:
    """Tell of lures that boat.toml describes and the log never names."""
    fished = {lure_key(str(name)) for name in {*log.stretches["lure"], *log.strikes["lure"]}}
    unused = [lure.name for key, lure in log.boat.lures.items() if key not in fished]
    if unused:
        yield Gap(
            what=f"no set fished {', '.join(unused)}, of which boat.toml says how it dives",
            cost="if it was fished under another name, it ran deeper than is told here",
            remedy="write its name under [lures] as the log does, or take it out",
        )


def _speed_gaps(slices: pd.DataFrame, hours: npt.NDArray[np.float64]) -> Iterator[Gap]:
    blank = slices["speed_mps"].isna().to_numpy()
    if share := _share(blank, hours):
        yield Gap(
            what=f"no speed for {share}",
            cost="the depth of riggers and weighted lines is that at the boat's usual speed there,"
            f" and the effect of speed cannot be told: {_fished(blank, slices)}",
            remedy="note the speed when it changes, or save the readings of the instruments",
        )
    ground = ~blank & (slices["speed_kind"] != "water").to_numpy()
    if share := _share(ground, hours):
        yield Gap(
            what=f"only speed over ground for {share}",
            cost="a current makes the lures' own speed another one: the effect of speed and the"
            " depth of riggers and weighted lines are less certain",
            remedy="use a speed sensor in the water, and write speed_kind water",
        )


def _length(depth_m: float, log: SeasonLog) -> str:
    """Write a depth in the boat's own unit: of metres the tenths count, too."""
    unit = log.boat.units.depth
    return f"{number(float(from_si(depth_m, 'depth', unit)), int(unit == 'm'))} {unit}"


def _temperature_gaps(
    log: SeasonLog,
    slices: pd.DataFrame,
    hours: npt.NDArray[np.float64],
    doubt_m: npt.NDArray[np.float64],
    further: Further | None,
    *,
    unseen: bool,
) -> Iterator[Gap]:
    if not hours.sum() > 0:
        return  # nothing was fished that a temperature could be known of
    doubtful = doubt_m > DOUBTFUL_M
    if unseen:
        yield Gap(
            what="no temperature casts, nor a probe or logger below the surface",
            cost="how deep the warm water reached is read from the strikes themselves, so a verdict"
            " must be surer to be clear, that of a week never is, and the best depth of a month is"
            " less certain",
            remedy=_bought(further, log),
        )
    elif np.isnan(doubt_m).all():
        yield Gap(
            what="no temperature casts",
            cost="the temperature at the lure is unknown: a model that uses it leaves out"
            f" {_fished(hours > 0, slices)}; one that does not takes fish that follow a"
            " temperature for fish that like a depth, so every verdict is lowered",
            remedy="lower a thermometer once a trip and note the temperature every few metres",
        )
    elif share := _share(doubtful, hours):
        off_m = float(np.sqrt(np.mean(doubt_m[doubtful] ** 2)))
        yield Gap(
            what=f"no cast near enough in time for {share}: the water's layers may lie about"
            f" {_length(off_m, log)} off where they are taken to be",
            cost="the temperature at the lure is less certain there, and so is the best depth"
            " of a month",
            remedy=_bought(further, log),
        )
    if share := _share(slices["surface_temp_c"].isna().to_numpy(), hours):
        yield Gap(
            what=f"no surface temperature for {share}",
            cost="nothing stands in for the temperature at the lure where casts are missing",
            remedy="note the sounder's temperature at the start and every hour",
        )


def _bought(further: Further | None, log: SeasonLog) -> str:
    """Say what one more thermometer would buy, as far as that is known."""
    if further is None:
        return "make a cast on every trip"
    now, fortnight, probe, logger, each = (
        _length(sd_m, log)
        for sd_m in (
            *(further.now_m, further.fortnight_m, further.probe_m),
            *(further.logger_m, further.each_trip_m),
        )
    )
    return (
        f"the thermometers leave the layers' depth in doubt by about {now}; a cast a fortnight"
        f" would leave {fortnight}, a probe at the ball on each trip {probe}, a logger on one"
        f" line on each trip {logger}, a cast on each trip"
        f" {each}"
    )


def _tackle_gaps(slices: pd.DataFrame, hours: npt.NDArray[np.float64]) -> Iterator[Gap]:
    if share := _share(slices["leader_length_m"].isna().to_numpy(), hours):
        yield Gap(
            what=f"no leader length for {share}",
            cost="the effect of the leader cannot be told there, and it stays mixed with depth",
            remedy="write the leader length with each set",
        )
    if share := _share((slices["lure"] == "").to_numpy(), hours):
        yield Gap(
            what=f"no lure for {share}",
            cost="nothing can be said of lures there",
            remedy="write the lure with each set",
        )
