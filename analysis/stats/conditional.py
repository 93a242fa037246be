"""The likelihood of counts in strata, where all that a stratum shares has dropped out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.sparse import csr_array
from scipy.special import gammaln

from analysis.errors import FitError
from analysis.stats.cells import summing

Array = NDArray[np.float64]

_BLOCK = 1024
"""Rows that are worked on together."""
SLOW = 0.1
"""Part of the gain before that a step by an older information may leave."""


@dataclass(frozen=True, kw_only=True)
class Strata:
    """Rows of counts, sorted by stratum, ready for :func:`maximise`.

    Attributes
    ----------
    design : (rows, terms) array
    count : (rows,) array
        Strikes of each row.
    log_effort : (rows,) array
        Log rod-hours, or any offset that adds to the log rate.
    start : (strata,) int array
        First row of each stratum.
    cluster : (strata,) int array
        The trip of each stratum: scores are summed by it for the clustered variance.
    shape : float
        0 conditions on each stratum's total (what it shares is eliminated exactly); above 0 each
        stratum has a gamma effect of mean 1 and variance ``1 / shape``.
    """

    design: Array
    count: Array
    log_effort: Array
    start: NDArray[np.intp]
    cluster: NDArray[np.intp]
    shape: float = 0.0

    @cached_property
    def total(self) -> Array:
        """Strikes of each stratum."""
        return np.add.reduceat(self.count, self.start)

    @cached_property
    def size(self) -> NDArray[np.intp]:
        """Rows of each stratum."""
        return np.diff(self.start, append=len(self.count))

    def with_design(self, design: Array) -> Strata:
        """Return the same rows with another design matrix."""
        return Strata(
            design=design,
            count=self.count,
            log_effort=self.log_effort,
            start=self.start,
            cluster=self.cluster,
            shape=self.shape,
        )


def group(
    design: Array,
    count: Array,
    log_effort: Array,
    stratum: NDArray[np.integer],
    cluster: NDArray[np.integer],
    *,
    shape: float = 0.0,
) -> Strata:
    """Sort rows by stratum and drop strata that say nothing.

    Given its total, a stratum without a strike, or with one row, has likelihood 1 whatever the
    coefficients are; dropping it is exact. With ``shape > 0`` every stratum counts and is kept.

    Parameters
    ----------
    design : (rows, terms) array
    count, log_effort : (rows,) arrays
    stratum, cluster : (rows,) int arrays
        ``cluster`` must be constant within a stratum.

    Returns
    -------
    Strata

    Raises
    ------
    FitError
        Where a row's effort is zero, infinite or missing, or a covariate is not finite.
    """
    if not np.all(np.isfinite(log_effort)):
        row = int(np.flatnonzero(~np.isfinite(log_effort))[0])
        msg = f"row {row}: rod-hours must be a positive finite number. Set the row aside first."
        raise FitError(msg)
    strata_count = int(stratum.max()) + 1 if len(stratum) else 0
    if shape == 0.0:
        total = np.bincount(stratum, weights=count, minlength=strata_count)
        rows = np.bincount(stratum, minlength=strata_count)
        keep = ((total > 0) & (rows > 1))[stratum]
    else:
        keep = np.ones(len(stratum), dtype=bool)
    order: slice | NDArray[np.intp] = slice(None)  # rows as they are: no copy of them
    if not keep.all() or np.any(np.diff(stratum) < 0):
        kept = np.flatnonzero(keep)
        order = kept[np.argsort(stratum[kept], kind="stable")]
    ordered = stratum[order]
    start = np.flatnonzero(np.diff(ordered, prepend=-1))
    x = design[order]
    if not np.all(np.isfinite(x)):
        row, column = np.argwhere(~np.isfinite(x))[0]
        row = np.arange(len(stratum))[order][row]
        msg = f"row {row}, term {column}: not a finite number. Leave the row or term out."
        raise FitError(msg)
    return Strata(
        design=x,
        count=count[order].astype(float),
        log_effort=log_effort[order].astype(float),
        start=start,
        cluster=cluster[order][start].astype(np.intp),
        shape=shape,
    )


@dataclass(frozen=True, kw_only=True)
class Maximum:
    """Where the penalised likelihood is largest.

    Attributes
    ----------
    coef : (terms,) array
    information : (terms, terms) array
        Minus the second derivative of the log-likelihood, penalty not included.
    scores : (clusters, terms) array
        First derivative of the log-likelihood, summed by cluster.
    log_likelihood : float
        Not penalised; constants of the data are left out where ``shape`` is 0.
    converged : bool
    """

    coef: Array
    information: Array
    scores: Array
    log_likelihood: float
    converged: bool


def _log_likelihood(data: Strata, coef: Array) -> tuple[float, Array, Array]:
    """Log-likelihood, each row's share of its stratum, and each stratum's weight."""
    eta = data.design @ coef + data.log_effort
    top = np.maximum.reduceat(eta, data.start)
    weight = np.exp(eta - np.repeat(top, data.size))
    sums = np.add.reduceat(weight, data.start)
    shape = data.shape
    total = data.total
    if shape == 0.0:
        log_sum = np.log(sums) + top
        value = float(data.count @ eta - total @ log_sum)
        share = weight / np.repeat(sums, data.size)
        return value, share, total
    log_sum = np.logaddexp(np.log(shape), np.log(sums) + top)
    value = float(
        data.count @ eta
        - (total + shape) @ log_sum
        + np.sum(gammaln(total + shape) - gammaln(shape) + shape * np.log(shape))
        - np.sum(gammaln(data.count + 1.0))
    )
    share = np.exp(eta - np.repeat(log_sum, data.size))
    return value, share, total + shape


def log_likelihood(data: Strata, coef: Array) -> float:
    """Log-likelihood at given coefficients; no penalty."""
    return _log_likelihood(data, coef)[0]


def log_likelihoods(data: Strata, coef: Array) -> Array:
    """Log-likelihood of each stratum at given coefficients, given its total; no penalty.

    Raises
    ------
    ValueError
        Where strata have a gamma effect, whose likelihood is not given the total.
    """
    if data.shape != 0.0:
        msg = "strata with a gamma effect have no likelihood given their total"
        raise ValueError(msg)
    eta = data.design @ coef + data.log_effort
    top = np.maximum.reduceat(eta, data.start)
    sums = np.add.reduceat(np.exp(eta - np.repeat(top, data.size)), data.start)
    hit = np.add.reduceat(data.count * eta, data.start)
    return np.asarray(hit - data.total * (np.log(sums) + top))


def maximise(
    data: Strata,
    penalty: Array,
    start: Array | None = None,
    *,
    tolerance: float = 1e-8,
    most_steps: int = 50,
) -> Maximum:
    r"""Maximise the penalised likelihood by Newton steps with halving.

    Given each stratum's strikes :math:`Y_s`, the counts are multinomial, and

    .. math:: \ell(b) = \sum_i y_i x_i'b
              - \sum_s Y_s \log \sum_{i \in s} h_i e^{x_i'b} - \tfrac12 b'Pb ,

    which equals a Poisson fit with one dummy a stratum (McCullagh & Nelder, *Generalized Linear
    Models*, 2nd ed. 1989, sec. 6.4, from memory). A gamma effect of shape ``a`` replaces
    :math:`Y_s \log E_s` by :math:`(Y_s + a) \log(a + E_s)`; ``a`` going to 0 is the line above.

    Parameters
    ----------
    data, penalty, start, tolerance, most_steps
        See :func:`climb`.

    Returns
    -------
    Maximum
        ``converged`` is False where the steps did not settle; the caller must say so.
    """
    top = climb(data, penalty, start, slow=0.0, tolerance=tolerance, most_steps=most_steps)
    return seen_from(data, top)


@dataclass(frozen=True, kw_only=True)
class Top:
    """Where a climb ended.

    Attributes
    ----------
    coef : (terms,) array
    information : (terms, terms) array or None
        By which the last step was taken: of coefficients near these. None where there was none.
    converged : bool
    """

    coef: Array
    information: Array | None
    converged: bool


def climb(
    data: Strata,
    penalty: Array,
    start: Array | None = None,
    *,
    information: Array | None = None,
    slow: float = SLOW,
    tolerance: float = 1e-10,
    most_steps: int = 50,
) -> Top:
    """Find the coefficients of :func:`maximise`, and nothing else.

    The information takes some ten times as long as the likelihood and its slope, so steps go on by
    one of coefficients before as long as each leaves a small part of what there was to gain. What
    is left at the end is such a part of the tolerance; with Newton's own steps it is its square.

    Parameters
    ----------
    data : Strata
    penalty : (terms, terms) array
        Positive semi-definite; the fit is unique where information + penalty is definite.
    start : (terms,) array, optional
    information : (terms, terms) array, optional
        Of coefficients or data near these, where it is known.
    slow : float
        Part of the gain before that a step may leave, or the information is worked out anew; with
        0 it always is, as Newton has it.
    tolerance : float
        Gain of the log-likelihood at which no further step is taken.
    most_steps : int

    Returns
    -------
    Top
    """
    terms = data.design.shape[1]
    coef = np.zeros(terms) if start is None else start.copy()
    ridge = 1e-10 * np.eye(terms)
    converged = False
    factor, before = None, np.inf
    value, share, weight = _log_likelihood(data, coef)
    objective = value - 0.5 * coef @ penalty @ coef
    if information is not None:
        factor = cho_factor(information + penalty + ridge)
    for _ in range(most_steps):
        gradient = _away(data, share, weight) @ data.design - penalty @ coef
        if factor is not None:
            step = cho_solve(factor, gradient)
        if factor is None or gradient @ step > slow * before:
            information = _information(data, share, weight)
            factor = cho_factor(information + penalty + ridge)
            step = cho_solve(factor, gradient)
        before = float(gradient @ step)
        if before < tolerance:
            converged = True
            break
        for _ in range(30):
            trial = coef + step
            trial_value, trial_share, trial_weight = _log_likelihood(data, trial)
            trial_objective = trial_value - 0.5 * trial @ penalty @ trial
            if trial_objective >= objective - 1e-12 * abs(objective):
                break
            step = step / 2
        else:
            break
        coef, share, weight = trial, trial_share, trial_weight
        objective = trial_objective
    return Top(coef=coef, information=information, converged=converged)


def seen_from(data: Strata, top: Top) -> Maximum:
    """Work out what is known where a climb ended."""
    value, share, weight = _log_likelihood(data, top.coef)
    return Maximum(
        coef=top.coef,
        information=_information(data, share, weight),
        scores=_scores(data, share, weight),
        log_likelihood=value,
        converged=top.converged,
    )


def information_at(data: Strata, coef: Array) -> Array:
    """Information about the coefficients (terms, terms) at some of them."""
    _, share, weight = _log_likelihood(data, coef)
    return _information(data, share, weight)


def _information(data: Strata, share: Array, weight: Array) -> Array:
    mean = _sums(data, share)
    root = np.sqrt(np.repeat(weight, data.size) * share)
    found = -mean.T @ (weight[:, None] * mean)
    for part in _blocks(len(root)):
        rows = root[part, None] * data.design[part]
        found += rows.T @ rows  # of this form BLAS works out one half only
    return np.asarray(found)


def _blocks(rows: int) -> Iterator[slice]:
    """Give rows in blocks so small that all that is made of one stays in the processor's cache."""
    for first in range(0, rows, _BLOCK):
        yield slice(first, first + _BLOCK)


def _sums(data: Strata, factor: Array) -> Array:
    """Sum of each stratum's design rows times a factor: (strata, terms)."""
    rows = len(factor)
    end = np.append(data.start, rows)
    by_row = csr_array((factor, np.arange(rows), end), shape=(len(data.start), rows))
    return np.asarray(by_row @ data.design)


def _scores(data: Strata, share: Array, weight: Array) -> Array:
    """Sum of each cluster's scores: (clusters, terms)."""
    by_row = np.repeat(data.cluster, data.size)
    clusters = int(data.cluster.max(initial=-1)) + 1
    return np.asarray(summing(by_row, clusters, _away(data, share, weight)) @ data.design)


def _away(data: Strata, share: Array, weight: Array) -> Array:
    """How far each row's strikes are from those that its share of the stratum lets expect."""
    return np.asarray(data.count - np.repeat(weight, data.size) * share)


def third_moment(data: Strata, coef: Array, inverse: Array) -> Array:
    """Trace of ``inverse`` times the derivative of the information by each coefficient.

    The information is the sum over strata of weight times the covariance of the rows' design
    under their shares, so its derivative is their third central moment. A gamma effect adds one
    row of zeros that holds the rest of the shares.

    Parameters
    ----------
    data : Strata
    coef : (terms,) array
    inverse : (terms, terms) array
        Symmetric.

    Returns
    -------
    (terms,) array
    """
    _, share, weight = _log_likelihood(data, coef)
    mean = _sums(data, share)
    stratum = np.repeat(np.arange(len(mean)), data.size)
    expected = weight[stratum] * share
    found = np.zeros(len(coef))
    for part in _blocks(len(stratum)):
        away = data.design[part] - mean[stratum[part]]
        distance = np.einsum("ij,ij->i", away @ inverse, away)
        found += (expected[part] * distance) @ away
    if data.shape > 0.0:
        rest = 1.0 - np.add.reduceat(share, data.start)
        distance = np.einsum("ij,ij->i", mean @ inverse, mean)
        found = found - (weight * rest * distance) @ mean
    return np.asarray(found)
