"""What is known of fish and crews before a log is read: curves of one peak, near where rods ran."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.bandrates import BoatHours, water_design
from analysis.rates.effects import weighted_quantile
from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.levels import refits
from analysis.rates.smooth import Smooth

Array = NDArray[np.float64]

WATER = ("depth_m", "lure_temp_c")
TROUGH = 0.1
"""Depth of a trough between two peaks, in log rate, at which a curve is less plausible by e."""
CROWD = 0.5
"""Power of a band's share of the rod-hours in how plausible it is that the band is the best."""
FEWEST_HOURS = 20.0
"""Rod-hours of a band for it to count among a draw's bands."""
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


def weigh(exposure: Exposure, fit: Fit, hours: BoatHours, rng: np.random.Generator) -> Plausible:
    """Weigh a fit's draws by what is known beforehand, and draw anew by the weights.

    Two things are known that a smooth does not know. One species likes one depth and one
    temperature: a curve that falls and rises again is a sign of few strikes, mostly at an edge
    where hardly a rod ran. And a crew fishes where it has reason to expect fish: that the best
    band is one where it hardly ever put a rod takes strikes to believe. Both only weigh: a log
    that says otherwise with many strikes is believed. Importance resampling (Smith & Gelfand
    1992, *The American Statistician* 46(2), 84-88, from memory), one draw from each equal part
    of the cumulated weights.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    hours : BoatHours
    rng : numpy.random.Generator

    Returns
    -------
    Plausible
        With the fit as it was where it has no curve of depth or temperature.
    """
    if fit.model.size == 0 or not any(isinstance(fit.model.term(n), Smooth) for n in WATER):
        return Plausible(fit=fit, kept=1.0, tempering=1.0)
    log_weight = -_trough(exposure, fit) / TROUGH + CROWD * _crowd(exposure, fit, hours)
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


def _crowd(exposure: Exposure, fit: Fit, hours: BoatHours) -> Array:
    """Log share of the rod-hours, of the busiest band's, that each draw's best band had.

    Hours of a band are smoothed over its neighbours; all days count alike.
    """
    table = exposure.table
    depth = table["depth_m"].to_numpy(dtype=float)
    known = np.isfinite(depth)
    fished = np.histogram(
        depth[known], hours.edges_m, weights=table["hours"].to_numpy(dtype=float)[known]
    )[0]
    count, bands, inner = hours.temp_c.shape
    design = water_design(fit.model, hours)
    told = np.ones((count, bands), dtype=bool)
    if fit.model.term("lure_temp_c") is not None:
        told = np.asarray(np.isfinite(hours.temp_c).all(axis=2))
    weight = hours.weight[:, None] * told
    rates = np.empty((bands, len(fit.draws)))
    for draws in refits(fit):
        rate = np.exp(design @ fit.draws[draws].T).reshape(count, bands, inner, -1).mean(axis=2)
        rates[:, draws] = np.einsum("hb,hbd->bd", weight, rate)
    total = weight.sum(axis=0)
    rates = rates / np.maximum(total, 1e-12)[:, None]
    judged = (fished >= FEWEST_HOURS) & (total >= 0.5 * hours.weight.sum())
    if judged.sum() < 2:
        return np.zeros(len(fit.draws))
    best = np.flatnonzero(judged)[np.argmax(rates[judged], axis=0)]
    smoothed = np.convolve(np.where(judged, fished, 0.0), [0.25, 0.5, 0.25], mode="same")
    return np.asarray(np.log(smoothed[best] / smoothed.max()))
