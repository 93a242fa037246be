"""Owns the tables of gear: gears at one depth, hook-ups, rods that tangled together."""

from math import isnan, nan

import pandas as pd

from analysis import labels
from analysis.result_rows import GearEffect, Hookup, LureEffect, Tangled, records
from analysis.show.base.tables import Table, from_rows
from analysis.units import Units


def gears(frame: pd.DataFrame, units: Units) -> Table:
    """Return what each gear lets out for one depth, and its catch rate there, all else equal.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``gear_effects``; gears told apart stand out.
    units : Units
        Units to write lengths and depths in.
    """
    gears = records(GearEffect, frame)
    rows = [
        (
            labels.gear_and_setting(row.gear, row.setting),
            "–" if isnan(row.line_out_m) else labels.amount(row.line_out_m, "length", units),
            labels.number(row.rod_hours),
            labels.ratio(row.ratio),
            "–" if row.low == row.high else labels.interval(row.low, row.high, labels.ratio),
            row.reference,
        )
        for row in gears
    ]
    depth = gears[0].depth_m if gears else nan
    at = "" if isnan(depth) else f" at {labels.amount(depth, 'depth', units)}"
    headings = ("Gear", f"Line-out{at}", "Rod-hours", "Ratio", "90 % interval", "Against")
    return from_rows(
        "Catch rate of gears and settings at equal depth, speed and water",
        headings,
        rows,
        numbers=headings[1:5],
        named=tuple(row.told_apart for row in gears),
        nothing="Gears could not be compared.",
    )


def lures(frame: pd.DataFrame) -> Table:
    """Return the catch rate of each lure, all else equal.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``lure_effects``; lures told apart stand out.
    """
    lures = records(LureEffect, frame)
    rows = [
        (
            row.lure,
            labels.number(row.rod_hours),
            labels.number(row.strikes),
            labels.ratio(row.ratio),
            "–" if row.low == row.high else labels.interval(row.low, row.high, labels.ratio),
            row.reference,
        )
        for row in lures
    ]
    headings = ("Lure", "Rod-hours", "Strikes", "Ratio", "90 % interval", "Against")
    return from_rows(
        "Catch rate of lures at equal depth, water and gear",
        headings,
        rows,
        numbers=headings[1:5],
        named=tuple(row.told_apart for row in lures),
        nothing="Lures were not compared; the command's option --lures does.",
    )


def hookups(frame: pd.DataFrame) -> Table:
    """Return the share of strikes that were hooked, by what was towed.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``hookups``.
    """
    rows = [
        (
            f"{row.term}: {row.level or 'not logged'}",
            labels.number(row.strikes),
            labels.number(row.hooked),
            labels.percent(row.hookup_rate),
            f"{labels.percent(row.low)} to {labels.percent(row.high)}",
        )
        for row in records(Hookup, frame)
    ]
    headings = ("By", "Strikes", "Hooked", "Share", "90 % interval")
    return from_rows(
        "Hooked of those that struck",
        headings,
        rows,
        numbers=headings[1:],
        nothing="No strike has an outcome in the log.",
    )


def tangled(frame: pd.DataFrame) -> Table:
    """Return the pairs of rods that tangled at one time; those beyond chance stand out.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``tangled``.
    """
    pairs = records(Tangled, frame)[:10]
    rows = [
        (
            f"{row.boat}: {row.rod_a} and {row.rod_b}",
            labels.number(row.tangles),
            labels.number(row.by_chance, 1),
            labels.number(row.hours_together),
        )
        for row in pairs
    ]
    headings = ("Rods", "Tangles of both", "By chance", "Hours together")
    return from_rows(
        "Rods that tangled at the same time",
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(row.beyond_chance for row in pairs),
        nothing="No two rods tangled at the same time.",
    )
