"""Owns the tables of gear: gears at one depth, hook-ups, rods that tangled together."""

import pandas as pd

from analysis import labels
from analysis.show.base.rows import records
from analysis.show.base.tables import Table, from_rows
from analysis.show.season.gear_figures import gear_and_setting
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
    rows = [
        (
            gear_and_setting(row.gear, row.setting),
            "–" if pd.isna(row.line_out_m) else labels.amount(row.line_out_m, "length", units),
            labels.number(row.rod_hours),
            labels.ratio(row.ratio),
            "–" if row.low == row.high else labels.interval(row.low, row.high, labels.ratio),
            str(row.reference),
        )
        for row in records(frame)
    ]
    depth = float("nan") if frame.empty else frame["depth_m"].iloc[0]
    at = "" if pd.isna(depth) else f" at {labels.amount(depth, 'depth', units)}"
    headings = ("Gear", f"Line-out{at}", "Rod-hours", "Ratio", "90 % interval", "Against")
    return from_rows(
        "Catch rate of gears and settings at equal depth, speed and water",
        headings,
        rows,
        numbers=headings[1:5],
        named=() if frame.empty else tuple(frame["told_apart"].astype(bool)),
        nothing="Gears could not be compared.",
    )


def lures(frame: pd.DataFrame) -> Table:
    """Return the catch rate of each lure, all else equal.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``lure_effects``; lures told apart stand out.
    """
    rows = [
        (
            str(row.lure),
            labels.number(row.rod_hours),
            labels.number(row.strikes),
            labels.ratio(row.ratio),
            "–" if row.low == row.high else labels.interval(row.low, row.high, labels.ratio),
            str(row.reference),
        )
        for row in records(frame)
    ]
    headings = ("Lure", "Rod-hours", "Strikes", "Ratio", "90 % interval", "Against")
    return from_rows(
        "Catch rate of lures at equal depth, water and gear",
        headings,
        rows,
        numbers=headings[1:5],
        named=() if frame.empty else tuple(frame["told_apart"].astype(bool)),
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
        for row in records(frame)
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
    rows = [
        (
            f"{row.boat}: {row.rod_a} and {row.rod_b}",
            labels.number(row.tangles),
            labels.number(row.by_chance, 1),
            labels.number(row.hours_together),
        )
        for row in records(frame.head(10))
    ]
    headings = ("Rods", "Tangles of both", "By chance", "Hours together")
    return from_rows(
        "Rods that tangled at the same time",
        headings,
        rows,
        numbers=headings[1:],
        named=() if frame.empty else tuple(frame.head(10)["beyond_chance"].astype(bool)),
        nothing="No two rods tangled at the same time.",
    )
