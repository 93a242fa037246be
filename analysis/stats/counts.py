"""Counts with effort of any table: Poisson, strata eliminated, or gamma effects; one engine."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.special import gammaln

from analysis.errors import FitError
from analysis.stats.conditional import Maximum, Strata, group, log_likelihood, maximise
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CONSTANT = "constant"
LOG_SHAPE_RANGE = (np.log(1e-3), np.log(1e4))
"""Shapes beyond 10,000 are a Poisson model: a standard deviation of 1 % between strata."""
TIGHT = 1e-14
"""Squared distance from the maximum, in standard errors, at which the steps stop."""
MOST_LOG_RATE_SE = 50.0
"""Standard error of a log rate, for one standard deviation of a column, that no data give: the
coefficient runs off because a column parts strikes from no strikes."""


@dataclass(frozen=True, kw_only=True)
class CountFit:
    """A model of counts fitted by maximum likelihood.

    Attributes
    ----------
    names : tuple of str
        The columns; ``constant`` first unless strata were eliminated.
    coef : (terms,) array
        Log ratios a unit of the column.
    covariance, clustered : (terms, terms) arrays
        By the observed information (with the shape's doubt where it was estimated), and the
        sandwich that lets the rows of a cluster hang together, times ``G / (G - 1)``.
    log_likelihood : float
        Of the counts given each stratum's total where strata were eliminated, without the
        multinomial coefficient; else of the counts.
    shape : float
        Of the gamma effect of each stratum; 0 where strata were eliminated.
    expected : (rows,) array
        Counts the model expects, in the order of the rows given.
    status : str
        ``fitted``; or why the figures must not be used.
    """

    names: tuple[str, ...]
    coef: Array
    covariance: Array
    clustered: Array
    log_likelihood: float
    shape: float
    expected: Array
    status: str

    @property
    def table(self) -> pd.DataFrame:
        """One row a term: ``term, coef, se, se_clustered, ratio, low, high`` (90 %, clustered)."""
        robust = np.sqrt(np.diag(self.clustered))
        return pd.DataFrame(
            {
                "term": self.names,
                "coef": self.coef,
                "se": np.sqrt(np.diag(self.covariance)),
                "se_clustered": robust,
                "ratio": np.exp(self.coef),
                "low": np.exp(self.coef - 1.6449 * robust),
                "high": np.exp(self.coef + 1.6449 * robust),
            }
        )


@one_thread
def fit_counts(
    columns: pd.DataFrame,
    count: Array,
    log_effort: Array,
    *,
    stratum: NDArray[np.integer] | None = None,
    cluster: NDArray[np.integer] | None = None,
    shape: float | None = 0.0,
) -> CountFit:
    r"""Fit log rates linear in some columns, with the engine of the season's own fits.

    Parameters
    ----------
    columns : DataFrame
        Numeric covariates, without a constant; labels must be coded as 0 and 1 before.
    count : (rows,) array
    log_effort : (rows,) array
        Logarithm of the effort.
    stratum : (rows,) int array, optional
        What shares a level. Left out: all rows share one level, the constant (a Poisson model)
        where ``shape`` is 0, and each row is a stratum (a negative binomial model, variance
        ``m + m^2 / shape``) where it is not.
    cluster : (rows,) int array, optional
        Rows that hang together, such as those of a trip; by default each row by itself, or each
        stratum.
    shape : float or None
        0 eliminates the strata exactly (a dummy each); above 0 each has a gamma effect of mean 1
        and that shape; None estimates the shape by maximum likelihood.

    Returns
    -------
    CountFit

    Raises
    ------
    FitError
        Where a column is text, constant, repeated by others or not finite, effort is zero or
        infinite, or a count is negative or missing; each names the column or row and the remedy.
    """
    design = _checked(columns, count, log_effort)
    centre, scale = design.mean(axis=0), design.std(axis=0)
    scaled = (design - centre) / scale
    rows = len(count)
    alone = np.arange(rows)
    grand = stratum is None and shape == 0.0
    if stratum is None:
        stratum = np.zeros(rows, dtype=np.intp) if grand else alone
    strata: Index = np.unique(stratum, return_inverse=True)[1]
    if cluster is None:
        cluster = alone if grand else strata
    clusters: Index = np.unique(cluster, return_inverse=True)[1]
    names = tuple(str(name) for name in columns.columns)
    if shape == 0.0:
        _within(scaled, strata, names)
        found = _eliminated(scaled, count, log_effort, strata, clusters, constant=grand)
        if grand:
            names = (CONSTANT, *names)
    else:
        with_constant = np.column_stack([np.ones(rows), scaled])
        found = _gamma(with_constant, count, log_effort, strata, clusters, shape)
        names = (CONSTANT, *names)
    return _in_units(found, names, centre, scale)


def _checked(columns: pd.DataFrame, count: Array, log_effort: Array) -> Array:
    """Return the columns as numbers, or say which one cannot be used and what to do."""
    for name in columns.columns:
        values = columns[name]
        if not pd.api.types.is_numeric_dtype(values):
            msg = f"column {name!r} holds text. Code its labels as columns of 0 and 1 first."
            raise FitError(msg)
        numbers = values.to_numpy(dtype=float)
        if not np.isfinite(numbers).all():
            row = int(np.flatnonzero(~np.isfinite(numbers))[0])
            msg = f"column {name!r}, row {row}: not a finite number. Leave the row or column out."
            raise FitError(msg)
        if np.ptp(numbers) == 0:
            msg = f"column {name!r} is {numbers[0]:g} in every row. Leave the column out."
            raise FitError(msg)
    bad = np.flatnonzero(~(np.isfinite(count) & (count >= 0)))
    if len(bad):
        msg = f"row {bad[0]}: the count must be 0 or more. Set the row aside first."
        raise FitError(msg)
    if not np.isfinite(log_effort).all():
        row = int(np.flatnonzero(~np.isfinite(log_effort))[0])
        msg = f"row {row}: effort must be a positive finite number. Set the row aside first."
        raise FitError(msg)
    if not count.sum() > 0:
        msg = "every count is 0, so no rate can be told. Fit a log with strikes."
        raise FitError(msg)
    return columns.to_numpy(dtype=float)


def _within(design: Array, stratum: Index, names: tuple[str, ...]) -> None:
    """Refuse columns that do not differ within strata, or that the others repeat."""
    size = np.bincount(stratum)
    for place in range(design.shape[1]):
        mean = np.bincount(stratum, weights=design[:, place]) / size
        if np.abs(design[:, place] - mean[stratum]).max() < 1e-9:
            msg = (
                f"column {names[place]!r} is the same in all rows of each stratum, which the "
                "strata absorb. Leave the column out, or use coarser strata or gamma effects."
            )
            raise FitError(msg)
    means = np.column_stack([np.bincount(stratum, weights=c) / size for c in design.T])
    _, triangle = np.linalg.qr(design - means[stratum])
    repeated = np.flatnonzero(np.abs(np.diag(triangle)) < 1e-8 * np.sqrt(len(design)))
    if len(repeated):
        msg = f"column {names[repeated[0]]!r} repeats the columns before it. Leave it out."
        raise FitError(msg)


@dataclass(frozen=True, kw_only=True)
class _Scaled:
    """A fit in scaled columns; ``constant`` says whether the first coefficient is one."""

    coef: Array
    covariance: Array
    clustered: Array
    log_likelihood: float
    shape: float
    expected: Array
    status: str
    constant: bool


def _status(found: Maximum, covariance: Array) -> str:
    if np.sqrt(np.diag(covariance)).max(initial=0.0) > MOST_LOG_RATE_SE:
        return "separated: a column parts the rows with strikes from those without"
    if not found.converged:
        return "did not converge"
    return "fitted"


def _by_cluster(scores: Array, cluster: Index) -> Array:
    """Outer product of scores summed by cluster, with the correction ``G / (G - 1)``."""
    clusters = int(cluster.max()) + 1
    summed = np.column_stack([np.bincount(cluster, weights=column) for column in scores.T])
    return np.asarray(summed.T @ summed * (clusters / max(clusters - 1, 1)))


def _eliminated(
    design: Array,
    count: Array,
    log_effort: Array,
    stratum: Index,
    cluster: Index,
    *,
    constant: bool,
) -> _Scaled:
    """Fit given each stratum's total; the constant, where there is one, comes back exactly.

    With ``m`` the stratum's mean row and ``V`` the covariance of the slopes, the constant has
    variance ``1 / Y + m'Vm`` and covariance ``-Vm`` with them (inverse of a matrix in blocks).
    """
    terms = design.shape[1]
    nobody = np.zeros(len(count), dtype=np.intp)
    data = group(design, count, log_effort, stratum, nobody)
    found = maximise(data, np.zeros((terms, terms)), tolerance=TIGHT)
    covariance = _inverse(found.information)
    eta = design @ found.coef + log_effort
    strata = int(stratum.max()) + 1
    top = np.full(strata, -np.inf)
    np.maximum.at(top, stratum, eta)
    weight = np.exp(eta - top[stratum])
    sums = np.bincount(stratum, weights=weight, minlength=strata)
    total = np.bincount(stratum, weights=count, minlength=strata)
    share = weight / sums[stratum]
    expected = total[stratum] * share
    mean = np.column_stack([np.bincount(stratum, weights=share * column) for column in design.T])
    residual = (count - expected)[:, None]
    influence = residual * (design - mean[stratum]) @ covariance
    coef, value = found.coef, found.log_likelihood
    status = _status(found, covariance)
    if constant:
        first = np.log(total[0]) - np.log(sums[0]) - top[0]
        coef = np.concatenate([[first], coef])
        beside = -covariance @ mean[0]
        corner = 1.0 / total[0] - mean[0] @ beside
        covariance = np.block(
            [[np.array([[corner]]), beside[None, :]], [beside[:, None], covariance]]
        )
        influence = np.column_stack([residual[:, 0] / total[0] - influence @ mean[0], influence])
        value += float(total[0] * np.log(total[0]) - total[0] - gammaln(count + 1.0).sum())
    return _Scaled(
        coef=coef,
        covariance=covariance,
        clustered=_by_cluster(influence, cluster),
        log_likelihood=value,
        shape=0.0,
        expected=expected,
        status=status,
        constant=constant,
    )


def profile_shape(data: Strata, penalty: Array) -> tuple[float, Maximum, bool]:
    """Maximise the likelihood over the shape of the strata's gamma effects.

    Parameters
    ----------
    data : Strata
        Its own ``shape`` is not used.
    penalty : (terms, terms) array

    Returns
    -------
    shape : float
    found : Maximum
    inside : bool
        False where the shape ran to an end of ``LOG_SHAPE_RANGE``: the strata differ no more
        than chance makes them (or without bound).
    """
    warm: list[Array | None] = [None]

    def at(log_shape: float) -> Maximum:
        found = maximise(
            replace(data, shape=float(np.exp(log_shape))), penalty, warm[0], tolerance=TIGHT
        )
        warm[0] = found.coef
        return found

    def loss(log_shape: float) -> float:
        found = at(log_shape)
        return -(found.log_likelihood - 0.5 * float(found.coef @ penalty @ found.coef))

    best = minimize_scalar(loss, bounds=LOG_SHAPE_RANGE, method="bounded", options={"xatol": 1e-7})
    log_shape = float(best.x)
    low, high = LOG_SHAPE_RANGE
    return float(np.exp(log_shape)), at(log_shape), low + 0.01 < log_shape < high - 0.5


def _gamma(
    design: Array,
    count: Array,
    log_effort: Array,
    stratum: Index,
    cluster: Index,
    shape: float | None,
) -> _Scaled:
    """Fit with a gamma effect a stratum; ``design`` has a constant first."""
    shared = np.full(int(stratum.max()) + 1, -1)
    shared[stratum] = cluster
    if (shared[stratum] != cluster).any():
        row = int(np.flatnonzero(shared[stratum] != cluster)[0])
        msg = f"row {row}: its stratum lies in two clusters. Use strata that lie within clusters."
        raise FitError(msg)
    level = np.log(count.sum()) - np.log(np.sum(np.exp(log_effort)))
    none = np.zeros((design.shape[1], design.shape[1]))
    data = group(design, count, log_effort + level, stratum, cluster, shape=1.0)
    if shape is None:
        used, found, inside = profile_shape(data, none)
        data = replace(data, shape=used)
        covariance = _with_shape_doubt(data, found) if inside else None
    else:
        used, inside = float(shape), True
        data = replace(data, shape=used)
        found = maximise(data, none, tolerance=TIGHT)
        covariance = None
    inverse = _inverse(found.information)
    status = _status(found, inverse)
    if status == "fitted" and not inside:
        status = (
            "the shape ran off: strata differ no more than chance makes them. Use shape 0 or "
            "leave the strata out"
        )
    influence = found.scores @ inverse
    coef = found.coef.copy()
    coef[0] += level
    return _Scaled(
        coef=coef,
        covariance=inverse if covariance is None else covariance,
        clustered=_by_cluster(influence, np.arange(len(influence))),
        log_likelihood=found.log_likelihood,
        shape=used,
        expected=np.exp(design @ coef + log_effort),
        status=status,
        constant=True,
    )


def _with_shape_doubt(data: Strata, found: Maximum, step: float = 1e-3) -> Array:
    """Inverse of the joint observed information of coefficients and log shape (differences)."""
    sides = [replace(data, shape=data.shape * np.exp(sign * step)) for sign in (1, -1)]
    values = [log_likelihood(side, found.coef) for side in sides]
    curvature = (2 * log_likelihood(data, found.coef) - sum(values)) / step**2
    gradients = [_gradient(side, found.coef) for side in sides]
    cross = -(gradients[0] - gradients[1]) / (2 * step)
    joint = _bordered(found.information, cross, curvature)
    return _inverse(joint)[1:, 1:]


def _bordered(matrix: Array, side: Array, corner: float) -> Array:
    """Matrix with one more row and column in front."""
    return np.asarray(np.block([[np.array([[corner]]), side[None, :]], [side[:, None], matrix]]))


def _inverse(information: Array) -> Array:
    """Inverse of a symmetric matrix; a direction without information gets a huge variance."""
    values, vectors = np.linalg.eigh(information)
    floor = 1e-13 * max(float(values.max(initial=0.0)), 1e-300)
    return np.asarray((vectors / np.maximum(values, floor)) @ vectors.T)


def _gradient(data: Strata, coef: Array) -> Array:
    """First derivative of the log-likelihood: no step is taken, so the scores are at ``coef``."""
    still = np.zeros((len(coef), len(coef)))
    return np.asarray(maximise(data, still, coef, most_steps=0).scores.sum(axis=0))


def _in_units(found: _Scaled, names: tuple[str, ...], centre: Array, scale: Array) -> CountFit:
    """Return coefficients a unit of each column instead of a standard deviation of it."""
    turn = np.diag(1.0 / scale)
    if found.constant:
        turn = np.block(
            [[np.ones((1, 1)), -(centre / scale)[None, :]], [np.zeros((len(scale), 1)), turn]]
        )
    return CountFit(
        names=names,
        coef=turn @ found.coef,
        covariance=turn @ found.covariance @ turn.T,
        clustered=turn @ found.clustered @ turn.T,
        log_likelihood=found.log_likelihood,
        shape=found.shape,
        expected=found.expected,
        status=found.status,
    )
