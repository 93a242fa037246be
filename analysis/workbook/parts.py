"""Owns what is worked out of a part of a season: its counts, its bands, its hours of the day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer, answer
from analysis.decision.caps import Cap
from analysis.rates.exposure import Exposure
from analysis.rates.model_averaging import Member
from analysis.review.course.clock import rates_by, rates_by_hour
from analysis.season import temperature_of
from analysis.stats.cells import band_of
from analysis.stats.clustered import CountedRate, counted_rate
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part

REFITS = 6
"""Fewer than the review's 16: somebody waits for it."""
PICKED = Cap(code="picked")
"""Why no verdict on a part is clear."""


def exposure_of(counted: Counted, part: Part) -> Exposure:
    """Return the slices and strikes of a part, ready to fit."""
    placed = counted.strikes["row"].to_numpy() >= 0
    return counted.hourly.with_strikes(part.strikes[placed]).of_trips(part.slices)


def part_answer(
    counted: Counted,
    part: Part,
    whole: Answer,
    seed: int,
    edges_m: NDArray[np.float64] | None = None,
) -> Answer | None:
    """Judge the bands of a part by the season's fullest model, fitted anew to its strikes.

    One model, not the season's mixture: its curves shrink away where a part's strikes do not ask
    for them, and a mixture weighed by all strikes says nothing of a few.

    Returns
    -------
    Answer or None
        With the season's bands as its only period; None where the part has no rod-hours, or no
        strike in them. Its verdict is never ``clear``: see `PICKED`.
    """
    exposure = exposure_of(counted, part)
    if not len(exposure.table) or not len(exposure.strike_row):
        return None
    alone = {"fullest": Member(model=whole.choice.model, weight=1.0)}
    return answer(
        exposure,
        temperature_of(counted.seasons),
        whole.hours.edges_m if edges_m is None else edges_m,
        np.random.default_rng([seed, 3]),
        choice=replace(whole.choice, members=alone),
        checked=False,
        depth_unit=counted.units.depth,
        log_caps=(PICKED, *whole.log_caps),
        refits=REFITS,
        whole_only=True,
    )


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


def area_counts(counted: Counted, part: Part) -> pd.DataFrame:
    """Count strikes and rod-hours of a part by area, with the rate's 90 % interval.

    Returns
    -------
    DataFrame
        As `rates_by_hour`, ``area`` first; most rod-hours first.
    """
    area = counted.hourly.table["area"]
    names = [(code, name or "not logged") for code, name in enumerate(area.cat.categories)]
    table = rates_by("area", names, area.cat.codes.to_numpy(), *_by_slice(counted, part))
    return table[table["rod_hours"] > 0].sort_values(
        "rod_hours", ascending=False, ignore_index=True
    )


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
