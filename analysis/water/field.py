"""Owns how warm the water was, and how sure that is, at any time and depth."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.water.fit import WaterFit
from analysis.water.measured import DAY_US, knot
from analysis.water.prior import MIDDLE, MIDSUMMER, SURFACE, Prior, Wander, day_of_year
from analysis.water.problem import FORM, form_design, profile_of
from analysis.water.profile import Profile

Array = NDArray[np.float64]

LOOKS, CHANCES = np.polynomial.hermite_e.hermegauss(7)
CHANCES = CHANCES / CHANCES.sum()
"""Depths of the thermocline that are looked at, in standard deviations, and their chances."""
COURSES = ("middle", "surface")
MOST_AT_ONCE = 4_000
DEPTH_STEP_M = 0.1
THERMOMETER_C = 0.05
"""By how much all casts of a season may err alike (assumed: nobody calibrates a thermometer)."""


@dataclass(frozen=True, kw_only=True)
class Moments:
    """The unknowns of the water at some times: middle, surface, then those of the form.

    Attributes
    ----------
    mean : (times, unknowns) array
    covariance : (times, unknowns, unknowns) array
    trend : (times,) array
        Time from midsummer in 100 days.
    """

    mean: Array
    covariance: Array
    trend: Array

    def take(self, index: NDArray[np.intp]) -> Moments:
        """Return those of some times."""
        return replace(
            self,
            mean=self.mean[index],
            covariance=self.covariance[index],
            trend=self.trend[index],
        )

    @property
    def middle_sd(self) -> Array:
        """Standard deviation of the thermocline's depth (times,)."""
        return np.sqrt(self.covariance[:, 0, 0])

    def design(self, profile: Profile, depth_m: Array) -> tuple[Array, Array, Array]:
        """Temperature of each entry, its derivatives by the unknowns, and the profile's share."""
        temp, slopes = profile.slopes(depth_m)
        form = form_design(slopes.thickness, slopes.lean, slopes.share, slopes.bumps, self.trend)
        return temp, np.column_stack([slopes.middle, slopes.share, form]), slopes.share

    def profile(self, unknowns: Array) -> Profile:
        """Profile of each time by its unknowns (..., times, unknowns)."""
        return profile_of(unknowns[..., 0], unknowns[..., 1], unknowns[..., 2:], self.trend)


