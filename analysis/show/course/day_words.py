"""Owns the words that go with pictures of days: each says the finding."""

from __future__ import annotations

from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import AreaRatio, OfHour, records
from analysis.show.base.html import Told
from analysis.show.base.rows import top
from analysis.units import Units, from_si

REASONS = {"thin": "too thin", "tied": "not told apart from its months or boats"}
"""Why an area cannot be compared, by the column ``reason`` of ``areas``."""
NOT_FISHED = "No rod fished so: there is nothing to draw."


def by_hour(hours: pd.DataFrame) -> Told:
    """Describe `day_figures.by_hour`."""
    told = [row for row in records(OfHour, hours) if not isnan(row.high)]
    best = top(told, lambda row: row.low)  # the highest as counted may be luck of few rod-hours
    finding = (
        "no hour was fished enough to tell a rate."
        if best is None
        else f"the surest of a high rate has {labels.rate(best.raw_rate)} from {best.hour}:00 "
        f"(90 % interval {labels.interval(best.low, best.high)}) on "
        f"{labels.number(best.rod_hours)} rod-hours."
    )
    return Told(
        alt=f"Strikes and rod-hours by hour of the day: {finding}",
        caption="Dots: strikes per rod-hour as counted, with 90 % interval; bars behind: "
        "rod-hours. Hours differ in days and places fished, too.",
        missing=NOT_FISHED,
    )


def areas_at_equal_conditions(areas: pd.DataFrame) -> Told:
    """Describe `day_figures.areas_at_equal_conditions`: each area's ratio with its interval."""
    rows = records(AreaRatio, areas)
    told = [row for row in rows if not row.reason]
    reference = told[0].reference if told else ""
    compared = max(len(told) - 1, 1)
    parts = [
        f"{row.area} {REASONS[row.reason]}"
        if row.reason
        else f"{row.area} {labels.ratio(row.ratio)} times "
        f"({labels.interval(row.low, row.high, labels.ratio)})"
        for row in rows
        if row.area != reference
    ]
    against = f" against {reference}" if reference else ""
    return Told(
        alt=f"Catch rate by area at equal depth, month and hour{against}: {'; '.join(parts)}.",
        caption=f"Multiples of the rate in {reference}, with 90 % interval; areas are drawn "
        "toward each other as far as trips do not part them. Filled: its interval misses × 1, as "
        f"at most {labels.number(0.1 * compared, 1)} of {labels.count(compared, 'interval')} "
        "would by chance, were all areas alike."
        if reference
        else "No two areas were fished so that they can be compared.",
        missing="The log names fewer than two areas with rod-hours: there is nothing to compare.",
    )


def trip_strip(
    slices: pd.DataFrame, strikes: pd.DataFrame, units: Units, heading: str = ""
) -> Told:
    """Describe `day_figures.trip_strip`; ``heading`` says which trip it is."""
    depth = from_si(slices["depth_m"].to_numpy(dtype=float), "depth", units.depth)
    shallow, deep = pd.Series(depth).min(), pd.Series(depth).max()
    rods = labels.count(slices["rod"].nunique(), "rod")
    known = strikes["depth_m"].notna().sum()
    which = f", {heading}" if heading else ""
    return Told(
        alt=f"One trip as a strip{which}: {rods} between {labels.number(shallow)} and "
        f"{labels.number(deep)} {labels.unit_of('depth', units)}, "
        f"{labels.count(len(strikes), 'strike')}, of which {labels.number(known)} at a known "
        "depth.",
        caption=f"{heading or 'One trip'}: a line a rod, at the modelled depth of its lure; the "
        "water's modelled temperature behind.",
        missing=NOT_FISHED,
    )
