"""Owns what is counted of a part of a season: its bands, its hours of the day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.review.course.clock import rates_by_hour
from analysis.stats.cells import band_of
from analysis.stats.clustered import CountedRate, counted_rate
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part


def band_counts(counted: Counted, part: Part, edges_m: NDArray[np.float64]) -> pd.DataFrame:
    """Count strikes and rod-hours of a part by band of modelled depth.

    Returns
    -------
    DataFrame
        ``band_low_m, band_high_m, rod_hours, strikes, raw_rate``, from the shallowest band fished
        to the deepest.
    """
    band = band_of(counted.hourly.depth_m, edges_m)
    hours, strikes = _sums(counted, part, band, len(edges_m) - 1)
    used = np.flatnonzero(hours > 0)
    shown = slice(used[0], used[-1] + 1) if len(used) else slice(0, 0)
    return pd.DataFrame(
        {
            "band_low_m": edges_m[:-1],
            "band_high_m": edges_m[1:],
            "rod_hours": hours,
            "strikes": strikes.astype(int),
            "raw_rate": _over(strikes, hours),
        }
    )[shown].reset_index(drop=True)


def hour_counts(counted: Counted, part: Part) -> pd.DataFrame:
    """Count strikes and rod-hours of a part by local hour; see `rates_by_hour`."""
    return rates_by_hour(counted.hourly.table["hour"].to_numpy(), *_by_slice(counted, part))


def part_rate(counted: Counted, part: Part) -> CountedRate:
    """Return the plain rate of a part: its placed strikes over its rod-hours."""
    return _rate_where(counted, part, part.slices)


def _by_slice(
    counted: Counted, part: Part
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """Trip, rod-hours and placed strikes of every slice; those of no part have none."""
    table = counted.hourly.table
    row = counted.strikes["row"].to_numpy()
    struck = np.bincount(row[part.strikes & (row >= 0)], minlength=len(table))
    return (
        table["key"].to_numpy(),
        np.where(part.slices, table["hours"].to_numpy(), 0.0),
        np.where(part.slices, struck, 0).astype(float),
    )


def _rate_where(counted: Counted, part: Part, slices: NDArray[np.bool_]) -> CountedRate:
    key = counted.hourly.table["key"].to_numpy()
    hours, strikes = _sums(counted, replace(part, slices=slices), key, len(counted.trips))
    return counted_rate(strikes, hours)


def _sums(
    counted: Counted, part: Part, group: NDArray[np.integer], count: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sum rod-hours and placed strikes of a part by group; a negative group is none."""
    here = part.slices & (group >= 0)
    hours = np.bincount(
        group[here], counted.hourly.table["hours"].to_numpy()[here], minlength=count
    )
    row = counted.strikes["row"].to_numpy()
    struck = row[part.strikes & (row >= 0)]
    struck = struck[here[struck]]
    return hours.astype(float), np.bincount(group[struck], minlength=count).astype(float)


def _over(strikes: NDArray[np.float64], hours: NDArray[np.float64]) -> NDArray[np.float64]:
    nothing = np.full(len(hours), np.nan)
    return np.asarray(np.divide(strikes, hours, out=nothing, where=hours > 0))
