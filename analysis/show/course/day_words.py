"""Owns the words that go with pictures of days: each says the finding."""

from __future__ import annotations

from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import OfArea, OfHour, records
from analysis.show.base.html import Told
from analysis.show.base.rows import top
from analysis.units import Units, from_si

NOT_FISHED = "No rod fished so: there is nothing to draw."


def by_hour(hours: pd.DataFrame) -> Told:
    """Describe `day_figures.by_hour`."""
    told = [row for row in records(OfHour, hours) if not isnan(row.high)]
    best = top(told, lambda row: row.raw_rate)
    finding = (
        "no hour was fished enough to tell a rate."
        if best is None
        else f"the highest is {labels.rate(best.raw_rate)} a rod-hour from {best.hour}:00 "
        f"(90 % interval {labels.interval(best.low, best.high)}) on "
        f"{labels.number(best.rod_hours)} rod-hours."
    )
    return Told(
        alt=f"Strikes and rod-hours by hour of the day: {finding}",
        caption="Dots: strikes per rod-hour as counted, with 90 % interval; bars behind: "
        "rod-hours. Hours differ in days and places fished, too.",
        missing=NOT_FISHED,
    )


def by_area(areas: pd.DataFrame) -> Told:
    """Describe `day_figures.by_area`."""
    told = [row for row in records(OfArea, areas) if not isnan(row.high)]
    best = top(told, lambda row: row.raw_rate)
    finding = (
        "no area was fished enough to tell a rate."
        if best is None
        else f"the highest is {labels.rate(best.raw_rate)} a rod-hour in {best.area} "
        f"(90 % interval {labels.interval(best.low, best.high)})."
    )
    return Told(
        alt=f"Strikes and rod-hours by area: {finding}",
        caption="Strikes per rod-hour as counted; bars behind: rod-hours. Areas were fished on "
        "other days, so this is not yet a comparison at equal conditions.",
        missing=NOT_FISHED,
    )


def trip_strip(slices: pd.DataFrame, strikes: pd.DataFrame, units: Units) -> Told:
    """Describe `day_figures.trip_strip`."""
    depth = from_si(slices["depth_m"].to_numpy(dtype=float), "depth", units.depth)
    shallow, deep = pd.Series(depth).min(), pd.Series(depth).max()
    rods = labels.count(slices["rod"].nunique(), "rod")
    known = strikes["depth_m"].notna().sum()
    return Told(
        alt=f"One trip as a strip: {rods} between {labels.number(shallow)} and "
        f"{labels.number(deep)} {labels.unit_of('depth', units)}, "
        f"{labels.count(len(strikes), 'strike')}, of which {labels.number(known)} at a known "
        "depth.",
        caption="A line a rod, at the modelled depth of its lure; the water's modelled "
        "temperature behind.",
        missing=NOT_FISHED,
    )
