"""Owns the descriptions of pictures, for those who do not see them: each says the finding."""

from collections import Counter
from collections.abc import Callable, Sequence
from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import (
    Band,
    Clearance,
    Cost,
    Effect,
    GearEffect,
    Outcome,
    PlannedRod,
    Share,
    Species,
    Trip,
    Trouble,
    Week,
    records,
)
from analysis.show.base.html import Told
from analysis.show.base.rows import of_period, top
from analysis.show.season.words import VERDICTS
from analysis.units import Units
from analysis.weeks import monday_of

MOST_TIMES = 20
"""A curve's lowest end is too little known to tell a greater ratio to its highest."""


def rate_by_band(bands: pd.DataFrame, units: Units, *, period: str) -> Told:
    """Describe `figures.rate_by_band`: what is best, how sure, and on how much fishing."""
    return Told(
        alt=_rate_by_band(bands, units, period=period),
        caption="Strikes per rod-hour in each depth band; bars behind: rod-hours fished there.",
        missing="No band can be judged: the log holds no rod-hours with a known depth.",
    )


def _rate_by_band(bands: pd.DataFrame, units: Units, *, period: str) -> str:
    rows = records(Band, of_period(bands, period))
    when = "the season" if period == "season" else labels.period(period)
    best = top([row for row in rows if not isnan(row.p_best)], lambda row: row.rate)
    if best is None:
        return f"Rates by depth for {when}: no band was fished enough to be judged."
    band = labels.band(best.band_low_m, best.band_high_m, units)
    rate, bounds = labels.rate_and_interval(best.rate, best.rate_low, best.rate_high)
    answer = [row for row in rows if row.named]
    named = ""
    if len(answer) > 1:
        one = answer[0]
        of_all = labels.rate_and_interval(one.named_rate, one.named_rate_low, one.named_rate_high)
        named = f" The answer, {_span(answer, units)} together: {of_all[0]} ({of_all[1]})."
    return (
        f"Strikes per rod-hour by depth for {when}. The highest rate is {rate} "
        f"at {band} (90 % interval {bounds}) on {labels.number(best.rod_hours)} rod-hours.{named} "
        f"Verdict: {VERDICTS[best.verdict]}."
    )


def _span(named: Sequence[Band], units: Units) -> str:
    """Write the depth that an answer names, its bands as one."""
    low, high = min(row.band_low_m for row in named), max(row.band_high_m for row in named)
    return labels.band(low, high, units)


def rate_by_month(bands: pd.DataFrame, units: Units) -> Told:
    """Describe `figures.rate_by_month`: the band each month's answer names."""
    return Told(
        alt=_rate_by_month(bands, units),
        caption="Darker: nearer the month's best. Framed: its answer, dashed where the log cannot "
        "tell. A dot: too little fished.",
        missing="No month can be judged.",
    )


def _rate_by_month(bands: pd.DataFrame, units: Units) -> str:
    parts: list[str] = []
    rows = records(Band, bands)
    for period in sorted({row.period for row in rows}):
        named = [row for row in rows if row.period == period and row.named]
        open_ = ", which the log cannot tell" if named and named[0].verdict == "open" else ""
        parts.append(f"{labels.period(period)}: {_span(named, units) if named else 'open'}{open_}")
    return f"Catch rate by depth and month. Named bands: {'; '.join(parts)}."


def raw_against_rate(shares: pd.DataFrame, units: Units, *, period: str) -> Told:
    """Describe `figures.raw_against_rate`: which band each of the four counts puts first."""
    return Told(
        alt=_raw_against_rate(shares, units, period=period),
        caption="The same bands counted four ways; the largest of each is filled.",
        missing="There are no strikes with rod-hours to count them against.",
    )


def _raw_against_rate(shares: pd.DataFrame, units: Units, *, period: str) -> str:
    rows = records(Share, of_period(shares, period))
    counts: tuple[tuple[Callable[[Share], float], str], ...] = (
        (lambda row: row.strike_share, "most strikes came from"),
        (lambda row: row.hour_share, "most rod-hours went to"),
        (lambda row: row.raw_rate, "most strikes per rod-hour came from"),
        (lambda row: row.rate, "at equal conditions the best is"),
    )
    firsts = []
    for count, words in counts:
        first = top(rows, count)
        if first is not None:
            firsts.append(f"{words} {labels.band(first.band_low_m, first.band_high_m, units)}")
    if not firsts:
        return "Shares by depth are not known."
    text = labels.listing(firsts)
    return f"{labels.opening(text)}."


