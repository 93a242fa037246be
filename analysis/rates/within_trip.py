"""Catch rate against what all rods of a boat share, told from hours of one trip: speed, surface."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.contrast import told_directions, untold_terms
from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit, clustered_covariance, normal_draws
from analysis.rates.terms import RateModel
from analysis.stats.conditional import group
from analysis.stats.marginal_likelihood import choose_smoothing, penalty_matrix
from analysis.stats.pspline import Smooth
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

CURRENT_SD_MPS = 0.15
"""Typical current along the track where only ground speed is logged (from memory: lake currents
are 0.05-0.3 m/s); its logarithm is uncertain by ``CURRENT_DOUBT``."""
CURRENT_DOUBT = 0.5
MOST_CURRENT_SHARE = 0.9
"""Share of the logged speed's variance that current may explain at most."""
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


@dataclass(frozen=True, kw_only=True)
class SpeedCurve(SharedCurve):
    """A curve in the logged speed, turned into one in speed through the water.

    Attributes
    ----------
    middle_mps : float
        Mean logged speed.
    kept : (draws,) array
        Share of the logged speed's variance that is speed through the water; 1 where that is
        what was logged.
    sharpened : (draws,) array
        Factor by which the curve in true speed is more bent than the one current has blurred.
    """

    middle_mps: float
    kept: Array
    sharpened: Array

    def log_rate(self, values: Array) -> Array:
        """Log rate (speeds, draws) at speeds through the water, up to a constant a draw."""
        logged = self.middle_mps + (values[:, None] - self.middle_mps) / self.kept
        design = self.smooth.design(logged.ravel()).reshape(*logged.shape, -1)
        return np.asarray(np.einsum("sdc,dc->sd", design, self.draws) * self.sharpened)


@one_thread
def fit_within_trips(
    exposure: Exposure, fit: Fit, weight: Array, name: str, rng: np.random.Generator
) -> SharedCurve | None:
    """Fit strikes against a covariate of the boat, hours of one trip compared with each other.

    Slices of one trip and value are summed; their rod-hours are weighted by the fitted curves of
    depth, temperature and the rest.

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
    table = exposure.table
    values = table[name].to_numpy(dtype=float)
    row = np.flatnonzero(np.isfinite(values) & (weight > 0))
    if not len(row):
        return None
    smooth = Smooth.over(name, values[row], table["hours"].to_numpy()[row], wiggles=WIGGLES)
    if smooth.is_constant:
        return None
    keys, cell = np.unique(
        np.column_stack([exposure.trip[row], values[row]]), axis=0, return_inverse=True
    )
    cell = cell.ravel()
    strikes = np.zeros(len(keys))
    np.add.at(strikes, cell, table["strikes"].to_numpy()[row])
    log_weight = np.log(np.bincount(cell, weights=weight[row]))
    trip = np.unique(keys[:, 0], return_inverse=True)[1]
    model = RateModel(terms=(smooth,))
    data = group(smooth.design(keys[:, 1]), strikes, log_weight, trip, trip)
    if len(data.count) == 0:
        return None
    model = replace(model, untold=untold_terms(told_directions(data, model), model))
    chosen = choose_smoothing(data, model.blocks)
    penalty = penalty_matrix(model.blocks, chosen.log_sd, model.size)
    covariance, _ = clustered_covariance(chosen.maximum, penalty)
    return SharedCurve(
        smooth=smooth,
        draws=normal_draws(chosen.maximum.coef, covariance, len(fit.draws), rng),
        status="fitted" if chosen.converged else "did not converge",
    )


def fit_speed(
    exposure: Exposure, fit: Fit, weight: Array, rng: np.random.Generator
) -> SpeedCurve | None:
    """Fit strikes against speed through the water, within trips; see :func:`fit_within_trips`.

    Speed over ground is water speed plus current: a regression on it is flattened (Carroll et
    al., *Measurement Error in Nonlinear Models*, 2nd ed. 2006, ch. 3, from memory). Draws of the
    current's size undo that on average, and the interval widens by how little is known of it.
    """
    found = fit_within_trips(exposure, fit, weight, "speed_mps", rng)
    if found is None:
        return None
    table = exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    known = np.isfinite(speed) & (weight > 0)
    speed, hours = speed[known], table["hours"].to_numpy()[known]
    middle = float(np.average(speed, weights=hours))
    variance = float(np.average((speed - middle) ** 2, weights=hours))
    ground = table["speed_kind"].to_numpy()[known] != "water"
    current = CURRENT_SD_MPS * np.exp(CURRENT_DOUBT * rng.standard_normal(len(fit.draws)))
    lost = float(np.average(ground, weights=hours)) * current**2
    lost = np.minimum(lost, MOST_CURRENT_SHARE * variance)
    kept = 1.0 - lost / variance
    return SpeedCurve(
        smooth=found.smooth,
        draws=found.draws,
        status=found.status,
        middle_mps=middle,
        kept=kept,
        sharpened=_sharpening(found.smooth, found.draws, kept, lost),
    )


def _sharpening(smooth: Smooth, draws: Array, kept: Array, lost: Array) -> Array:
    """Undo the widening of a bell by the current's spread about the best guess of water speed.

    A bell of width ``w`` seen through an error of variance ``v`` is one of width
    ``sqrt(w^2 + v)``; its log is flatter by ``w^2 / (w^2 + v)``. Sharpening stops at a factor of
    three, past which the current has blurred away what the log could tell.
    """
    half = (smooth.high - smooth.low) / 2
    bend = np.minimum(2 * draws[:, 1] / half**2, 0.0)
    blurred = -bend * lost / kept
    return np.asarray(1.0 / np.maximum(1.0 - blurred, 1 / 3))
