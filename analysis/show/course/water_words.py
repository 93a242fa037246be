"""Owns the words that go with pictures of the water: each says the finding."""

from __future__ import annotations

from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import (
    BestWater,
    Certainty,
    FishedDepth,
    StrikeDepth,
    Thermometer,
    Worth,
    records,
)
from analysis.show.base.html import Told
from analysis.show.base.rows import top
from analysis.show.course.water_figures import most_fished
from analysis.units import Units


def section(
    fished: pd.DataFrame,
    strikes: pd.DataFrame,
    water: pd.DataFrame,
    thermometers: pd.DataFrame,
    best: pd.DataFrame,
    units: Units,
) -> Told:
    """Describe `water_figures.section`: what it holds, how warm it was, how often measured."""
    nothing = "No rod-hours with a known depth: there is no section to draw."
    if fished.empty:
        return Told(alt=nothing, missing=nothing)
    name = most_fished(fished)
    of_water = [
        frame[frame["water"] == name] if len(frame) else frame
        for frame in (fished, strikes, water, thermometers)
    ]
    fished, strikes, water, thermometers = of_water
    days = [pd.Timestamp(row.date) for row in records(FishedDepth, fished)]
    depths = [row.depth_m for row in records(StrikeDepth, strikes) if not isnan(row.depth_m)]
    struck = labels.count(len(depths), "strike")
    span = f" at {labels.between(min(depths), max(depths), 'depth', units)}" if depths else ""
    parts = [
        f"The water by day and depth from {labels.day(min(days))} to {labels.day(max(days))}: "
        f"{struck}{span}, {labels.number(fished['rod_hours'].sum())} rod-hours"
    ]
    if len(water):
        coldest, warmest = water["temp_c"].min(), water["temp_c"].max()
        parts.append(f"water of {labels.between(coldest, warmest, 'temperature', units)}")
    parts.append(_measured(records(Thermometer, thermometers)))
    parts.append(_best(records(BestWater, best), units))
    return Told(
        alt=f"{'; '.join(parts)}.",
        caption=f"{name}: colours and thin lines, the water's temperature"
        + (", hatched where it is in doubt" if len(water) else " (not known)")
        + "; dots, every strike at its modelled depth; pale, where the rods were; bars, where "
        "the best water lay, an arrow where it may be deeper than rods were.",
        missing=nothing,
    )


def _best(weeks: list[BestWater], units: Units) -> str:
    """Say where the best water lay in the first and last week of which the log tells it."""
    told = [row for row in weeks if row.told]
    if not told:
        return "where the best water lay, the log cannot tell"
    ends = [
        f"{labels.amount(row.depth_m, 'depth', units)} (90 % interval {_interval(row, units)}) in "
        f"the week of {labels.day(pd.Timestamp(row.day), year=False)}"
        for row in (told[0], told[-1])
    ]
    return "the best water lay at " + (ends[0] if len(told) == 1 else " and at ".join(ends))


def _interval(week: BestWater, units: Units) -> str:
    if isnan(week.depth_high_m):
        return f"{labels.amount(week.depth_low_m, 'depth', units)} or deeper"
    return labels.between(week.depth_low_m, week.depth_high_m, "depth", units)


def _measured(rows: list[Thermometer]) -> str:
    """Say on how many days which thermometers were down."""
    kinds = list(dict.fromkeys(row.source for row in rows))
    if not kinds:
        return "no thermometer below the surface"
    told = [
        f"{kind}s on {labels.count(sum(row.source == kind for row in rows), 'day')}"
        for kind in kinds
    ]
    return labels.listing(told)


LITTLE_M = 0.3
"""A doubt of the thermocline's depth that no thermometer need lessen: no rod is set so exactly."""


def worth(table: pd.DataFrame, units: Units) -> str:
    """Say how doubtful the layers were in the month that was told worst, and what would help.

    Parameters
    ----------
    table : pandas.DataFrame
        The result table ``worth``.
    units : Units
        Units to write depths in.
    """
    worst = top(records(Worth, table), lambda row: row.now_m)
    if worst is None:
        return (
            "No thermometer tells how the water's layers lay; a cast on each trip, or a probe or "
            "logger on one line, would."
        )
    month = labels.month(worst.period)
    now = labels.amount(worst.now_m, "depth", units, 1)
    if worst.now_m - worst.each_trip_m < LITTLE_M:
        return (
            f"The thermometers tell the depth of the thermocline to {now} (one standard "
            f"deviation) even in {month}, the least known month: more of them would buy little."
        )
    ways = (
        ("a cast a fortnight", worst.fortnight_m),
        ("a probe at the ball on each trip", worst.probe_m),
        ("a logger on one line on each trip", worst.logger_m),
        ("a cast on each trip", worst.each_trip_m),
    )
    told = [
        f"{way} would leave {labels.amount(left, 'depth', units, 1)}{_halved(left / worst.now_m)}"
        for way, left in ways
    ]
    return (
        f"In {month}, the least known month, the thermometers leave the depth of the thermocline "
        f"in doubt by {now} (one standard deviation); {labels.listing(told)}."
    )


def _halved(share: float) -> str:
    """Put a share of a doubt that is left in words where a word fits."""
    for limit, word in ((0.3, "less than a third"), (0.58, "about half")):
        if share <= limit:
            return f" ({word} of it)"
    return " (next to no gain)" if share > 0.95 else ""


def certainty(table: pd.DataFrame, units: Units) -> str:
    """Say how the doubt about the months' best depths splits between fish and water.

    Parameters
    ----------
    table : pandas.DataFrame
        The result table ``certainty``.
    units : Units
        Units to write depths in.
    """
    rows = records(Certainty, table)
    told = [row for row in rows if row.apart and not isnan(row.water_share)]
    if not told:
        return (
            "How much of the doubt about the best depth is the water's and how much the fish's, "
            "the log cannot tell."
        )
    most = max(told, key=lambda row: row.water_share)
    least = min(told, key=lambda row: row.water_share)
    span = f"{labels.percent(most.water_share)} in {labels.month(most.period)}"
    if most is not least:
        span = f"{labels.percent(least.water_share)} in {labels.month(least.period)} to {span}"
    known, now = (
        labels.amount(sd_m, "depth", units, 1) for sd_m in (most.water_known_m, most.depth_sd_m)
    )
    untold = [labels.month(row.period) for row in rows if row not in told]
    rest = (
        f" In {labels.listing(untold)} strikes tell fish and water only together: how they split, "
        "the log cannot tell."
        if untold
        else ""
    )
    return (
        f"Of the doubt about a month's best depth (as variance) the water's makes {span}, the "
        f"rest is the fish's and the tackle's: were the water known, "
        f"{labels.month(most.period)}'s best depth would be in doubt by {known} instead of {now} "
        f"(one standard deviation).{rest}"
    )
