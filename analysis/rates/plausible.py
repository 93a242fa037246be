"""What is known of fish before a log is read: a curve has one peak."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.effects import weighted_quantile
from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.smooth import Smooth

Array = NDArray[np.float64]

WATER = ("depth_m", "lure_temp_c")
TROUGH = 0.1
"""Depth of a trough between two peaks, in log rate, at which a curve is less plausible by e."""
FEWEST_LEFT = 0.1
"""Least effective share of the draws: where less would be left, the log speaks against what was
thought plausible, and is believed."""
POINTS = 60


@dataclass(frozen=True, kw_only=True)
class Plausible:
    """A fit whose draws were weighed, and how far that went.

    Attributes
    ----------
    fit : Fit
    kept : float
        Effective share of the draws that the weights left.
    tempering : float
        Power the weights were taken to; below 1 where the log speaks against them.
    """

    fit: Fit
    kept: float
    tempering: float


def weigh(exposure: Exposure, fit: Fit, rng: np.random.Generator) -> Plausible:
    """Weigh a fit's draws by how nearly their curves have one peak, and draw anew by the weights.

    One species likes one depth and one temperature: a curve that falls and rises again is a sign
    of few strikes, mostly at an edge where hardly a rod ran. This only weighs: a log that says
    otherwise with many strikes is believed. Where the rods ran is no part of it, since effort
    must not stand for fish. Importance resampling (Smith & Gelfand 1992, *The American
    Statistician* 46(2), 84-88, from memory), one draw from each equal part of the cumulated
    weights.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    rng : numpy.random.Generator

    Returns
    -------
    Plausible
        With the fit as it was where it has no curve of depth or temperature.
    """
    if fit.model.size == 0 or not any(isinstance(fit.model.term(n), Smooth) for n in WATER):
        return Plausible(fit=fit, kept=1.0, tempering=1.0)
    log_weight = -_trough(exposure, fit) / TROUGH
    tempering = 1.0
    weight = _normalised(log_weight)
    while _kept(weight) < FEWEST_LEFT:
        tempering *= 0.8
        weight = _normalised(tempering * log_weight)
    place = (rng.random(len(weight)) + np.arange(len(weight))) / len(weight)
    chosen = np.searchsorted(np.cumsum(weight), place).clip(max=len(weight) - 1)
    draws = fit.draws[chosen]
    weighed = replace(
        fit,
        coef=draws.mean(axis=0),
        draws=draws,
        error_draws=fit.error_draws[chosen],
        refit=fit.refit[chosen],
    )
    return Plausible(fit=weighed, kept=_kept(weight), tempering=tempering)


def _normalised(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _kept(weight: Array) -> float:
    """Effective share of the draws (Kish): 1 where all weigh the same."""
    return float(1.0 / (len(weight) * np.sum(weight**2)))


def _trough(exposure: Exposure, fit: Fit) -> Array:
    """Deepest trough of each draw's curves, where rods ran, below the lower of the peaks beside."""
    hours = exposure.table["hours"].to_numpy(dtype=float)
    deepest = np.zeros(len(fit.draws))
    for name in WATER:
        term = fit.model.term(name)
        if not isinstance(term, Smooth):
            continue
        values = exposure.table[name].to_numpy(dtype=float)
        known = np.isfinite(values)
        low, high = (weighted_quantile(values[known], hours[known], q) for q in (0.002, 0.998))
        at = term.design(np.linspace(low, high, POINTS))
        curve = at @ fit.draws[:, fit.model.columns_of(name)].T
        before = np.maximum.accumulate(curve, axis=0)
        after = np.maximum.accumulate(curve[::-1], axis=0)[::-1]
        deepest = np.maximum(deepest, np.max(np.minimum(before, after) - curve, axis=0))
    return deepest
