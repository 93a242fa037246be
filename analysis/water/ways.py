"""Owns the few main ways in which a whole water may differ from what thermometers make likely."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.water.field import COURSES, Water, trend_of
from analysis.water.measured import DAY_US
from analysis.water.prior import season_of
from analysis.water.problem import form_design, profile_of
from analysis.water.profile import Profile

Array = NDArray[np.float64]

LEAST_C = 0.4
"""A way counts where it moves the temperature by this much, root mean square over the water."""
MOST_WAYS = 6
MOST_TIMES = 40
DEPTHS_M = np.arange(1.0, 31.0, 3.0)
"""Depths at which temperatures are to be told, as far as the water is deep."""
LITTLE = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class Ways:
    """Independent standard normal amounts by which a water moves along some directions.

    Those of the same fitted water are equal, also where a second process sent them.

    The directions are the largest principal components of what thermometers leave open of a
    season's temperatures, level and course of the thermocline, thickness and deep temperature
    together. Without casts three to six hold nearly all of it but each day's own displacement.

    Attributes
    ----------
    water : Water
        The likeliest: all amounts are zero.
    directions : (ways, size) array
        Change of the state for one standard deviation.
    """

    water: Water
    directions: Array

    def __eq__(self, other: object) -> bool:
        """Tell whether both move the same state along the same directions."""
        return isinstance(other, Ways) and self._value == other._value

    def __hash__(self) -> int:
        """Of what `__eq__` compares."""
        return hash(self._value)

    @cached_property
    def _value(self) -> tuple[bytes, bytes]:
        return self.water.fit.state.tobytes(), self.directions.tobytes()

    @property
    def count(self) -> int:
        """Number of ways."""
        return len(self.directions)

    @cached_property
    def rest(self) -> Water:
        """The water with all that the ways do not move: its doubt were their amounts known."""
        fit = self.water.fit
        left = fit.covariance - self.directions.T @ self.directions
        return Water(fit=replace(fit, covariance=left))

    def moved(self, amount: Array) -> Water:
        """Return the water moved by some amounts (ways,), all else as doubtful as it is."""
        fit = self.rest.fit
        return Water(fit=replace(fit, state=fit.state + amount @ self.directions))

    def at(self, time: NDArray[np.int64]) -> Moving:
        """Look at the water at some times (n,), in microseconds since 1970."""
        place = self.water.fit.place
        mean, index, days = self.water.likeliest(time)
        change = np.zeros((self.count, *mean.shape))
        for course, name in enumerate(COURSES):
            reach = self.water.reach(days, name)
            change[:, :, course] = self.directions[:, getattr(place, name)] @ reach.T
        change[:, :, 2:] = self.directions[:, None, place.form]
        return Moving(mean=mean, change=change, trend=trend_of(days), index=index)


@dataclass(frozen=True, kw_only=True)
class Moving:
    """A water at some times, to be moved.

    Attributes
    ----------
    mean : (times, unknowns) array
    change : (ways, times, unknowns) array
    trend : (times,) array
        Time from midsummer in 100 days.
    index : (n,) int array
        Which of the times each entry asked for is in.
    """

    mean: Array
    change: Array
    trend: Array
    index: NDArray[np.intp]

    def temp_c(self, depth_m: Array, amount: Array) -> Array:
        """Temperature of each entry at some depths (..., n), moved by some amounts (ways,)."""
        return self._profile(amount).temp_c(depth_m)

    def slopes(self, depth_m: Array, amount: Array) -> tuple[Array, Array]:
        """Temperature of each entry (n,), and its change with each amount (n, ways)."""
        temp, by = self._profile(amount).slopes(depth_m)
        form = form_design(by.thickness, by.lean, by.share, by.bumps, self.trend[self.index])
        design = np.column_stack([by.middle, by.share, form])
        return temp, np.einsum("nu,knu->nk", design, self.change[:, self.index])

    def _profile(self, amount: Array) -> Profile:
        unknowns = (self.mean + np.tensordot(amount, self.change, axes=1))[self.index]
        return profile_of(unknowns[:, 0], unknowns[:, 1], unknowns[:, 2:], self.trend[self.index])


def main_ways(water: Water, year: int) -> Ways:
    """Find the main ways in which one year's temperatures may differ from the likeliest.

    Parameters
    ----------
    water : Water
    year : int

    Returns
    -------
    Ways
        None of them where thermometers tell the water's course.
    """
    fit = water.fit
    days = fit.knots[season_of(fit.knots) == year]
    if len(days) > MOST_TIMES:
        days = days[np.linspace(0, len(days) - 1, MOST_TIMES).astype(int)]
    deepest = max(fit.prior.max_depth_m or np.inf, DEPTHS_M[0])
    depth_m = DEPTHS_M[deepest >= DEPTHS_M]
    at, wanted = np.repeat(days, len(depth_m)), np.tile(depth_m, len(days))
    by_state = state_design(water, np.asarray(at * DAY_US, dtype=np.int64), wanted)
    root = np.linalg.cholesky(fit.covariance + LITTLE * np.eye(len(fit.covariance)))
    _, size, turn = np.linalg.svd(by_state @ root / np.sqrt(len(at)), full_matrices=False)
    count = min(int(np.sum(size >= LEAST_C)), MOST_WAYS)
    return Ways(water=water, directions=turn[:count] @ root.T)


def state_design(water: Water, time: NDArray[np.int64], depth_m: Array) -> Array:
    """Change of the temperature at some times and depths (n,) with the state (n, size)."""
    place = water.fit.place
    design, index, days = unknowns_design(water, time, depth_m)
    out = np.zeros((len(time), place.size))
    for course, name in enumerate(COURSES):
        out[:, getattr(place, name)] = design[:, [course]] * water.reach(days, name)[index]
    out[:, place.form] = design[:, 2:]
    return out


def unknowns_design(
    water: Water, time: NDArray[np.int64], depth_m: Array
) -> tuple[Array, NDArray[np.intp], Array]:
    """Change of the temperature at some times and depths with the unknowns of its own time.

    Returns
    -------
    design : (n, unknowns) array
        Middle, surface, then those of the form.
    index : (n,) int array
        Which of the days each is on.
    days : (days,) array
        Since 1970, of each distinct stretch of time.
    """
    mean, index, days = water.likeliest(time)
    moving = Moving(
        mean=mean,
        change=np.broadcast_to(np.eye(mean.shape[1])[:, None], (mean.shape[1], *mean.shape)),
        trend=trend_of(days),
        index=index,
    )
    _, design = moving.slopes(depth_m, np.zeros(mean.shape[1]))
    return design, index, days