@dataclass(frozen=True, kw_only=True)
class Water:
    """A fitted water, to be asked.

    Attributes
    ----------
    fit : WaterFit
    """

    fit: WaterFit

    def at(self, time: NDArray[np.int64], depth_m: Array) -> tuple[Array, Array]:
        """Tell the temperature at some times and depths.

        The depth of the thermocline is averaged over by Gauss-Hermite quadrature, the other
        unknowns linearly about each of its values. Depths are rounded to `DEPTH_STEP_M`.

        Parameters
        ----------
        time : (n,) int array
            Microseconds since 1970, UTC.
        depth_m : (n,) array
            NaN where unknown.

        Returns
        -------
        mean, sd : (n,) arrays
            In C; NaN where the depth is.
        """
        moments, place = self.moments(time)
        step = np.round(np.nan_to_num(depth_m) / DEPTH_STEP_M).astype(np.int64)
        wanted, back = np.unique(np.column_stack([place, step]), axis=0, return_inverse=True)
        mean, sd = np.empty(len(wanted)), np.empty(len(wanted))
        for first in range(0, len(wanted), MOST_AT_ONCE):
            part = wanted[first : first + MOST_AT_ONCE]
            found = _averaged(self.fit.prior, moments.take(part[:, 0]), part[:, 1] * DEPTH_STEP_M)
            mean[first : first + MOST_AT_ONCE], sd[first : first + MOST_AT_ONCE] = found
        known = np.where(np.isnan(depth_m), np.nan, 0.0)
        return mean[back.ravel()] + known, sd[back.ravel()] + known

    def at_height(
        self, time: NDArray[np.int64], depth_m: Array, away_m: Array | float = 0.0
    ) -> Array:
        """Temperature where the thermocline lies ``away_m`` deeper than its mean (..., n)."""
        if not np.any(away_m):  # then what goes with it need not be known
            mean, place, days = self.likeliest(time)
            return profile_temp(mean[place], trend_of(days)[place], depth_m)
        moments, place = self.moments(time)
        pull = moments.covariance[:, 0, :] / moments.covariance[:, 0, 0][:, None]
        away = np.asarray(away_m)[..., None]
        unknowns = moments.mean[place] + pull[place] * away
        return profile_temp(unknowns, moments.trend[place], depth_m)

    def middle(self, time: NDArray[np.int64]) -> tuple[Array, Array]:
        """Mean and sd of the thermocline's depth in metres at some times (n,)."""
        fit, part = self.fit, self.fit.place.middle
        times, index = np.unique(knot(time), return_inverse=True)
        days = times / DAY_US
        reach, left = self._bridged(days, "middle")
        away = fit.state[part] - fit.prior.middle(fit.knots)
        variance = np.sum((reach @ fit.covariance[part, part]) * reach, axis=1) + np.diag(left)
        return (fit.prior.middle(days) + reach @ away)[index], np.sqrt(variance)[index]

    def middle_covariance(self, time: NDArray[np.int64]) -> Array:
        """Covariance of the thermocline's depth between some times (n, n)."""
        fit = self.fit
        days = knot(time) / DAY_US
        reach, left = self._bridged(days, "middle")
        covariance = fit.covariance[fit.place.middle, fit.place.middle]
        return np.asarray(reach @ covariance @ reach.T + left)

    def draw(
        self, time: NDArray[np.int64], depth_m: Array, count: int, rng: np.random.Generator
    ) -> Array:
        """Draw whole waters and tell each one's temperatures (count, n); near times go together."""
        fit, place = self.fit, self.fit.place
        times, index = np.unique(knot(time), return_inverse=True)
        days = times / DAY_US
        middle_reach, middle_left = self._bridged(days, "middle")
        surface_reach, surface_left = self._bridged(days, "surface")
        known = slice(0, place.form.stop)
        state = fit.state[known] + rng.standard_normal((count, known.stop)) @ _root(
            fit.covariance[known, known]
        )
        prior = fit.prior
        usual = prior.middle(fit.knots), prior.surface(fit.knots)
        middle = prior.middle(days) + (state[:, place.middle] - usual[0]) @ middle_reach.T
        surface = prior.surface(days) + (state[:, place.surface] - usual[1]) @ surface_reach.T
        middle = middle + rng.standard_normal(middle.shape) @ _root(middle_left)
        surface = surface + rng.standard_normal(surface.shape) @ _root(surface_left)
        profile = profile_of(
            middle[:, index],
            surface[:, index],
            state[:, None, place.form],
            trend_of(days)[index],
        )
        return profile.temp_c(depth_m)

    def moments(self, time: NDArray[np.int64]) -> tuple[Moments, NDArray[np.intp]]:
        """Moments of the unknowns at each distinct stretch of time, and which each time is in."""
        fit = self.fit
        mean, index, days = self.likeliest(time)
        covariance = self.projected(fit.covariance, days)
        for course, name in enumerate(COURSES):
            covariance[:, course, course] += np.diag(self._bridged(days, name)[1])
        return Moments(mean=mean, covariance=covariance, trend=trend_of(days)), index

    def likeliest(self, time: NDArray[np.int64]) -> tuple[Array, NDArray[np.intp], Array]:
        """Likeliest unknowns at each distinct stretch of time, which each is in, and its day."""
        fit, place = self.fit, self.fit.place
        times, index = np.unique(knot(time), return_inverse=True)
        days = times / DAY_US
        means = []
        for name, usual in (("middle", fit.prior.middle), ("surface", fit.prior.surface)):
            away = fit.state[getattr(place, name)] - usual(fit.knots)
            means.append(usual(days) + self.reach(days, name) @ away)
        form = np.broadcast_to(fit.state[place.form], (len(days), FORM))
        return np.column_stack([*means, form]), index.astype(np.intp), days

    def projected(self, matrix: Array, days: Array) -> Array:
        """Bring a matrix over the state to the unknowns at some days (days, unknowns, unknowns)."""
        place = self.fit.place
        rest = place.form
        reaches = [(getattr(place, name), self._bridged(days, name)[0]) for name in COURSES]
        out = np.zeros((len(days), 2 + FORM, 2 + FORM))
        for i, (one, reach) in enumerate(reaches):
            for j, (other, further) in enumerate(reaches):
                out[:, i, j] = np.sum((reach @ matrix[one, other]) * further, axis=1)
            out[:, i, 2:] = reach @ matrix[one, rest]
            out[:, 2:, i] = reach @ matrix[rest, one].T
        out[:, 2:, 2:] = matrix[rest, rest]
        return out

    def before(self, days: Array) -> Array:
        """Covariance of the unknowns at some days before any thermometer, shaped as `projected`."""
        prior, out = self.fit.prior, np.zeros((len(days), 2 + FORM, 2 + FORM))
        out[:, 0, 0] = np.diag(MIDDLE.covariance(days, days, self.fit.scale))
        out[:, 1, 1] = np.diag(SURFACE.covariance(days, days))
        out[:, 2:, 2:] = prior.form_covariance
        return out

    def reach(self, days: Array, course: str) -> Array:
        """Weights of the knots in a course (``middle`` or ``surface``) at some days."""
        wander, scale, inverse = self._course(course)
        return np.asarray(wander.covariance(days, self.fit.knots, scale) @ inverse)

    def _bridged(self, days: Array, course: str) -> tuple[Array, Array]:
        """Weights of the knots at some days, and the covariance that they leave open."""
        return self.reach(days, course), self.unbridged(days, days, course)

    def unbridged(self, one: Array, other: Array, course: str) -> Array:
        """Covariance of a course between some days that its knots leave open (one, other)."""
        wander, scale, inverse = self._course(course)
        left, right = (wander.covariance(days, self.fit.knots, scale) for days in (one, other))
        return np.asarray(wander.covariance(one, other, scale) - left @ inverse @ right.T)

    def _course(self, name: str) -> tuple[Wander, float, Array]:
        """How a course wanders, how far, and the inverse of its covariance at the knots."""
        fit = self.fit
        if name == "middle":
            return MIDDLE, fit.scale, fit.bridge[0]
        return SURFACE, 1.0, fit.bridge[1]


