"""Owns the sentences of one rod set otherwise than it was."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis import labels
from analysis.show.base.html import Fragment
from analysis.show.depth import tables
from analysis.show.workbook.cards import Card
from analysis.show.workbook.spread_lines import spread_lines

BOUNDS = (0.05, 0.5, 0.95)


def what_if(told: Any) -> Card:
    """Say where the rod ran and would run, and what that is expected to bring."""
    was, wished = told.was, told.wished
    lines = [f"As it was: {_runs(was, told.units)}", f"As asked: {_runs(wished, told.units)}"]
    return Card(
        title=f"{told.boat}, rod {wished.fishes.rod}: what if",
        lines=[*lines, _verdict(told), *_cautions(told)],
        calls=(".ratio", ".ends"),
    )


def spread(told: Any) -> Fragment:
    """Draw the spread from behind and from above, the rod as asked."""
    told_ends = tables.told_spread(told.ends, told.units)
    return spread_lines(told.paths, told.ends, told.units, told=told_ends)


def _runs(at: Any, units: Any) -> str:
    rod = at.fishes
    leader = (
        ""
        if np.isnan(rod.leader_m)
        else f", leader {labels.amount(rod.leader_m, 'length', units, 1)}"
    )
    water = (
        "the water there unknown"
        if np.isnan(at.temp_c)
        else f"{labels.amount(at.temp_c, 'temperature', units)} there (sd "
        f"{_step(at.temp_sd_c, units)})"
    )
    dives = f" with {rod.lure}, which dives" if rod.lure else ""
    low, middle, high = np.quantile(at.rate, BOUNDS)
    return (
        f"{labels.gear_and_setting(rod.gear, rod.setting)}{dives}, "
        f"{labels.amount(rod.line_out_m, 'length', units)} out{leader}, "
        f"{labels.amount(rod.speed_mps, 'speed', units, 1)}, {labels.day(rod.day)}: "
        f"{labels.amount(at.depth_m, 'depth', units)} deep (sd "
        f"{labels.amount(at.depth_sd_m, 'depth', units, 1)}), {water}; "
        f"{labels.rate(middle)} strikes per rod-hour expected (90 % interval "
        f"{labels.interval(low, high)})."
    )


def _step(kelvin: float, units: Any) -> str:
    """Write a difference of temperatures, which has no zero to shift."""
    size = kelvin * 1.8 if units.temperature == "F" else kelvin
    return f"{labels.number(size, 1)} {labels.unit_of('temperature', units)}"


def _verdict(told: Any) -> str:
    middle, low, high = told.bounds
    bounds = labels.interval(low, high, labels.ratio)
    if not told.changed:
        return "Nothing was asked for but the rod as it was."
    if told.beyond:
        return (
            f"The log cannot tell: hardly a rod-hour was fished at "
            f"{labels.amount(told.wished.depth_m, 'depth', told.units)}, so the rate there is "
            "the curve drawn on, not strikes counted."
        )
    if low <= 1.0 <= high:
        return (
            f"The log cannot tell whether that is better: {labels.ratio(middle)} times the rate "
            f"of the rod as it was (90 % interval {bounds})."
        )
    word = "better" if low > 1.0 else "worse"
    return (
        f"That is {word}: {labels.ratio(middle)} times the rate of the rod as it was (90 % "
        f"interval {bounds}), by depth, water, leader and gear together."
    )


def _cautions(told: Any) -> list[str]:
    rod = told.wished.fishes
    name = labels.gear_and_setting(rod.gear, rod.setting)
    found = []
    if told.untried:
        found += [f"The log never fished {name}: how well it fishes at equal depth is not known."]
    if (lure := told.was.fishes.lure) and not rod.lure:
        found += [f"The log never fished {lure} on {rod.gear}: asked is one that does not dive."]
    return found
