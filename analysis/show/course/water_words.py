"""Owns the words that go with pictures of the water: each says the finding."""

from __future__ import annotations

from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import BestWater, FishedDepth, StrikeDepth, Thermometer, records
from analysis.show.base.html import Told
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