def profile_temp(unknowns: Array, trend: Array, depth_m: Array) -> Array:
    """Temperature at some depths by the unknowns of each (..., n, unknowns)."""
    profile = profile_of(unknowns[..., 0], unknowns[..., 1], unknowns[..., 2:], trend)
    return profile.temp_c(depth_m)


def trend_of(days: Array) -> Array:
    """Time from midsummer in 100 days."""
    return np.asarray((day_of_year(days) - MIDSUMMER) / 100.0)


def _averaged(prior: Prior, here: Moments, depth_m: Array) -> tuple[Array, Array]:
    """Mean and sd of the temperature of each entry over its unknowns."""
    middle_sd = here.middle_sd
    pull = here.covariance[:, 0, :] / here.covariance[:, 0, 0][:, None]
    rest = here.covariance - pull[:, :, None] * here.covariance[:, 0, None, :]
    mean, square = np.zeros(len(depth_m)), np.zeros(len(depth_m))
    for look, chance in zip(LOOKS, CHANCES, strict=True):
        profile = here.profile(here.mean + pull * (look * middle_sd)[:, None])
        temp, design, share = here.design(profile, depth_m)
        design[:, 0] = 0.0  # the middle is looked at, not linear
        variance = np.sum((design[:, None, :] @ rest)[:, 0] * design, axis=1)
        contrast = np.asarray(profile.surface_c - profile.deep_c)
        variance = variance + prior.misfit(share, contrast) ** 2 + THERMOMETER_C**2
        mean += chance * temp
        square += chance * (temp**2 + np.maximum(variance, 0.0))
    return mean, np.sqrt(np.maximum(square - mean**2, 0.0))


def _root(covariance: Array) -> Array:
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T)
