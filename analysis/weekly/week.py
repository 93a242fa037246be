"""The figures of one ISO week: counts, depth, water, line-outs, what to try, what is not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.decision.caps import Cap
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.errors import reason_of
from analysis.rates.standardised import depth_draws
from analysis.review.season_course import thermoclines
from analysis.spread.expected import RateByDepth
from analysis.spread.line_outs import fished_m
from analysis.stats.beside import Errand, share_out
from analysis.weekly.club_log import Logbook
from analysis.weekly.depth import band_of, depth_of
from analysis.weekly.disclosure import parts_of, stands
from analysis.weekly.figures import (
    NO_LOG,
    NO_TRIPS,
    TOLD,
    TOO_FEW,
    Counts,
    Depth,
    Unknown,
    Water,
    WeekFigures,
)
from analysis.weekly.line_outs import Aim, Tackle
from analysis.weekly.tackle import tackle_of
from analysis.weekly.water import conditions_of, profile_of, water_of
from analysis.weeks import monday_of, same_week_last_year, week_before

Array = NDArray[np.float64]

ROUNDING_M = 1e-6
SPEED_STEP_MPS = 0.05
"""Line-outs are worked out at the week's speed to the nearest 0.05 m/s, about 0.1 mph."""


@dataclass(frozen=True, kw_only=True)
class WeekFault:
    """A week whose figures could not be worked out, and why."""

    week: str
    reason: str


@dataclass(frozen=True)
class FittedYear:
    """One year's season folders of a logbook and the model fitted to them together.

    Attributes
    ----------
    book : Logbook
    logs : tuple of int
        The season folders' numbers in the logbook, in the order the answer has them.
    answer : Answer
    say : callable
        Puts in words why a verdict may not be clear.
    """

    book: Logbook
    logs: tuple[int, ...]
    answer: Answer
    say: Callable[[Cap], str]
    slices: pd.DataFrame = field(init=False)
    week_of_hour: NDArray[np.object_] = field(init=False)
    tackle: Tackle = field(init=False)

    def __post_init__(self) -> None:
        """Put the week and the boat to each slice and boat hour."""
        table = self.answer.exposure.table
        log = np.array(self.logs)[table["log_number"].to_numpy()]
        place = pd.MultiIndex.from_arrays([log, table["trip"]])
        trips = self.book.trips.set_index(["log_number", "trip"])
        found = trips.reindex(place)
        seasons = [self.book.seasons[log] for log in self.logs]
        kinds = {
            (log, name): gear.kind
            for log, season in enumerate(seasons)
            for name, gear in season.log.boat.gears.items()
        }
        slices = table.assign(
            week=found["week"].to_numpy(),
            boat=found["boat"].to_numpy(),
            band=band_of(table, self.answer.hours.edges_m),
            kind=[kinds[key] for key in zip(table["log_number"], table["gear"], strict=True)],
            lure=table["lure"].map(self.book.lures).astype(object).fillna(""),
        )
        of_trip = dict(zip(self.answer.exposure.trip, slices["week"], strict=True))
        hours = np.array([of_trip[trip] for trip in self.answer.hours.trip], dtype=object)
        object.__setattr__(self, "slices", slices)
        object.__setattr__(self, "week_of_hour", hours)
        object.__setattr__(self, "tackle", Tackle(seasons, self.book.audience))

    @property
    def boats(self) -> int:
        """How many boats the year's folders are of."""
        trips = self.book.trips
        return int(trips.loc[trips["log_number"].isin(self.logs), "boat"].nunique())


def week_figures(
    book: Logbook, weeks: Sequence[str], years: Sequence[FittedYear]
) -> dict[str, WeekFigures | WeekFault]:
    """Work out the figures of some weeks; what goes wrong in one stays its own.

    Parameters
    ----------
    book : Logbook
    weeks : sequence of str
        ISO weeks such as ``2026-W27``, with or without trips.
    years : sequence of FittedYear
        Of the years that have trips in these weeks. A week with trips of two years' folders
        (a season that runs over New Year beside one that begins) gets counts but no depths.

    Returns
    -------
    dict of str to WeekFigures or WeekFault
    """
    found: dict[str, WeekFigures | WeekFault] = {}

    def count(some: Sequence[str]) -> None:
        found.update({week: _counted(book, week) for week in some})

    def model(year: FittedYear, some: Sequence[str]) -> None:
        found.update(_modelled(_told(found, some), year))

    _each(found, weeks, count)
    for year in years:
        if not book.enough(year.boats):
            continue  # the season's curve would be of too few boats
        mine = [week for week in _told(found, weeks) if _whole_in(book, week, year)]
        _each(found, mine, partial(model, year))
    return found


def _told(
    found: Mapping[str, WeekFigures | WeekFault], weeks: Sequence[str]
) -> dict[str, WeekFigures]:
    """Return the weeks that nothing went wrong in."""
    return {week: some for week in weeks if isinstance(some := found[week], WeekFigures)}


