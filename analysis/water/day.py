"""How warm the water is on one day to come, after a thermometer at the dock or a cast."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.water.field import THERMOMETER_C, Moments, Water
from analysis.water.measured import CAST, DAY_US, ERROR_C, ERROR_M
from analysis.water.prior import MIDDLE, Prior
from analysis.water.ways import Ways

Array = NDArray[np.float64]

DOCK_SD_C = 1.0
"""Of a reading at the dock against the open water (assumed: shallow water warms by day)."""
CAST_AGE_DAYS = 0.5
"""Between the cast and the lines going in: the evening before."""
MOST_STEPS = 30
SETTLED = 1e-3
COLDEST_UNKNOWN = 1e-9


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """What strikes told of a water: amounts of its main ways, one row a draw of the catch rate."""

    ways: Ways
    amounts: Array


@dataclass(frozen=True, kw_only=True)
class DaysWater:
    """What is known of one water in the fishing hours of some days.

    Attributes
    ----------
    day : (days,) int array
        Days since 1970, rising.
    moments : Moments
        Their mean, and the doubt that is independent of the draws of the catch rate.
    change : (ways, days, unknowns) array
        Change with one standard deviation of each way that strikes told of.
    amounts : (draws, ways) array
        How far each draw's amounts lie from their mean, which is in ``moments``.
    prior : Prior
    """

    day: NDArray[np.int64]
    moments: Moments
    change: Array
    amounts: Array
    prior: Prior

    @classmethod
    def of(
        cls,
        water: Water,
        day: NDArray[np.int64],
        hour_utc: float,
        learnt: Learnt | None = None,
    ) -> DaysWater:
        """Ask a fitted water for some days, at one hour of each, moved by what strikes told."""
        time = (day * DAY_US + int(hour_utc * 3.6e9)).astype(np.int64)
        ways = None if learnt is None else learnt.ways
        likeliest = np.zeros(0) if learnt is None else learnt.amounts.mean(axis=0)
        moments, place = (water if ways is None else ways.moved(likeliest)).moments(time)
        moments = moments.take(place)
        change = np.zeros((0, *moments.mean.shape))
        if ways is not None:
            moving = ways.at(time)
            change = moving.change[:, moving.index]
        return cls(
            day=day,
            moments=moments,
            change=change,
            amounts=np.zeros((1, 0)) if learnt is None else learnt.amounts - likeliest,
            prior=water.fit.prior,
        )

    def on(self, day: int) -> DayWater | None:
        """Return the water of one day; None for a day that was not asked for."""
        place = np.flatnonzero(self.day == day)
        if not len(place):
            return None
        return DayWater(
            moments=self.moments.take(place),
            follows=self.amounts @ self.change[:, place[0]],
            prior=self.prior,
        )


@dataclass(frozen=True, kw_only=True)
class DayWater:
    """The water of one day.

    Attributes
    ----------
    moments : Moments
        Normal moments of its unknowns, a single row; the covariance is of what is independent of
        the draws of the catch rate.
    follows : (draws, unknowns) array
        How far each of these draws' own water lies from the mean.
    prior : Prior
    """

    moments: Moments
    follows: Array
    prior: Prior

    @property
    def covariance(self) -> Array:
        """Covariance of the unknowns: what is told of by no strike, and what the draws differ."""
        return np.asarray(
            self.moments.covariance[0] + self.follows.T @ self.follows / len(self.follows)
        )

    @property
    def surface(self) -> tuple[float, float]:
        """Mean and sd of the surface temperature in C."""
        return float(self.moments.mean[0, 1]), float(np.sqrt(self.covariance[1, 1]))

    @property
    def middle(self) -> tuple[float, float]:
        """Mean and sd of the thermocline's depth in metres."""
        return float(self.moments.mean[0, 0]), float(np.sqrt(self.covariance[0, 0]))

    def with_surface(self, temp_c: float, sd_c: float = DOCK_SD_C) -> DayWater:
        """Add a reading of the surface: a linear look at one unknown, so exact.

        Parameters
        ----------
        temp_c, sd_c : float
            The reading, and how far it may lie from the open water's.
        """
        mean, covariance = self.moments.mean[0], self.covariance
        gain = covariance[:, 1] / (covariance[1, 1] + sd_c**2)
        look = np.zeros((1, len(mean)))
        look[0, 1] = 1.0
        return self._with(
            mean + gain * (temp_c - mean[1]), gain[:, None], look, np.array([sd_c**2])
        )

    def with_cast(self, depth_m: Array, temp_c: Array) -> DayWater:
        """Add a cast: the likeliest unknowns by Gauss-Newton, and a normal about them (Laplace).

        What may have moved since the cast is added to the doubt of the thermocline's depth.

        Parameters
        ----------
        depth_m, temp_c : (n,) arrays
        """
        before, covariance = self.moments.mean[0], self.covariance
        precision = np.linalg.inv(covariance + COLDEST_UNKNOWN * np.eye(len(before)))
        rows = np.zeros(len(depth_m), dtype=np.intp)
        unknowns = before.copy()

        def look(at: Array) -> tuple[Array, Array, Array]:
            here = replace(self.moments, mean=at[None, :]).take(rows)
            profile = here.profile(here.mean)
            temp, design, share = here.design(profile, depth_m)
            slope = profile.slopes(depth_m)[1].depth
            misfit = self.prior.misfit(share, profile.surface_c - profile.deep_c)
            variance = ERROR_C[CAST] ** 2 + (slope * ERROR_M[CAST]) ** 2 + misfit**2
            return temp, design, variance

        def cost(at: Array, variance: Array) -> float:
            away = at - before
            return float(np.sum((temp_c - look(at)[0]) ** 2 / variance) + away @ precision @ away)

        inner = precision
        for _ in range(MOST_STEPS):
            temp, design, variance = look(unknowns)
            weighed = design / variance[:, None]
            inner = precision + design.T @ weighed
            step = np.linalg.solve(
                inner, weighed.T @ (temp_c - temp) - precision @ (unknowns - before)
            )
            size, now = 1.0, cost(unknowns, variance)
            while cost(unknowns + size * step, variance) > now and size > SETTLED:
                size /= 2
            unknowns = unknowns + size * step
            if np.max(np.abs(size * step)) < SETTLED:
                break
        found = self._with(unknowns, np.linalg.solve(inner, weighed.T), design, variance)
        found.moments.covariance[0, 0, 0] += _since(CAST_AGE_DAYS)
        return found

    def temp_draws(self, depth_m: Array, count: int, rng: np.random.Generator) -> Array:
        """Draw waters of the day, each about that of its draw of the catch rate.

        Parameters
        ----------
        depth_m : (depths,) array
        count : int
        rng : numpy.random.Generator

        Returns
        -------
        (depths, count) array
            Temperature in C.
        """
        mean, covariance = self.moments.mean[0], self.moments.covariance[0]
        values, vectors = np.linalg.eigh(covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        unknowns = mean + rng.standard_normal((count, len(mean))) @ root.T
        unknowns += self.follows[np.arange(count) % len(self.follows)]
        own, meter = rng.standard_normal((2, count, 1))
        profile = self.moments.profile(unknowns[:, None, :])
        temp, slopes = profile.slopes(depth_m)
        misfit = self.prior.misfit(slopes.share, np.asarray(profile.surface_c - profile.deep_c))
        return np.asarray((temp + misfit * own + THERMOMETER_C * meter).T)

    def _with(self, mean: Array, gain: Array, look: Array, variance: Array) -> DayWater:
        """Move to a mean, after a linear look (n, unknowns) whose errors have some variances (n,).

        Every draw is drawn to the reading by the same gain (unknowns, n): Matheron's rule, of
        which the covariance is Joseph's form ``(I - K H) C (I - K H)' + K V K'``.
        """
        left = np.eye(len(mean)) - gain @ look
        covariance = left @ self.moments.covariance[0] @ left.T + (gain * variance) @ gain.T
        moments = replace(self.moments, mean=mean[None, :], covariance=covariance[None, :, :])
        return replace(self, moments=moments, follows=self.follows @ left.T)


def _since(days: float) -> float:
    """Variance of the thermocline's depth that some days add: what passes and lasts of it."""
    gone = [
        sd**2 * (1.0 - np.exp(-2.0 * days / lasts))
        for sd, lasts in (
            (MIDDLE.lasting, MIDDLE.lasting_days),
            (MIDDLE.passing, MIDDLE.passing_days),
        )
    ]
    return float(sum(gone))
