"""Catch rate against what all rods of a boat share, told from hours of one trip: speed, surface."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import lognorm

from analysis.rates.contrast import told_directions, untold_terms
from analysis.rates.exposure import Exposure
from analysis.rates.fit import REFITS, Fit, clustered_covariance, normal_draws
from analysis.rates.terms import RateModel
from analysis.stats.conditional import Strata, group, maximise
from analysis.stats.latent_shift import root
from analysis.stats.marginal_likelihood import choose_smoothing, penalty_matrix, within_limits
from analysis.stats.pspline import Smooth
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CURRENT_SD_MPS = 0.13
"""Usual standard deviation, within a trip, of the current along the track of a boat that turns
about (from memory: lake currents are 0.05-0.3 m/s)."""
WATER_SD_MPS = 0.09
"""Usual standard deviation, within a trip, of the speed through the water (from memory)."""
SD_DOUBT = 0.5
"""Standard deviation of the logarithm of both."""
WIGGLES = 4


@dataclass(frozen=True, kw_only=True)
class SharedCurve:
    """Draws of the log rate against something that all rods of a boat share at one time.

    Attributes
    ----------
    smooth : Smooth
    draws : (draws, columns) array
    status : str
        ``fitted`` or ``did not converge``.
    """

    smooth: Smooth
    draws: Array
    status: str

    def log_rate(self, values: Array) -> Array:
        """Log rate (values, draws), up to a constant a draw."""
        return self.smooth.design(values) @ self.draws.T


@one_thread
def fit_within_trips(
    exposure: Exposure, fit: Fit, weight: Array, name: str, rng: np.random.Generator
) -> SharedCurve | None:
    """Fit strikes against a covariate of the boat, hours of one trip compared with each other.

    Slices of one trip and value are summed; their rod-hours are weighted by the fitted curves of
    depth, temperature and the rest. Draws carry the doubt of the smoothing.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
        Says how many draws are wanted.
    weight : (slices,) array
        Rod-hours times ``exp`` of the fitted curves.
    name : str
        Column of the covariate.
    rng : numpy.random.Generator

    Returns
    -------
    SharedCurve or None
        None where it was not logged, never changed, or no trip with a strike saw it change.
    """
    cells = _Cells.of(exposure, weight, name)
    if cells is None:
        return None
    return _fitted(cells, np.tile(cells.value, (REFITS, 1)), len(fit.draws), rng)


@one_thread
def fit_speed(
    exposure: Exposure, fit: Fit, weight: Array, rng: np.random.Generator
) -> SharedCurve | None:
    """Fit strikes against speed through the water, within trips; see :func:`fit_within_trips`.

    Speed over ground is water speed plus current: a regression on it is flattened. Each refit puts
    in its place the water speed that is to be expected, nearer the trip's mean by the share of the
    logged scatter that is the water's own (regression calibration: Carroll et al., *Measurement
    Error in Nonlinear Models*, 2nd ed. 2006, ch. 4, from memory), and takes another such share.
    Speeds that the water then hardly reached keep to the curve's prior. The scatter left about the
    expected speed is let go: it makes a bell of 0.3 m/s look wider by a thirtieth.
    """
    cells = _Cells.of(exposure, weight, "speed_mps")
    if cells is None:
        return None
    hours = np.bincount(cells.trip, cells.hours)
    mean = np.bincount(cells.trip, cells.hours * cells.value)[cells.trip] / hours[cells.trip]
    away = np.where(cells.ground, cells.value - mean, 0.0)
    variance = cells.hours @ away**2 / max(cells.hours @ cells.ground, 1e-12)
    kept = rng.permutation(_share_of_water(variance)) if variance > 0 else np.ones(REFITS)
    return _fitted(cells, cells.value - np.outer(1.0 - kept, away), len(fit.draws), rng)


def _share_of_water(variance: float) -> Array:
    """Share of a logged speed's variance within trips that is speed through the water (REFITS,).

    Both parts are log-normal before, and add up to what was logged; even steps of what that
    leaves likely.
    """
    share = (np.arange(1000) + 0.5) / 1000
    of_current, of_water = (
        lognorm.logpdf(part * variance, 2 * SD_DOUBT, scale=usual**2)
        for part, usual in ((1 - share, CURRENT_SD_MPS), (share, WATER_SD_MPS))
    )
    likely = of_current + of_water
    passed = np.cumsum(np.exp(likely - likely.max()))
    steps = (np.arange(REFITS) + 0.5) / REFITS
    return np.asarray(np.interp(steps, passed / passed[-1], share))


@dataclass(frozen=True, kw_only=True)
class _Cells:
    """Slices of one trip and value together; arrays over them."""

    smooth: Smooth
    trip: Index
    value: Array
    ground: Array
    hours: Array
    log_weight: Array
    strikes: Array

    @classmethod
    def of(cls, exposure: Exposure, weight: Array, name: str) -> _Cells | None:
        """Gather them; None where nothing is known of the covariate, or it never changed."""
        table = exposure.table
        values = table[name].to_numpy(dtype=float)
        row = np.flatnonzero(np.isfinite(values) & (weight > 0))
        if not len(row):
            return None
        hours = table["hours"].to_numpy(dtype=float)[row]
        smooth = Smooth.over(name, values[row], hours, wiggles=WIGGLES)
        if smooth.is_constant:
            return None
        ground = (table["speed_kind"].to_numpy()[row] != "water").astype(float)
        keys, cell = np.unique(
            np.column_stack([exposure.trip[row], values[row], ground]), axis=0, return_inverse=True
        )
        cell = cell.ravel()
        return cls(
            smooth=smooth,
            trip=np.unique(keys[:, 0], return_inverse=True)[1],
            value=keys[:, 1],
            ground=keys[:, 2],
            hours=np.bincount(cell, hours).astype(float),
            log_weight=np.log(np.bincount(cell, weight[row])),
            strikes=np.bincount(cell, table["strikes"].to_numpy(dtype=float)[row]).astype(float),
        )

    def strata(self, values: Array) -> Strata:
        """Rows of the fit by trip, at some values (cells,)."""
        return group(
            self.smooth.design(values), self.strikes, self.log_weight, self.trip, self.trip
        )


def _fitted(
    cells: _Cells, values: Array, count: int, rng: np.random.Generator
) -> SharedCurve | None:
    """Fit the cells at the values of each refit (REFITS, cells), with a draw of the smoothing."""
    data = cells.strata(values.mean(axis=0))
    if len(data.count) == 0:
        return None
    model = RateModel(terms=(cells.smooth,))
    model = replace(model, untold=untold_terms(told_directions(data, model), model))
    chosen = choose_smoothing(data, model.blocks)
    spread = root(chosen.covariance)
    draws, converged = [], chosen.converged
    for own, part in zip(values, np.array_split(np.arange(count), REFITS), strict=True):
        log_sd = chosen.log_sd + spread @ rng.standard_normal(len(spread))
        penalty = penalty_matrix(model.blocks, within_limits(model.blocks, log_sd), model.size)
        found = maximise(cells.strata(own), penalty, chosen.maximum.coef)
        converged &= found.converged
        covariance, _ = clustered_covariance(found, penalty)
        draws.append(normal_draws(found.coef, covariance, len(part), rng))
    return SharedCurve(
        smooth=cells.smooth,
        draws=np.concatenate(draws),
        status="fitted" if converged else "did not converge",
    )
