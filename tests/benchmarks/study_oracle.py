"""The oracle of the season study: the true form, true water and true days; unknown preferences.

What a method could reach that knows everything but the numbers: each fish's best depth and
temperature with a width to either side, the leader's slope and curve, and the gears' effects,
within the ranges that the generator draws them from. Fitted to the rods down at each strike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit

from analysis.rates.standardised import SEASON
from analysis.stats.risk_sets import rods_at_strikes
from data.scenario import FT

if TYPE_CHECKING:
    from season_study import Case

Array = NDArray[np.float64]

DRAWS = 400
PROPOSALS = 4000
INNER = 3
GEAR_SD = 0.2
# ranges of data/response.py
DEPTH = ((10.0, 23.0), (4.5, 8.5), (4.5, 8.5))
LOOSE_DEPTH = ((10.0, 23.0), (16.0, 26.0), (16.0, 26.0))
TEMPERATURE = ((8.5, 12.5), (1.5, 2.5), (1.5, 2.5))
LEADER = ((-0.35, 0.35), (0.0, 0.8))


def oracle_draws(case: Case, edges_m: Array, rng: np.random.Generator) -> dict[str, Array]:
    """Return draws of every period's band rates by importance sampling about the likeliest."""
    form = _Form(case)
    start = np.zeros(form.size)
    best = minimize(lambda z: -form.log_posterior(z), start, method="BFGS").x
    spread = np.linalg.inv(_curvature(form, best))
    values, vectors = np.linalg.eigh(spread)
    root = vectors * np.sqrt(np.maximum(values, 1e-8))
    normal = rng.standard_normal((PROPOSALS, form.size))
    wide = np.sqrt(rng.chisquare(6, PROPOSALS) / 6)[:, None]
    proposals = best + normal / wide @ root.T
    # density of a multivariate t with 6 degrees, up to a constant
    log_proposal = -0.5 * (6 + form.size) * np.log1p(np.sum((normal / wide) ** 2, axis=1) / 6)
    log_weight = np.array([form.log_posterior(z) for z in proposals]) - log_proposal
    weight = np.exp(log_weight - log_weight.max())
    chosen = proposals[rng.choice(PROPOSALS, DRAWS, p=weight / weight.sum())]
    return _rates(case, form, chosen, edges_m)


class _Form:
    """The log rate of rods at strikes, as a function of free parameters on the whole line."""

    def __init__(self, case: Case) -> None:
        exposure, truth = case.exposure, case.truth
        sets = rods_at_strikes(
            exposure.trip,
            exposure.start,
            exposure.end,
            exposure.strike_row,
            exposure.strike_time,
        )
        row = exposure.table["set"].to_numpy()[sets.row] - 2
        self.depth = truth.sets["depth_m"].to_numpy()[row]
        self.temp = truth.sets["temp_c"].to_numpy()[row]
        self.leader = np.log(case.leader_m[row] / (8 * FT))
        gears = exposure.table["gear"].to_numpy()[sets.row]
        self.gear = (gears[:, None] == np.unique(gears)).astype(float)
        self.hit = sets.hit
        self.start = np.flatnonzero(np.diff(sets.moment, prepend=-1))
        self.follow = truth.scenario.follow
        ranges: list[tuple[float, float]] = []
        if self.follow == "depth":
            ranges += DEPTH
        elif self.follow == "temperature":
            ranges += [*LOOSE_DEPTH, *TEMPERATURE]
        self.ranges = np.array([*ranges, *LEADER])
        self.size = len(self.ranges) + self.gear.shape[1]

    def parameters(self, z: Array) -> Array:
        """Bounded parameters: uniform in their ranges where z is logistic."""
        low, high = self.ranges.T
        return np.asarray(low + (high - low) * expit(z[: len(self.ranges)]))

    def preference(self, z: Array, depth: Array, temp: Array) -> Array:
        """Log rate by depth and temperature."""
        p = self.parameters(z)
        out = np.zeros(np.broadcast(depth, temp).shape)
        if self.follow != "nothing":
            out = out + _bell(depth, *p[:3])
        if self.follow == "temperature":
            out = out + _bell(temp, *p[3:6])
        return out

    def log_posterior(self, z: Array) -> float:
        """Log probability of the rods that took the strikes, and of z before."""
        p, gear = self.parameters(z), z[len(self.ranges) :]
        eta = self.preference(z, self.depth, self.temp) + self.gear @ (GEAR_SD * gear)
        eta = eta + p[-2] * self.leader - 0.5 * p[-1] * self.leader**2
        sums = np.add.reduceat(np.exp(eta), self.start)
        free = z[: len(self.ranges)]
        prior = -np.sum(np.logaddexp(0, free) + np.logaddexp(0, -free)) - 0.5 * gear @ gear
        return float(self.hit @ eta - np.log(sums).sum() + prior)


def _bell(x: Array, best: float, below: float, above: float) -> Array:
    away = x - best
    return np.asarray(-0.5 * (away / np.where(away < 0, below, above)) ** 2)


def _curvature(form: _Form, at: Array, step: float = 0.05) -> Array:
    """Second differences of minus the log posterior, kept positive."""
    size = len(at)
    steps = step * np.eye(size)
    out = np.empty((size, size))
    for i in range(size):
        for j in range(i + 1):
            corners = [
                sign * form.log_posterior(at + a * steps[i] + b * steps[j])
                for a, b, sign in ((1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1))
            ]
            out[i, j] = out[j, i] = -sum(corners) / (4 * step**2)
    values, vectors = np.linalg.eigh(out)
    return np.asarray((vectors * np.maximum(values, 0.05)) @ vectors.T)


def _rates(case: Case, form: _Form, chosen: Array, edges_m: Array) -> dict[str, Array]:
    """Mean over each period's boat steps, half hours of water at a time, with the true days."""
    truth: Any = case.truth
    steps = truth.steps
    trip, minute = steps["trip"].to_numpy(), steps["minute"].to_numpy(dtype=float)
    slot = trip * 10_000 + (minute // 30).astype(np.intp)
    _, first, back = np.unique(slot, return_index=True, return_inverse=True)
    part = (np.arange(INNER) + 0.5) / INNER
    depth = (edges_m[:-1, None] + np.diff(edges_m)[:, None] * part).ravel()
    middle = (minute[first] // 30) * 30 + 15
    temp = truth.lake.temp_c(trip[first][:, None], middle[:, None], depth[None, :])
    weight = np.exp(
        truth.response.log_base
        + steps["log_time"].to_numpy()
        + truth.response.log_speed(steps["speed_mps"].to_numpy())
    )
    period = steps["period"].to_numpy(dtype=object)
    mass, count = {}, {}
    for name in case.periods:
        on = (period == name) | (name == SEASON)
        mass[name] = np.bincount(back[on], weights=weight[on], minlength=len(first))
        count[name] = on.sum()
    out = {name: np.empty((len(edges_m) - 1, len(chosen))) for name in case.periods}
    for number, z in enumerate(chosen):
        liked = np.exp(form.preference(z, np.broadcast_to(depth, temp.shape), temp))
        for name in case.periods:
            rate = truth.mix * (mass[name] @ liked) / count[name]
            out[name][:, number] = rate.reshape(-1, INNER).mean(axis=1)
    return out