def effects_grid(effects: pd.DataFrame, units: Units) -> Told:
    """Describe `figures.effects_grid`: where each term's curve is highest, and how it falls."""
    return Told(
        alt=_effects_grid(effects, units),
        caption="Pale: 90 % interval. Dashed: the catch rate at the term's reference value.",
        missing="No effect could be estimated from this log.",
    )


def _effects_grid(effects: pd.DataFrame, units: Units) -> str:
    parts = []
    everything = records(Effect, effects)
    for term, words in labels.TERM_WORDS.items():
        rows = [row for row in everything if row.term == term]
        highest = top(rows, lambda row: row.ratio)
        if highest is None:
            continue
        times = highest.ratio / max(min(row.ratio for row in rows), 1e-9)
        digits = 1 if term == "speed_mps" else 0
        place = labels.amount(highest.at, labels.TERM_QUANTITY[term], units, digits)
        parts.append(f"{words}: highest at {place}, {_times(times)} the lowest")
    return f"Catch rate along each term of the model. {'; '.join(parts)}."


def _times(ratio: float) -> str:
    """Write how many times; no curve is known better at its lowest than this."""
    return f"over {MOST_TIMES} times" if ratio > MOST_TIMES else f"{labels.ratio(ratio)} times"


def trip_calendar(trips: pd.DataFrame) -> Told:
    """Describe `season_figures.trip_calendar`: when, how often, and the day with most strikes."""
    return Told(
        alt=_trip_calendar(trips),
        caption="A square a day fished: larger, more rod-hours; darker, more strikes.",
        missing="There are no trips.",
    )


def _trip_calendar(trips: pd.DataFrame) -> str:
    strikes: Counter[pd.Timestamp] = Counter()
    for row in records(Trip, trips):
        strikes[pd.Timestamp(row.date)] += row.strikes
    if not strikes:
        return "No trips."
    days = sorted(strikes)
    best = max(days, key=lambda day: strikes[day])
    return (
        f"Calendar of {labels.count(len(days), 'day')} fished from {labels.day(days[0])} to "
        f"{labels.day(days[-1])}; most strikes on {labels.day(best)}: {strikes[best]}."
    )


def best_band_by_week(weeks: pd.DataFrame, units: Units) -> Told:
    """Describe `season_figures.best_band_by_week`: how band and thermocline moved."""
    return Told(
        alt=_best_band_by_week(weeks, units),
        caption="Bars: the week's best band. Shades and thin lines: water temperature from casts.",
        missing="There are no weeks to show.",
    )


def _best_band_by_week(weeks: pd.DataFrame, units: Units) -> str:
    rows = sorted(records(Week, weeks), key=lambda row: row.week)
    known = [row for row in rows if not isnan(row.best_low_m)]
    if not known:
        return "Best band by week: none could be named."
    first, last = known[0], known[-1]
    text = (
        f"Best band by week: from {labels.band(first.best_low_m, first.best_high_m, units)} in "
        f"{_dated(first.week)} to {labels.band(last.best_low_m, last.best_high_m, units)} in "
        f"{_dated(last.week)}"
    )
    warm = [row for row in rows if not isnan(row.thermocline_m)]
    if not warm:
        return f"{text}; the thermocline is not known, for want of casts."
    start, end = (labels.amount(row.thermocline_m, "depth", units) for row in (warm[0], warm[-1]))
    return f"{text}, while the thermocline went from {start} to {end}."


def _dated(week: str) -> str:
    """Name a week with the day it begins on."""
    return f"{labels.week(week)} (from {labels.day(monday_of(week), year=False)})"


def cost_by_month(cost: pd.DataFrame) -> Told:
    """Describe `season_figures.cost_by_month`: strikes fished against those of the best spread."""
    return Told(
        alt=_cost_by_month(cost),
        caption="Bar: strikes as fished. Mark: at the best spread, with its 90 % interval.",
        missing="The cost cannot be estimated: no band could be judged.",
    )