def _each(
    found: dict[str, WeekFigures | WeekFault],
    weeks: Sequence[str],
    work: Callable[[Sequence[str]], None],
) -> None:
    """Do some work on weeks together, which is faster; where it fails, on each of them alone."""
    try:
        work(weeks)
    except Exception as error:  # noqa: BLE001 - a fault of one week must not stop the others
        if len(weeks) == 1:
            found[weeks[0]] = WeekFault(week=weeks[0], reason=reason_of(error))
            return
        for week in weeks:
            _each(found, [week], work)


def _modelled(weeks: Mapping[str, WeekFigures], year: FittedYear) -> dict[str, WeekFigures]:
    """Add what the season's model says of some weeks."""
    groups = [year.week_of_hour == week for week in weeks]
    fitted = year.answer
    rates = dict(
        zip(weeks, depth_draws(fitted.fit, fitted.levels, fitted.hours, groups), strict=True)
    )
    each = [
        Errand(partial(_with_model, figures, year, rates[week].mean(axis=1)))
        for week, figures in weeks.items()
    ]
    share_out(each, worth=len(each) > 1)
    found = {week: errand.made for week, errand in zip(weeks, each, strict=True)}
    _add_line_outs(found, year, rates)
    return found


def logs_of(book: Logbook, week: str) -> set[int]:
    """Return the numbers of the season folders with trips in a week."""
    return set(book.trips.loc[book.trips["week"] == week, "log_number"])


def _whole_in(book: Logbook, week: str, year: FittedYear) -> bool:
    """Tell whether a week has trips, all of them of one year's folders."""
    logs = logs_of(book, week)
    return bool(logs) and logs <= set(year.logs)


def _status(book: Logbook, week: str | None) -> tuple[str, Counts | None]:
    """Return whether a week's figures are told, and the figures."""
    weeks = book.trips["week"]
    if week is None or not (weeks.min() <= week <= weeks.max()):
        return NO_LOG, None
    if not (weeks == week).any():
        # Between two seasons nobody logs; within one, nobody fished.
        same_year = weeks[weeks.str[:4] == week[:4]]
        inside = len(same_year) and same_year.min() <= week <= same_year.max()
        return (NO_TRIPS if inside else NO_LOG), None
    counts = book.counts(week)
    return (TOO_FEW if counts is None else TOLD), counts


def _counted(book: Logbook, week: str) -> WeekFigures:
    """Return what the logbook alone says of a week."""
    status, counts = _status(book, week)
    monday = monday_of(week)
    last_week_status, last_week = _status(book, week_before(week))
    last_year_status, last_year = _status(book, same_week_last_year(week))
    told = counts is not None
    areas, more_areas = book.areas(week) if told else ((), False)
    return WeekFigures(
        week=week,
        first_day=monday.isoformat(),
        last_day=(monday + timedelta(days=6)).isoformat(),
        status=NO_TRIPS if status == NO_LOG else status,
        audience=book.audience.kind,
        club=book.club,
        boats_named=book.boats_named(week) if told else (),
        areas=areas,
        more_areas=more_areas,
        counts=counts,
        last_week=last_week,
        last_week_status=last_week_status,
        last_year=last_year,
        last_year_status=last_year_status,
        unknown=_unknown_of_logs(book, week) if told else (),
    )


def _with_model(figures: WeekFigures, year: FittedYear, draws: Array) -> WeekFigures:
    """Add what the season's model says of the week."""
    slices = year.slices[year.slices["week"] == figures.week]
    effects = year.answer.effects
    profile = profile_of(year.answer.hours, year.week_of_hour == figures.week)
    thermocline = thermoclines(profile.assign(week=figures.week)).get(figures.week, np.nan)
    water = water_of(profile, thermocline, effects)
    if figures.status == TOO_FEW:
        return replace(figures, water=water)  # the water is nobody's own
    least = year.book.audience.least
    if not stands(parts_of(slices, "hours"), least):
        return replace(figures, water=water)
    depth, groups = depth_of(year.answer, slices, draws, least, year.say)
    conditions = conditions_of(effects, slices, least)
    speed = next((x.middle for x in conditions if x.term == "speed_mps"), USUAL_SPEED_MPS)
    tackle = tackle_of(year.book, figures.week, slices, groups)
    target, why = target_of(depth, water)
    return replace(
        figures,
        depth=depth,
        water=water,
        target_m=target,
        target_why=why,
        speed_mps=round(max(round(speed / SPEED_STEP_MPS), 1) * SPEED_STEP_MPS, 2),
        kinds=tackle["kind"],
        lures=tackle["lure"],
        conditions=conditions,
        unknown=(*_unknown_of_slices(slices), *figures.unknown),
    )


def target_of(depth: Depth, water: Water | None) -> tuple[float, str]:
    """Return where to put lures, and why: ``depth``, ``water`` or, for nowhere, no reason.

    It is the middle of the depth that the week names; where its verdict is open, of where the
    season's best water lay, if the logs tell that.
    """
    named = 0.5 * (depth.named_low_m + depth.named_high_m)
    lay = np.nan if water is None else 0.5 * (water.best_low_m + water.best_high_m)
    if depth.verdict == "open" and np.isfinite(lay):
        return lay, "water"
    return (named, "depth") if np.isfinite(named) else (np.nan, "")


