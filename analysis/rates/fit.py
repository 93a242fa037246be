"""Fit the catch rate: curves chosen, depth and smoothing uncertainty carried, trips clustered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.model import RateModel
from analysis.rates.risk import RiskSets, rods_at_strikes
from analysis.rates.smoothing import (
    LOG_SD_RANGE,
    Block,
    Smoothing,
    choose_smoothing,
    penalty_matrix,
)
from analysis.rates.strata import Maximum, Strata, group, maximise

Array = NDArray[np.float64]

REFITS = 16
DRAWS_PER_REFIT = 25
STEP = 0.05
SPREAD = np.sqrt(3.0)
"""Standard deviations at which the three-point Gauss-Hermite rule looks."""
MOST_CHANGE = 2.0


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A fitted catch-rate model and draws of its coefficients.

    Attributes
    ----------
    model : RateModel
    status : str
        ``fitted``, or why there is no answer (``no strikes``, ``no moment with rods in
        different water``, ``did not converge``).
    coef : (size,) array
        Mean of the draws.
    draws : (draws, size) array
        Draws that carry sampling (clustered by trip), smoothing and depth uncertainty.
    error_draws : (draws, errors) array
        Draws of the shared depth errors, in standard deviations of their prior.
    refit : (draws,) int array
        Which refit (draw of the smoothing) each coefficient draw comes from.
    smoothing : Smoothing or None
    strikes, moments, trips : int
        Strikes the fit rests on, moments at which rods in different water were down, and trips.
    dispersion : float
        Trip-clustered score variance over what the model says it should be; 1 where strikes fall
        as a Poisson process would have them.
    converged : bool
    strata : str
        What rods are compared with, in words.
    """

    model: RateModel
    status: str
    coef: Array
    draws: Array
    error_draws: Array
    refit: NDArray[np.intp]
    smoothing: Smoothing | None
    strikes: int
    trips: int
    dispersion: float
    converged: bool
    strata: str = "given the rods down at the same time"

    @property
    def formula(self) -> str:
        """The model in words of a formula."""
        return f"{self.model.formula}; {self.strata}"


def risk_sets(exposure: Exposure, model: RateModel) -> RiskSets:
    """Find the rods down at each strike, leaving out rods whose covariates are missing.

    Leaving a rod out of a moment's comparison is harmless: the chances among the others keep
    their ratios. A moment whose striking rod is left out is dropped with it.
    """
    sets = rods_at_strikes(
        exposure.trip,
        exposure.start,
        exposure.end,
        exposure.strike_row,
        exposure.strike_time,
    )
    complete = exposure.complete(model)
    moment_kept = complete[exposure.strike_row]
    keep = complete[sets.row] & moment_kept[sets.moment]
    return RiskSets(row=sets.row[keep], moment=sets.moment[keep], hit=sets.hit[keep])


@dataclass(frozen=True, kw_only=True)
class Rods:
    """The rods down at each strike, able to give their design at any shift of the depths."""

    exposure: Exposure
    model: RateModel
    sets: RiskSets
    cluster: NDArray[np.intp]

    @property
    def loadings(self) -> Array:
        """Loadings of the shared depth errors on each rod."""
        return self.exposure.loadings[self.sets.row]

    def design(self, log_shift: Array, layer_shift: Array | float = 0.0) -> Array:
        """Design matrix with log depth, and the layers beyond it, shifted."""
        if not self.model.size:
            return np.zeros((len(self.sets.row), 0))
        values = self.exposure.values(self.model, self.sets.row, log_shift, layer_shift)
        return self.model.design(values)

    def linear(self, coef: Array, error: Array) -> tuple[Array, Array]:
        """Design with the shared depth errors as further columns, linear about ``error``.

        Each set's own depth error, and the height of the water's layers on the day, are averaged
        over: given that one strike came, the chance of each rod is the mean of its rate over
        them, divided by the sum of these means. The second array adds to the log rate.
        """
        shift = self.loadings @ error
        there = self.design(shift)
        slope = (self.design(shift + STEP) - self.design(shift - STEP)) @ coef / (2 * STEP)
        here = there @ coef
        own = SPREAD * self.exposure.set_error_sd[self.sets.row]
        layer = SPREAD * self.exposure.layer_doubt[self.sets.row]
        blur = np.zeros(len(here))
        if own.any():
            blur += _log_mean([self.design(shift + s) @ coef - here for s in (own, -own)])
        if layer.any() and self.model.term("lure_temp_c") is not None:
            blur += _log_mean([self.design(shift, s) @ coef - here for s in (layer, -layer)])
        errors = slope[:, None] * self.loadings
        return np.column_stack([there, errors]), blur - errors @ error

    def strata(self, coef: Array, error: Array) -> Strata:
        """Rows of the fit by moment; see :meth:`linear`."""
        design, offset = self.linear(coef, error)
        return group(design, self.sets.hit, offset, self.sets.moment, self.cluster)


