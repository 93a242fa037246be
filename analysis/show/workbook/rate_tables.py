"""Owns the tables that argue the catch rates: slices, bands as counted, doubts of depth."""

from __future__ import annotations

import pandas as pd

from analysis import labels
from analysis.result_rows import records
from analysis.show.base.tables import Table, from_rows
from analysis.show.workbook.rows import OfBand, OfGear, OfSlice
from analysis.units import Units

MOST_SLICES = 6


def slices(table: pd.DataFrame, units: Units) -> Table:
    """Return the first slices of a season: which rod, for how long, how deep, what struck.

    Parameters
    ----------
    table : pandas.DataFrame
        `analysis.workbook.Season.table`.
    units : Units
    """
    rows = [
        (
            row.trip,
            row.rod,
            labels.gear_and_setting(row.gear, row.setting),
            labels.number(60 * row.hours),
            labels.number(row.strikes),
            labels.give(row.depth_m, row.depth_sd_m, "depth", units)
            if row.has_depth
            else "unknown",
        )
        for row in records(OfSlice, table.head(MOST_SLICES))
    ]
    headings = ("Trip", "Rod", "Gear and setting", "Minutes", "Strikes", "Depth of the lure")
    caption = (
        f"The first slices of {labels.number(len(table))}; ± spans 90 % of where a lure may have "
        "been"
    )
    return from_rows(
        caption, headings, rows, numbers=headings[3:], nothing="No rod-hour is in this log."
    )


def as_counted(bands: pd.DataFrame, units: Units) -> Table:
    """Return strikes, rod-hours and their plain rate by depth band over the season.

    Parameters
    ----------
    bands : pandas.DataFrame
        The result table ``bands``.
    units : Units
    """
    whole = bands[bands["period"] == "season"]
    rows = [
        (
            labels.band(row.band_low_m, row.band_high_m, units),
            labels.number(row.rod_hours),
            labels.number(row.strikes),
            labels.rate(row.raw_rate),
        )
        for row in records(OfBand, whole)
    ]
    headings = ("Depth", "Rod-hours", "Strikes", "Strikes per rod-hour, as counted")
    return from_rows(
        "Where the hours were, and the strikes: by modelled depth, nothing yet compared",
        headings,
        rows,
        numbers=headings[1:],
        nothing="No band can be counted: the log holds no rod-hours with a known depth.",
    )


def depth_doubts(table: pd.DataFrame, units: Units) -> Table:
    """Return how deep the lures of each gear ran, and how sure that is.

    Parameters
    ----------
    table : pandas.DataFrame
        `analysis.workbook.Season.table`.
    units : Units
    """
    known = table[table["depth_m"].notna()]
    by_gear = known.groupby("gear", observed=True).agg(
        hours=("hours", "sum"), depth_m=("depth_m", "median"), depth_sd_m=("depth_sd_m", "median")
    )
    rows = [
        (
            row.gear,
            labels.number(row.hours),
            labels.give(row.depth_m, row.depth_sd_m, "depth", units),
        )
        for row in records(OfGear, by_gear.reset_index().astype({"gear": object}))
    ]
    headings = ("Gear", "Rod-hours", "Depth of its lures")
    return from_rows(
        "How deep each gear ran, by its middle slice; ± spans 90 % of where its lure may have been",
        headings,
        rows,
        numbers=headings[1:],
        nothing="No depth could be worked out in this log.",
    )