def _cost_by_month(cost: pd.DataFrame) -> str:
    parts = [
        f"{labels.period(row.period)}: {labels.number(row.strikes_fished)} fished, "
        f"{labels.number(row.strikes_best)} ({labels.number(row.low)} to "
        f"{labels.number(row.high)}) at the best spread"
        for row in records(Cost, cost)
    ]
    return "; ".join(parts) + "." if parts else "No cost could be estimated."


def species_outcomes(species: pd.DataFrame) -> Told:
    """Describe `season_figures.species_outcomes`: strikes and fish landed of each species."""
    return Told(
        alt=_species_outcomes(species),
        caption="What became of the strikes of each species.",
        missing="There are no strikes.",
    )


def _species_outcomes(species: pd.DataFrame) -> str:
    if species.empty:
        return "No strikes."
    rows = sorted(records(Species, species), key=lambda row: -row.strikes)[:8]
    parts = [
        f"{row.species or 'not seen'}: {labels.count(row.strikes, 'strike')}, {row.landed} landed"
        for row in rows
    ]
    return f"What became of the strikes. {'; '.join(parts)}."


def landing(outcomes: pd.DataFrame) -> Told:
    """Describe `gear_figures.landing`: the highest and lowest landing rate within each term."""
    return Told(
        alt=_landing(outcomes),
        caption="Landed or released of the fish hooked, with 90 % interval.",
        missing="No fish was hooked, or no outcome was logged.",
    )


def _landing(outcomes: pd.DataFrame) -> str:
    parts = []
    rows = records(Outcome, outcomes)
    for term in dict.fromkeys(row.term for row in rows):
        ends = [
            f"{row.level or 'not logged'} {labels.percent(row.boated_rate)}"
            for row in rows
            if row.term == term
        ]
        parts.append(f"by {term.replace('_', ' ')}: {', '.join(ends)}")
    return (
        f"Share landed or released of the fish hooked, {'; '.join(parts)}."
        if parts
        else "No fish hooked."
    )


def gear_at_equal_depth(gear_effects: pd.DataFrame) -> Told:
    """Describe `gear_figures.gear_at_equal_depth`: each gear's ratio with its interval."""
    return Told(
        alt=_gear_at_equal_depth(gear_effects),
        caption="Filled: told apart from the gear used most. Others may be no better and no worse.",
        missing="Gears could not be compared.",
    )


def _gear_at_equal_depth(gear_effects: pd.DataFrame) -> str:
    parts = [
        f"{labels.gear_and_setting(row.gear, row.setting)}: {labels.ratio(row.ratio)} "
        f"({labels.interval(row.low, row.high, labels.ratio)})"
        for row in records(GearEffect, gear_effects)
    ]
    return f"Catch rate at equal depth against the reference gear. {'; '.join(parts)}."


def troubles(frame: pd.DataFrame) -> Told:
    """Describe `gear_figures.troubles`: where lines came free or tangled most often."""
    return Told(
        alt=_troubles(frame),
        caption="False releases and tangles, with 90 % interval.",
        missing="No false release or tangle was logged.",
    )


def _troubles(frame: pd.DataFrame) -> str:
    worst = top(records(Trouble, frame), lambda row: row.per_100_rod_hours)
    if worst is None:
        return "No false release or tangle was logged."
    return (
        f"False releases and tangles per 100 rod-hours: most, {worst.per_100_rod_hours:.1f}, on "
        f"{labels.gear_and_setting(worst.gear, worst.setting)}."
    )


def planned_spread(plan: pd.DataFrame, clearance: pd.DataFrame, units: Units) -> Told:
    """Describe `gear_figures.planned_spread`: each rod's depth and side, and pairs too close."""
    return Told(
        alt=_planned_spread(plan, clearance, units),
        caption="From behind to scale, from above stretched sideways. Hollow: explores. Dashed: "
        "may tangle. Upright: its depth, nine times in ten.",
        missing="No spread could be planned.",
    )


def _planned_spread(plan: pd.DataFrame, clearance: pd.DataFrame, units: Units) -> str:
    parts = [
        f"{row.rod} {row.side} at {labels.amount(row.depth_m, 'depth', units)}"
        for row in records(PlannedRod, plan)
    ]
    close = [f"{row.rod_a} and {row.rod_b}" for row in records(Clearance, clearance) if row.flagged]
    warning = f" Close enough to tangle: {labels.listing(close)}." if close else ""
    return f"The spread from behind and from above: {'; '.join(parts)}.{warning}"