def _add_line_outs(
    found: dict[str, WeekFigures], year: FittedYear, rates: Mapping[str, Array]
) -> None:
    """Add what to let out: where a week names a depth, what is expected to catch best.

    Where it names none, what puts a lure into the season's best water, all such weeks at once.
    """
    aims = {
        week: aim
        for week, figures in found.items()
        if figures.target_why == "depth" and (aim := _aim_of(figures, year, rates[week]))
    }
    for week, rows in zip(aims, year.tackle.advised(list(aims.values())), strict=True):
        found[week] = replace(found[week], line_outs=rows)
    aimed = [
        week
        for week, figures in found.items()
        if np.isfinite(figures.target_m) and not figures.line_outs
    ]
    depths = np.array([found[week].target_m for week in aimed])
    speeds = np.array([found[week].speed_mps for week in aimed])
    for week, rows in zip(aimed, year.tackle.line_outs(depths, speeds), strict=True):
        found[week] = replace(found[week], line_outs=rows)


def _aim_of(figures: WeekFigures, year: FittedYear, at_depth: Array) -> Aim | None:
    """Gather what a week's line-outs are chosen for: only bands whose rate it tells."""
    hours, depth = year.answer.hours, figures.depth
    curve = RateByDepth.of_draws(at_depth, hours.depth_m)
    if depth is None or curve is None:
        return None
    low, high = hours.edges_m[:-1], hours.edges_m[1:]
    judged = np.zeros(len(low), dtype=bool)
    for band in depth.bands:
        if band.judged:
            judged |= (low >= band.low_m - ROUNDING_M) & (high <= band.high_m + ROUNDING_M)
    return Aim(
        curve=curve,
        edges_m=hours.edges_m,
        judged=judged,
        fished_m=fished_m(year.answer.exposure),
        band_m=(depth.named_low_m, depth.named_high_m),
        speed_mps=figures.speed_mps,
    )


def _unknown_of_logs(book: Logbook, week: str) -> tuple[Unknown, ...]:
    """Return what is missing from the logs themselves."""
    found = []
    strikes = book.strikes[book.strikes["week"] == week]
    trips = book.trips[book.trips["week"] == week]
    recorded = book.slices.loc[
        book.slices["week"] == week, ["log_number", "trip"]
    ].drop_duplicates()
    without = 1.0 - len(recorded) / len(trips)
    if without > 0:
        found.append(Unknown(what="no sets", share=how_much(without)))
    aside = book.aside[book.aside["week"] == week]
    if len(aside):
        share = len(aside) / (len(aside) + book.sets_in(week))
        known = parts_of(aside.dropna(), "hours")
        told = bool(known) and stands(known, book.audience.least)
        hours = float(sum(known.values())) if told else None
        found.append(Unknown(what="set aside", share=how_much(share), rod_hours=hours))
    if len(strikes):
        of = pd.MultiIndex.from_frame(strikes[["log_number", "trip"]])
        inside = of.isin(pd.MultiIndex.from_frame(recorded))
        unplaced = float((inside & ~strikes["placed"].to_numpy(dtype=bool)).mean())
        unseen = float((strikes["species"] == "").mean())
        if unplaced > 0:
            found.append(Unknown(what="unplaced", share=how_much(unplaced)))
        if unseen > 0:
            found.append(Unknown(what="species", share=how_much(unseen)))
    cast = any(_has_cast(book, log, set(rows["trip"])) for log, rows in trips.groupby("log_number"))
    if not cast:
        found.append(Unknown(what="casts"))
    return tuple(found)


def _has_cast(book: Logbook, log: object, trips: set[str]) -> bool:
    casts = book.seasons[int(str(log))].log.casts
    return casts is not None and bool(casts["trip"].isin(trips).any())


def _unknown_of_slices(slices: pd.DataFrame) -> tuple[Unknown, ...]:
    """Return what is not known of the week's rod-hours."""
    hours = slices["hours"]
    missing = {name: slices[name].isna() for name in ("depth_m", "lure_temp_c", "speed_mps")} | {
        "ground": slices["speed_mps"].notna() & (slices["speed_kind"] != "water")
    }
    return tuple(
        Unknown(what=name, share=how_much(float(hours[rows].sum() / hours.sum())))
        for name, rows in missing.items()
        if rows.any()
    )


def how_much(share: float) -> str:
    """Say a share in words.

    Examples
    --------
    >>> how_much(0.02), how_much(0.3), how_much(0.5), how_much(1.0)
    ('little', 'some', 'about half', 'all')
    """
    if share >= 1.0:
        return "all"
    for most, words in ((0.1, "little"), (0.4, "some"), (0.6, "about half")):
        if share < most:
            return words
    return "most"
