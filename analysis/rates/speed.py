"""Catch rate against speed: all rods of a boat share it, so it is told from hours of one trip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit, clustered_covariance, normal_draws
from analysis.rates.model import RateModel
from analysis.rates.smooth import Smooth
from analysis.rates.smoothing import choose_smoothing, penalty_matrix
from analysis.rates.strata import group

Array = NDArray[np.float64]

CURRENT_SD_MPS = 0.15
"""Typical current along the track where only ground speed is logged (from memory: lake currents
are 0.05-0.3 m/s); its logarithm is uncertain by ``CURRENT_DOUBT``."""
CURRENT_DOUBT = 0.5
MOST_CURRENT_SHARE = 0.9
"""Share of the logged speed's variance that current may explain at most."""
WIGGLES = 4


@dataclass(frozen=True, kw_only=True)
class SpeedCurve:
    """Draws of the log rate against speed through the water.

    Attributes
    ----------
    smooth : Smooth
        Curve in the logged speed.
    draws : (draws, columns) array
    middle_mps : float
        Mean logged speed.
    kept : (draws,) array
        Share of the logged speed's variance that is speed through the water; 1 where that is
        what was logged.
    sharpened : (draws,) array
        Factor by which the curve in true speed is more bent than the one current has blurred.
    status : str
    """

    smooth: Smooth
    draws: Array
    middle_mps: float
    kept: Array
    sharpened: Array
    status: str

    def log_rate(self, speed_mps: Array) -> Array:
        """Log rate (speeds, draws) at speeds through the water, up to a constant a draw."""
        logged = self.middle_mps + (speed_mps[:, None] - self.middle_mps) / self.kept
        design = self.smooth.design(logged.ravel()).reshape(*logged.shape, -1)
        return np.asarray(np.einsum("sdc,dc->sd", design, self.draws) * self.sharpened)


def fit_speed(
    exposure: Exposure, fit: Fit, expected_weight: Array, rng: np.random.Generator
) -> SpeedCurve | None:
    """Fit strikes against speed within trips.

    Slices of one trip and speed are summed; their rod-hours are weighted by the fitted curves of
    depth, temperature and the rest. Speed over ground is water speed plus current: a regression
    on it is flattened (Carroll et al., *Measurement Error in Nonlinear Models*, 2nd ed. 2006,
    ch. 3, from memory). Draws of the current's size undo that on average, and the interval widens
    by how little is known of it.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    expected_weight : (slices,) array
        Rod-hours times ``exp`` of the fitted curves.
    rng : numpy.random.Generator

    Returns
    -------
    SpeedCurve or None
        None where no speed was logged or it never changed.
    """
    table = exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    known = np.isfinite(speed) & (expected_weight > 0)
    if not known.any():
        return None
    smooth = Smooth.over(
        "speed_mps", speed[known], table["hours"].to_numpy()[known], wiggles=WIGGLES
    )
    if smooth.is_constant:
        return None
    row = np.flatnonzero(known)
    keys, cell = np.unique(
        np.column_stack([exposure.trip[row], speed[row]]), axis=0, return_inverse=True
    )
    cell = cell.ravel()
    strikes = np.bincount(cell, weights=table["strikes"].to_numpy()[row])
    weight = np.bincount(cell, weights=expected_weight[row])
    trip = np.unique(keys[:, 0], return_inverse=True)[1]
    model = RateModel(terms=(smooth,))
    data = group(smooth.design(keys[:, 1]), strikes, np.log(weight), trip, trip)
    if len(data.count) == 0:
        return None
    chosen = choose_smoothing(data, model.blocks)
    penalty = penalty_matrix(model.blocks, chosen.log_sd, model.size)
    covariance, _ = clustered_covariance(chosen.maximum, penalty)
    count = len(fit.draws)
    draws = normal_draws(chosen.maximum.coef, covariance, count, rng)
    hours = table["hours"].to_numpy()[row]
    middle = float(np.average(speed[row], weights=hours))
    variance = float(np.average((speed[row] - middle) ** 2, weights=hours))
    over_ground = table["speed_kind"].to_numpy()[row] != "water"
    ground_share = float(np.average(over_ground, weights=hours))
    current = CURRENT_SD_MPS * np.exp(CURRENT_DOUBT * rng.standard_normal(count))
    lost = np.minimum(ground_share * current**2, MOST_CURRENT_SHARE * variance)
    kept = 1.0 - lost / variance
    sharpened = _sharpening(smooth, draws, kept, lost)
    return SpeedCurve(
        smooth=smooth,
        draws=draws,
        middle_mps=middle,
        kept=kept,
        sharpened=sharpened,
        status="fitted" if chosen.converged else "did not converge",
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
