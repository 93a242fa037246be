"""How much each block of coefficients may vary: chosen by marginal likelihood, with its doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from analysis.stats.conditional import Maximum, Strata, climb, seen_from, third_moment
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

CLOSE = 1e-9
"""Gain of the log-likelihood at which a fit on the way has converged."""
TIGHT = 1e-12
"""The same of the fit at its end."""
MOST_DOUBT = 1.5
"""Largest standard deviation of a log standard deviation."""


@dataclass(frozen=True, kw_only=True)
class Block:
    """Coefficients that share one prior standard deviation.

    Attributes
    ----------
    name : str
    columns : slice
        Place in the design matrix.
    scale : float
        Scale of the half-Cauchy prior on the standard deviation, in log rate (Gelman 2006,
        *Bayesian Analysis* 1(3), 515-534, from memory): weak, so 300 strikes overrule it, yet it
        keeps 15 strikes from running off.
    least, most : float
        Limits of the standard deviation; equal where it is known and not chosen.
    """

    name: str
    columns: slice
    scale: float
    least: float = 0.01
    most: float = 20.0

    @property
    def log_limits(self) -> tuple[float, float]:
        """Limits of the log standard deviation."""
        return float(np.log(self.least)), float(np.log(self.most))


def within_limits(blocks: tuple[Block, ...], log_sd: Array) -> Array:
    """Log standard deviations, each within the limits of its block."""
    limits = np.array([block.log_limits for block in blocks]).reshape(-1, 2)
    return np.clip(log_sd, limits[:, 0], limits[:, 1])


@dataclass(frozen=True, kw_only=True)
class Smoothing:
    """The chosen log standard deviations, their covariance, and the fit there."""

    log_sd: Array
    covariance: Array
    evidence: float
    maximum: Maximum
    converged: bool


def penalty_matrix(
    blocks: tuple[Block, ...], log_sd: Array, terms: int, *, known: Block | None = None
) -> Array:
    """Diagonal precision of the coefficients: ``exp(-2 log_sd)`` in each block.

    ``known`` is a block whose standard deviation is its ``scale``, not chosen.
    """
    diagonal = np.zeros(terms)
    if known is not None:
        diagonal[known.columns] = known.scale**-2.0
    for block, value in zip(blocks, log_sd, strict=True):
        diagonal[block.columns] = np.exp(-2.0 * value)
    return np.diag(diagonal)


def _log_prior(blocks: tuple[Block, ...], log_sd: Array) -> tuple[float, Array]:
    """Log density of the half-Cauchy priors, of the log standard deviations, and its slope."""
    scale = np.array([block.scale for block in blocks])
    squared = (np.exp(log_sd) / scale) ** 2
    value = float(np.sum(0.5 * np.log(squared) - np.log1p(squared)))
    return value, 1.0 - 2.0 * squared / (1.0 + squared)


def _evidence(
    data: Strata, blocks: tuple[Block, ...], log_sd: Array, penalty: Array, found: Maximum
) -> tuple[float, Array]:
    """Laplace-approximate log marginal likelihood and its slope in the log standard deviations.

    The information changes with the coefficients, and these with the smoothing: the slope's last
    part is that, by the third derivative of the likelihood (Wood 2011, sec. 3).
    """
    inverse = np.asarray(np.linalg.inv(found.information + penalty), dtype=float)
    _, log_det = np.linalg.slogdet(found.information + penalty)
    log_det_prior = float(np.sum(np.log(np.diag(penalty))))
    coef = found.coef
    value = found.log_likelihood + 0.5 * (log_det_prior - log_det - coef @ penalty @ coef)
    moved = inverse @ third_moment(data, coef, inverse)
    slope = np.empty(len(blocks))
    for number, (block, at) in enumerate(zip(blocks, log_sd, strict=True)):
        own, precision = block.columns, np.exp(-2.0 * at)
        spread = coef[own] @ coef[own] + np.trace(inverse[own, own]) - moved[own] @ coef[own]
        slope[number] = precision * spread - len(coef[own])
    return float(value), slope


@one_thread
def choose_smoothing(
    data: Strata,
    blocks: tuple[Block, ...],
    start: Array | None = None,
    *,
    known: Block | None = None,
) -> Smoothing:
    """Maximise the Laplace-approximate marginal likelihood over the blocks' standard deviations.

    Wood 2011, *J. R. Statist. Soc. B* 73(1), 3-36 (from memory) gives the criterion, here with
    the weak prior of :class:`Block`; the gradient is exact.

    Parameters
    ----------
    data : Strata
    blocks : tuple of Block
        Together they must cover every column of the design.
    start : (blocks,) array, optional
        Log standard deviations to start from.
    known : Block, optional
        Coefficients whose standard deviation is given.

    Returns
    -------
    Smoothing
        ``covariance`` is the doubt about the choice, by the evidence's curvature there.
    """
    terms = data.design.shape[1]
    warm: list[Maximum] = []

    def maximum_at(log_sd: Array, tolerance: float) -> tuple[Maximum, Array]:
        penalty = penalty_matrix(blocks, log_sd, terms, known=known)
        start, known_there = (warm[-1].coef, warm[-1].information) if warm else (None, None)
        found = seen_from(
            data, climb(data, penalty, start, information=known_there, tolerance=tolerance)
        )
        warm[:] = [found]
        return found, penalty

    def objective(log_sd: Array) -> tuple[float, Array]:
        found, penalty = maximum_at(log_sd, CLOSE)
        value, slope = _evidence(data, blocks, log_sd, penalty, found)
        prior, prior_slope = _log_prior(blocks, log_sd)
        return -value - prior, -slope - prior_slope

    first = np.array([np.log(0.5 * block.scale) for block in blocks]) if start is None else start
    first = within_limits(blocks, first)
    # In steps of about one standard deviation the search's first step is nearly Newton's.
    steep = np.diag(_curvature(blocks, first, *maximum_at(first, CLOSE)))
    scale = np.sqrt(np.maximum(steep, 1.0))

    def scaled(at: Array) -> tuple[float, Array]:
        value, slope = objective(at / scale)
        return value, slope / scale

    found = minimize(
        scaled,
        first * scale,
        jac=True,
        method="L-BFGS-B",
        bounds=[np.multiply(block.log_limits, by) for block, by in zip(blocks, scale, strict=True)],
        options={"maxiter": 60, "ftol": 1e-7},
    )
    log_sd = np.asarray(found.x) / scale
    maximum, penalty = maximum_at(log_sd, TIGHT)
    return Smoothing(
        log_sd=log_sd,
        covariance=_doubt(_curvature(blocks, log_sd, maximum, penalty)),
        evidence=-float(found.fun),
        maximum=maximum,
        converged=bool(maximum.converged),
    )


def _curvature(blocks: tuple[Block, ...], log_sd: Array, found: Maximum, penalty: Array) -> Array:
    """Minus the second derivative of evidence and prior in the log standard deviations, about.

    The information is taken not to change with the coefficients, as in penalised quasi-likelihood
    (Breslow & Clayton 1993, *J. Am. Stat. Assoc.* 88(421), 9-25, from memory): on seasons, standard
    deviations come out within a twentieth of those by differences of the exact slope.
    """
    inverse = np.linalg.inv(found.information + penalty)
    pulls = [
        np.exp(-2.0 * at) * found.coef[block.columns]
        for block, at in zip(blocks, log_sd, strict=True)
    ]
    curvature = np.empty((len(blocks), len(blocks)))
    for row, one in enumerate(blocks):
        for column, other in enumerate(blocks):
            part = inverse[one.columns, other.columns]
            precisions = np.exp(-2.0 * (log_sd[row] + log_sd[column]))
            learnt = 2.0 * pulls[row] @ part @ pulls[column] + precisions * np.sum(part**2)
            curvature[row, column] = -2.0 * learnt
        own, coef = inverse[one.columns, one.columns], found.coef[one.columns]
        spread = coef @ coef + np.trace(own)
        squared = (np.exp(log_sd[row]) / one.scale) ** 2
        curvature[row, row] += 2.0 * np.exp(-2.0 * log_sd[row]) * spread
        curvature[row, row] += 4.0 * squared / (1.0 + squared) ** 2
    return curvature


def _doubt(curvature: Array) -> Array:
    """Inverse of a curvature, kept positive and at most of standard deviation ``MOST_DOUBT``.

    A flat direction (a block shrunk away) has no curvature: its doubt is capped, not infinite.
    """
    values, vectors = np.linalg.eigh(curvature)
    return np.asarray((vectors / np.maximum(values, MOST_DOUBT**-2)) @ vectors.T)
