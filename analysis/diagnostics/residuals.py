"""What a fit left over: whether strikes beyond the expected go with the water, time or speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from analysis.rates.exposure import Exposure
from analysis.rates.trip_rates import Levels

Array = NDArray[np.float64]

PARTS = 10
FEWEST_SLICES = 50
FEWEST_CELLS = 5
RANDOMISATIONS = 11
"""Times that residuals are randomised; the middle p counts, so that no one draw decides."""
END = 1e-9
"""Least chance, and least chance of the rest, that a residual stands for."""


def residual_chances(
    exposure: Exposure, levels: Levels, rng: np.random.Generator
) -> dict[str, float]:
    """Test randomised quantile residuals against the water, the time and the speed.

    Dunn & Smyth 1996, *J. Comput. Graph. Stat.* 5(3), 236-244 (from memory). Slices are summed to
    cells of a trip and a tenth of the covariate; an analysis of variance tells whether the tenths'
    means differ. The time of day is UTC: its tenths are those of the boat's own clock, but
    for a clock change in the season or boats of several time zones.

    Parameters
    ----------
    exposure : Exposure
    levels : Levels
        Says how many strikes each slice was expected to have.
    rng : numpy.random.Generator

    Returns
    -------
    dict
        Covariate in words to the chance (p) of means as different as these, were the model right;
        NaN for covariates that hardly vary or were hardly logged.
    """
    table = exposure.table
    covariates = {
        "depth": table["depth_m"].to_numpy(dtype=float),
        "water temperature": table["lure_temp_c"].to_numpy(dtype=float),
        "time of day": (exposure.start + exposure.end) / 2 / 3.6e9 % 24,
        "day of the season": table["day"].to_numpy(dtype=float),
        "speed": table["speed_mps"].to_numpy(dtype=float),
    }
    return {
        name: _chance(exposure, levels.expected, values, rng) for name, values in covariates.items()
    }


def _chance(exposure: Exposure, expected: Array, values: Array, rng: np.random.Generator) -> float:
    known = np.isfinite(values) & (expected > 0)
    if known.sum() < FEWEST_SLICES or np.ptp(values[known]) == 0:
        return np.nan
    edges = np.unique(np.quantile(values[known], np.linspace(0, 1, PARTS + 1)))
    part = np.clip(np.searchsorted(edges, values[known], side="right") - 1, 0, len(edges) - 2)
    cells, cell = np.unique(exposure.trip[known] * len(edges) + part, return_inverse=True)
    mean = np.bincount(cell, weights=expected[known])
    struck = np.bincount(cell, weights=exposure.table["strikes"].to_numpy()[known])
    low, high = stats.poisson.cdf(struck - 1, mean), stats.poisson.cdf(struck, mean)
    chance = low[:, None] + rng.random((len(mean), RANDOMISATIONS)) * (high - low)[:, None]
    residual = stats.norm.ppf(np.clip(chance, END, 1 - END))
    place = cells % len(edges)
    groups = [residual[place == one] for one in np.unique(place)]
    groups = [group for group in groups if len(group) >= FEWEST_CELLS]
    if len(groups) < 2:
        return np.nan
    return float(np.median(stats.f_oneway(*groups).pvalue))
