"""What is known of fish before a log is read: a curve is likely rounded, with one peak."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from analysis.rates.effects import weighted_quantile
from analysis.rates.exposure import Exposure
from analysis.rates.fit import DRAWS_PER_REFIT, REFITS, Fit
from analysis.rates.terms import RateModel
from analysis.stats.pspline import Smooth
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

WATER = ("depth_m", "lure_temp_c")
ROUNDED = 0.75
"""Chance, before any strike, that a curve is rounded: that it is not of several kinds of fish
(assumed, no source)."""
HOLLOW = 0.1
"""Depth of a hollow under a chord of a rounded curve, in log rate, at which it is less plausible
by e."""
FEWEST_LEFT = 0.1
"""Least effective share of the draws: where less would be left, a few would stand for all."""
POINTS = 60
PRIOR_CURVES = 1000
"""Curves drawn before any strike, to know how deep their hollows usually are."""
DRAWS = REFITS * DRAWS_PER_REFIT
"""Draws that are kept."""


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


@one_thread
def weigh(exposure: Exposure, fit: Fit, rng: np.random.Generator, draws: int = DRAWS) -> Plausible:
    """Weigh a fit's draws by how nearly their curves are rounded, and keep some by the weights.

    One species likes one depth and one temperature, and likes them less the farther away: the
    log of its rate falls off ever faster, as that of a bell does (it is concave). A curve that
    falls and rises again, or that turns up at an edge where hardly a rod ran, is a sign of few
    strikes, or of two kinds of fish. Each curve is either rounded, its prior then times
    ``exp(-h / HOLLOW)`` with ``h`` its deepest hollow, or of any shape, as it was fitted; the
    draws know how likely each is. By Bayes' rule a draw weighs

        ROUNDED * exp(-h / HOLLOW) / usual + 1 - ROUNDED

    for each of its curves, with ``usual`` the mean of ``exp(-h / HOLLOW)`` before any strike: an
    encompassing prior (Klugkist, Kato & Hoijtink 2005, *Statistica Neerlandica* 59(1), 57-69, from
    memory). Where the log shows two peaks, no draw of them is held against another. A model without
    a curve has a flat one, which counts as rounded. Where the rods
    ran is no part of it, since effort must not stand for fish. Importance resampling (Smith &
    Gelfand 1992, *The American Statistician* 46(2), 84-88, from memory), one draw from each equal
    part of the cumulated weights.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    rng : numpy.random.Generator
    draws : int
        To keep, at the most.

    Returns
    -------
    Plausible
    """
    log_weight = _log_weight(exposure, fit)
    tempering = 1.0
    weight = _normalised(log_weight)
    while _kept(weight) < FEWEST_LEFT:
        tempering *= 0.8
        weight = _normalised(tempering * log_weight)
    wanted = min(draws, len(weight))
    place = (rng.random(wanted) + np.arange(wanted)) / wanted
    chosen = np.searchsorted(np.cumsum(weight), place).clip(max=len(weight) - 1)
    kept = fit.draws[chosen]
    weighed = replace(
        fit,
        coef=kept.mean(axis=0),
        draws=kept,
        error_draws=fit.error_draws[chosen],
        refit=fit.refit[chosen],
        background=fit.background[chosen],
    )
    return Plausible(fit=weighed, kept=_kept(weight), tempering=tempering)


def _normalised(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _kept(weight: Array) -> float:
    """Effective share of the draws (Kish): 1 where all weigh the same."""
    return float(1.0 / (len(weight) * np.sum(weight**2)))


def _log_weight(exposure: Exposure, fit: Fit) -> Array:
    """Log weight of each draw by its curves of the water, where rods ran."""
    hours = exposure.table["hours"].to_numpy(dtype=float)
    found = np.zeros(len(fit.draws))
    for name in WATER:
        term = fit.model.term(name)
        if not isinstance(term, Smooth):
            continue
        values = exposure.table[name].to_numpy(dtype=float)
        known = np.isfinite(values)
        low, high = (weighted_quantile(values[known], hours[known], q) for q in (0.002, 0.998))
        columns = fit.model.columns_of(name)
        rounded = _roundness(term.design(np.linspace(low, high, POINTS)) @ fit.draws[:, columns].T)
        usual = _usual_roundness(replace(term, name=WATER[0], low=-1.0, high=1.0))
        found += np.log(ROUNDED * rounded / usual + 1.0 - ROUNDED)
    return found


def _roundness(curve: Array) -> Array:
    """How plausible the deepest hollow of each column is in a rounded curve: 1 without any."""
    return np.asarray(np.exp(-np.max(_rounded(curve) - curve, axis=0) / HOLLOW))


@lru_cache
def _usual_roundness(smooth: Smooth) -> float:
    """Mean roundness of a smooth's curves before any strike, their standard deviations drawn too.

    Those are half-Cauchy up to the largest that strikes may choose, as `RateModel.blocks` has them.
    """
    rng = np.random.default_rng(0)  # of these curves only, so that a log has one answer
    coef = np.empty((sum(smooth.blocks), PRIOR_CURVES))
    for block in RateModel(terms=(smooth,)).blocks:
        spread = np.tan(rng.random(PRIOR_CURVES) * np.arctan(block.most / block.scale))
        normal = rng.standard_normal((len(coef[block.columns]), PRIOR_CURVES))
        coef[block.columns] = block.scale * spread * normal
    curves = smooth.design(np.linspace(smooth.low, smooth.high, POINTS)) @ coef
    return float(_roundness(curves).mean())


def _rounded(curve: Array) -> Array:
    """Least concave curve above each column: its steps are the decreasing regression of theirs.

    Barlow, Bartholomew, Bremner & Brunk 1972, *Statistical Inference under Order Restrictions*,
    sec. 1.2 (from memory).
    """
    steps = [isotonic_regression(step, increasing=False).x for step in np.diff(curve, axis=0).T]
    return np.asarray(curve[0] + np.cumsum(np.insert(np.transpose(steps), 0, 0.0, axis=0), axis=0))