def _log_mean(changes: list[Array]) -> Array:
    """Log mean of ``exp`` of a change under a normal error, by three-point Gauss-Hermite."""
    up, down = (np.exp(np.clip(change, -MOST_CHANGE, MOST_CHANGE)) for change in changes)
    return np.asarray(np.log(2 / 3 + (up + down) / 6))


def rods_of(exposure: Exposure, model: RateModel) -> Rods:
    """Gather the rods down at each strike whose covariates the model needs are known."""
    sets = risk_sets(exposure, model)
    _, cluster = np.unique(exposure.trip[sets.row], return_inverse=True)
    return Rods(exposure=exposure, model=model, sets=sets, cluster=cluster)


def _settle(
    rods: Rods, penalty: Array, coef: Array, error: Array, *, most_rounds: int = 8
) -> tuple[Maximum, Strata]:
    """Fit curves and shared depth errors together, linearising anew until they settle."""
    size = rods.model.size
    for _ in range(most_rounds):
        data = rods.strata(coef, error)
        found = maximise(data, penalty, np.concatenate([coef, error]))
        moved = np.max(np.abs(found.coef[size:] - error), initial=0.0)
        coef, error = found.coef[:size], found.coef[size:]
        if moved < 0.02:
            break
    return found, data


def fit_rate(exposure: Exposure, model: RateModel, rng: np.random.Generator) -> Fit:
    """Fit a model to the rods down at each strike.

    Errors of depth that all sets of a gear and setting share are unknowns of the fit, with their
    physical prior: a gear that runs deeper than modelled takes its strikes at too shallow a
    modelled depth, and the other rods show it. Drawing them without regard to the strikes would
    blur the curve once more. Each set's own error is averaged over. Draws of the smoothing are
    refitted and coefficients drawn about each refit: the mixture carries all of it.

    Parameters
    ----------
    exposure : Exposure
    model : RateModel
    rng : numpy.random.Generator

    Returns
    -------
    Fit
        Always: where nothing can be fitted the draws come from the prior and ``status`` says why.
    """
    return fit_rods(rods_of(exposure, model), rng)


def fit_rods(rods: Rods, rng: np.random.Generator, *, refits: int = REFITS) -> Fit:
    """Fit the model of some rods with a number of refits; see :func:`fit_rate`."""
    model = rods.model
    errors = rods.loadings.shape[1]
    if rods.sets.hit.sum() == 0 or np.bincount(rods.sets.moment).max() < 2 or model.size == 0:
        return _prior_only(rods, rng, refits)
    fixed = Block(name="shared depth errors", columns=slice(model.size, None), scale=1.0)
    coef, error = np.zeros(model.size), np.zeros(errors)
    log_sd = None
    for _ in range(3):
        data = rods.strata(coef, error)
        chosen = choose_smoothing(data, model.blocks, log_sd, known=fixed)
        log_sd = chosen.log_sd
        penalty = penalty_matrix(model.blocks, chosen.log_sd, model.size + errors, known=fixed)
        found, data = _settle(rods, penalty, chosen.maximum.coef[: model.size], error)
        moved = np.max(np.abs(found.coef[model.size :] - error), initial=0.0)
        coef, error = found.coef[: model.size], found.coef[model.size :]
        if moved < 0.1:
            break
    values, vectors = np.linalg.eigh(chosen.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    draws, origin, dispersions = [], [], []
    converged = found.converged
    for refit in range(refits):
        log_sd = chosen.log_sd + root @ rng.standard_normal(len(values))
        log_sd = np.clip(log_sd, *LOG_SD_RANGE)
        penalty = penalty_matrix(model.blocks, log_sd, model.size + errors, known=fixed)
        found, data = _settle(rods, penalty, coef, error, most_rounds=3)
        converged &= found.converged
        covariance, dispersion = clustered_covariance(found, penalty)
        draws.append(normal_draws(found.coef, covariance, DRAWS_PER_REFIT, rng))
        origin.append(np.full(DRAWS_PER_REFIT, refit))
        dispersions.append(dispersion)
    stacked = np.concatenate(draws)
    return Fit(
        model=model,
        status="fitted" if converged else "did not converge",
        coef=stacked[:, : model.size].mean(axis=0),
        draws=stacked[:, : model.size],
        error_draws=stacked[:, model.size :],
        refit=np.concatenate(origin),
        smoothing=chosen,
        strikes=int(data.count.sum()),
        trips=len(np.unique(data.cluster)),
        dispersion=float(np.mean(dispersions)),
        converged=converged,
    )


def clustered_covariance(found: Maximum, penalty: Array) -> tuple[Array, float]:
    """Covariance of the coefficients, and the dispersion that trips show.

    ``A^-1 (d H + P) A^-1`` with ``H`` the information, ``P`` the penalty, ``A = H + P``: the
    Bayesian covariance ``A^-1`` of a penalised fit (Wood 2006, *Generalized Additive Models*,
    sec. 4.8, from memory), which covers its own smoothing bias, with the information scaled by
    ``d``: the clustered outer product of scores over the information, averaged over directions by
    its trace, small-sample corrected, and never below 1. A season has few trips with fish; one
    number stands on all of them where a whole sandwich would be mostly noise.
    """
    inverse = np.linalg.inv(found.information + penalty)
    clusters = len(found.scores)
    used = float(np.trace(inverse @ found.information))
    correction = clusters / max(clusters - used, 0.5 * clusters, 1.0)
    meat = correction * found.scores.T @ found.scores
    dispersion = float(np.trace(inverse @ meat)) / max(used, 1e-9)
    inner = max(1.0, dispersion) * found.information
    covariance = inverse @ (inner + penalty) @ inverse
    return covariance, dispersion


def normal_draws(mean: Array, covariance: Array, count: int, rng: np.random.Generator) -> Array:
    """Draw from a normal distribution; directions without variance stay put."""
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    return np.asarray(mean + rng.standard_normal((count, len(mean))) @ root.T)


def _prior_only(rods: Rods, rng: np.random.Generator, refits: int) -> Fit:
    """Draws from the prior: what is known where no strike compares two rods."""
    model, errors = rods.model, rods.loadings.shape[1]
    count = DRAWS_PER_REFIT * refits
    sd = np.zeros(model.size)
    for block in model.blocks:
        sd[block.columns] = block.scale
    status = "no moment with rods in different water"
    if rods.sets.hit.sum() == 0:
        known = len(rods.exposure.strike_row) == 0
        status = "no strikes" if known else "no strike whose depth and water are known"
    return Fit(
        model=model,
        status=status,
        coef=np.zeros(model.size),
        draws=sd * rng.standard_normal((count, model.size)),
        error_draws=rng.standard_normal((count, errors)),
        refit=np.repeat(np.arange(refits), DRAWS_PER_REFIT),
        smoothing=None,
        strikes=0,
        trips=0,
        dispersion=1.0,
        converged=True,
    )
