"""Owns the unknowns of a water, and what its thermometers say of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag, cholesky, solve_triangular

from analysis.water.measured import CAST, DAY_US, PROBE, SURFACE, Measured, knot
from analysis.water.prior import MIDDLE, MIDSUMMER, Prior, Wander, day_of_year
from analysis.water.prior import SURFACE as SKIN
from analysis.water.profile import BUMP_AT, Profile

Array = NDArray[np.float64]
Index = NDArray[np.intp]

JITTER = 1e-6
SURFACE_BIAS_C, PROBE_BIAS_C = 0.3, 0.2
"""Standard deviations of what a boat's sounder and probe err by all season (assumed)."""
PLACES = len(BUMP_AT)
FORM = 5 + 2 * PLACES
"""Unknowns of the form, common to all times."""
FIRST_GUESS_M, FIRST_GUESS_C = 1.5, 0.5
TAIL = 4.0
"""Degrees of freedom of the heavy tails by which a cast or sensor in error is found."""
NUDGE = 1e-4
LOOKS, CHANCES = np.polynomial.hermite_e.hermegauss(5)
CHANCES = CHANCES / CHANCES.sum()
"""Middles over which a temperature is averaged, in standard deviations, and their chances."""


@dataclass(frozen=True, kw_only=True)
class State:
    """Places of the unknowns in one vector.

    Attributes
    ----------
    knots : int
        Stretches of time with a temperature; each has a middle and a surface.
    boats : int
    """

    knots: int
    boats: int

    @property
    def middle(self) -> slice:
        """Depth of the thermocline at each knot."""
        return slice(0, self.knots)

    @property
    def surface(self) -> slice:
        """Surface temperature at each knot."""
        return slice(self.knots, 2 * self.knots)

    @property
    def form(self) -> slice:
        """The five terms of `Prior.terms`, corrections of the form, their change in 100 days."""
        return slice(2 * self.knots, 2 * self.knots + FORM)

    @property
    def common(self) -> slice:
        """All that is common to all times: the form, then the sensors."""
        return slice(self.form.start, self.size)

    @property
    def sensors(self) -> slice:
        """By boat: error of the sounder, and of the probe."""
        return slice(self.form.stop, self.size)

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return 2 * self.knots + FORM + 2 * self.boats


@dataclass(frozen=True, kw_only=True)
class Look:
    """What the thermometers should have shown for one state, and how that changes with it.

    Attributes
    ----------
    temp_c, variance : (n,) arrays
    by_middle, by_surface : (n,) arrays
        Derivatives by the middle and the surface of the own knot.
    by_common : (n, common) array
    """

    temp_c: Array
    variance: Array
    by_middle: Array
    by_surface: Array
    by_common: Array


class Problem:
    """One water's temperatures, and how likely a state makes them."""

    def __init__(self, measured: Measured, prior: Prior) -> None:
        self.measured, self.prior = measured, prior
        times = np.unique(knot(measured.time))
        self.days = times / DAY_US
        self.knot = np.searchsorted(times, knot(measured.time)).astype(np.intp)
        self.place = State(knots=len(times), boats=int(measured.boat.max(initial=0)) + 1)
        self.trend = (day_of_year(self.days) - MIDSUMMER) / 100.0
        mean = np.zeros(self.place.size)
        mean[self.place.middle] = prior.middle(self.days)
        mean[self.place.surface] = prior.surface(self.days)
        mean[self.place.form.start : self.place.form.start + 5] = prior.terms[0]
        self.mean = mean

    def start(self) -> Array:
        """First guess: where each cast has fallen half-way, smoothed over time."""
        measured, place = self.measured, self.place
        state = self.mean.copy()
        skin = np.flatnonzero(measured.depth_m < 2.0)
        off = measured.temp_c[skin] - self.mean[place.surface][self.knot[skin]]
        surface = course(SKIN, self.days, 1.0)
        state[place.surface] += _smoothed(surface, self.knot[skin], off, FIRST_GUESS_C)
        half, at = [], []
        casts = np.flatnonzero(measured.of_kind(CAST))
        for group in np.unique(measured.group[casts]):
            rows = casts[measured.group[casts] == group]
            temp, depth = measured.temp_c[rows], measured.depth_m[rows]
            fallen = np.flatnonzero(temp < 0.5 * (temp.max() + self.prior.terms[0][3]))
            if np.ptp(temp) > 3.0 and len(fallen) and fallen[0] > 0:
                half.append(depth[fallen[0]])
                at.append(self.knot[rows[0]])
        knots = np.array(at, dtype=np.intp)
        off = np.array(half) - self.mean[place.middle][knots]
        middle = course(MIDDLE, self.days, 1.0)
        state[place.middle] += _smoothed(middle, knots, off, FIRST_GUESS_M)
        return state

    @cached_property
    def _fixed(self) -> tuple[tuple[Array, float], tuple[Array, float]]:
        """Precision of surfaces and of what is common to all times, which no scale changes."""
        sensors = np.tile([SURFACE_BIAS_C, PROBE_BIAS_C], self.place.boats)
        common = block_diag(self.prior.form_covariance, np.diag(sensors**2))
        return _inverse(course(SKIN, self.days, 1.0)), _inverse(common)

    def precision(self, scale: float) -> tuple[Array, float]:
        """Prior precision of the state, and the log determinant of its covariance."""
        place = self.place
        full = np.zeros((place.size, place.size))
        parts = (_inverse(course(MIDDLE, self.days, scale)), *self._fixed)
        for where, (part, _) in zip(
            (place.middle, place.surface, place.common), parts, strict=True
        ):
            full[where, where] = part
        return full, sum(log_det for _, log_det in parts)

    def profile(self, state: Array) -> Profile:
        """Profile at each temperature measured."""
        place, knots = self.place, self.knot
        middle, surface = state[place.middle][knots], state[place.surface][knots]
        return profile_of(middle, surface, state[place.form], self.trend[knots])

    def _sensed(self, state: Array) -> Array:
        """By how much the sensor of each temperature errs, in a state."""
        sensors = state[self.place.sensors].reshape(-1, 2)[self.measured.boat]
        surface, probe = (self.measured.of_kind(kind) for kind in (SURFACE, PROBE))
        return np.where(surface, sensors[:, 0], np.where(probe, sensors[:, 1], 0.0))

    def glance(self, state: Array, doubt: Array) -> tuple[Array, Array]:
        """Return ``temp_c`` and ``by_middle`` as `look` tells them, for much less work."""
        profile, sd = self.profile(state), np.sqrt(doubt)
        looks = [
            replace(profile, middle_m=profile.middle_m + at * sd).by_middle(self.measured.depth_m)
            for at in LOOKS
        ]
        temp, by_middle = np.tensordot(CHANCES, looks, 1)
        return temp + self._sensed(state), by_middle

    def look(self, state: Array, doubt: Array) -> Look:
        """Predict the thermometers and differentiate by the state.

        The middle of each is averaged over its doubt, a variance: where the water is the same for
        many metres the likeliest middle is no fair one. The slope by the middle is that of the
        best straight line, and what bends away from it adds to the variance (posterior
        linearisation: Garcia-Fernandez, Svensson, Morelande & Sarkka 2015, *IEEE Trans. Signal
        Process.* 63(20), 5561-5573, from memory).
        """
        measured, depth = self.measured, self.measured.depth_m
        profile = self.profile(state)
        trend = self.trend[self.knot]
        sd = np.sqrt(doubt)
        temps, falls, forms, noise = [], [], [], []
        for at in LOOKS:
            temp, slopes = replace(profile, middle_m=profile.middle_m + at * sd).slopes(depth)
            temps.append(temp)
            falls.append(slopes.middle)
            forms.append((slopes.thickness, slopes.lean, slopes.share, slopes.bumps))
            misfit = self.prior.misfit(slopes.share, profile.surface_c - profile.deep_c)
            noise.append((measured.error_m * slopes.depth) ** 2 + misfit**2)
        temp = np.tensordot(CHANCES, temps, 1)
        # the design is linear in the slopes, and so is that of their means
        thickness, lean, share, bumps = (
            sum(chance * slope for chance, slope in zip(CHANCES, slopes, strict=True))
            for slopes in zip(*forms, strict=True)
        )
        by_middle = np.tensordot(CHANCES, falls, 1)
        bent = np.tensordot(CHANCES, (np.array(temps) - temp) ** 2, 1) - by_middle**2 * doubt
        common = np.zeros((len(measured), self.place.size - self.place.common.start))
        common[:, :FORM] = form_design(thickness, lean, share, bumps, trend)
        own, rows = FORM + 2 * measured.boat, np.arange(len(measured))
        common[rows, own] = measured.of_kind(SURFACE)
        common[rows, own + 1] = measured.of_kind(PROBE)
        return Look(
            temp_c=temp + self._sensed(state),
            variance=measured.error_c**2 + np.tensordot(CHANCES, noise, 1) + np.maximum(bent, 0.0),
            by_middle=by_middle,
            by_surface=share,
            by_common=common,
        )

    def steepness(self, state: Array) -> Look:
        """Look at the derivative of each temperature by its middle, the middle held still."""
        profile, depth = self.profile(state), self.measured.depth_m
        here = profile.slopes(depth)[1]
        lower = replace(profile, middle_m=profile.middle_m + NUDGE).slopes(depth)[1]
        thicker = replace(profile, log_thickness=profile.log_thickness + NUDGE).slopes(depth)[1]
        leaning = replace(profile, lean=profile.lean + NUDGE).slopes(depth)[1]
        contrast = np.asarray(profile.surface_c - profile.deep_c)
        contrast = np.where(np.abs(contrast) < NUDGE, NUDGE, contrast)
        out = np.zeros((len(depth), self.place.size - self.place.common.start))
        out[:, :FORM] = form_design(
            (thicker.middle - here.middle) / NUDGE,
            (leaning.middle - here.middle) / NUDGE,
            1.0 + here.middle / contrast,
            (lower.bumps - here.bumps) / NUDGE,
            self.trend[self.knot],
        )
        return Look(
            temp_c=here.middle,
            variance=np.ones(len(depth)),
            by_middle=np.zeros(len(depth)),
            by_surface=here.middle / contrast,
            by_common=out,
        )

    def information(self, look: Look, variance: Array) -> Array:
        """Information of the thermometers on the state."""
        place, knots = self.place, self.knot
        out = np.zeros((place.size, place.size))
        for where, by in ((place.middle, look.by_middle), (place.surface, look.by_surface)):
            weighted = by / variance
            for other, further in (
                (place.middle, look.by_middle),
                (place.surface, look.by_surface),
            ):
                each = np.bincount(knots, weights=weighted * further, minlength=place.knots)
                np.fill_diagonal(out[where, other], each)
            crossed = np.column_stack(
                [
                    np.bincount(knots, weights=weighted * column, minlength=place.knots)
                    for column in look.by_common.T
                ]
            )
            out[where, place.common] = crossed
            out[place.common, where] = crossed.T
        out[place.common, place.common] = (look.by_common / variance[:, None]).T @ look.by_common
        return out

    def pull(self, look: Look, weighted_off: Array) -> Array:
        """Gradient of the log likelihood: errors over their variances, brought to the state."""
        count = self.place.knots
        return np.concatenate(
            [
                np.bincount(self.knot, weights=look.by_middle * weighted_off, minlength=count),
                np.bincount(self.knot, weights=look.by_surface * weighted_off, minlength=count),
                look.by_common.T @ weighted_off,
            ]
        )

    def strain(self, off: Array, variance: Array) -> Array:
        """Mean square error of each group of temperatures, in its variances."""
        group = self.measured.group
        count = np.maximum(np.bincount(group), 1)
        return np.asarray(np.bincount(group, weights=off**2 / variance) / count)

    def doubted(self, off: Array, variance: Array) -> Array:
        """Variances, larger for groups that fit ill, as heavy tails have it (Student's t)."""
        count = np.bincount(self.measured.group)
        strain = self.strain(off, variance) * count
        return np.asarray(variance * ((TAIL + strain) / (TAIL + count))[self.measured.group])


def course(wander: Wander, days: Array, scale: float) -> Array:
    """Covariance of a course at some days, with a little of its own at each."""
    return np.asarray(wander.covariance(days, days, scale) + JITTER * np.eye(len(days)))


def profile_of(middle: Array, surface: Array, form: Array, trend: Array) -> Profile:
    """Profiles from the unknowns; ``trend`` is time from midsummer in 100 days.

    ``form`` holds the unknowns of the form (..., FORM).
    """
    return Profile(
        surface_c=surface,
        deep_c=form[..., 3] + form[..., 4] * trend,
        middle_m=middle,
        log_thickness=form[..., 0] + form[..., 1] * trend,
        lean=form[..., 2],
        bumps=form[..., 5 : 5 + PLACES] + form[..., 5 + PLACES :] * np.asarray(trend)[..., None],
    )


def form_design(thickness: Array, lean: Array, share: Array, bumps: Array, trend: Array) -> Array:
    """Bring a profile's slopes to the unknowns of the form (n, FORM)."""
    deep = 1.0 - share
    first = [thickness, thickness * trend, lean, deep, deep * trend]
    return np.column_stack([*first, bumps, bumps * trend[:, None]])


def _inverse(covariance: Array) -> tuple[Array, float]:
    """Inverse, and the log determinant of what is inverted."""
    factor = cholesky(covariance, lower=True)
    half = solve_triangular(factor, np.eye(len(covariance)), lower=True)
    return half.T @ half, 2.0 * float(np.sum(np.log(np.diag(factor))))


def _smoothed(covariance: Array, knots: Index, values: Array, sd: float) -> Array:
    """Mean of a course that was seen at some knots with an error."""
    if not len(knots):
        return np.zeros(len(covariance))
    count = np.bincount(knots, minlength=len(covariance)).astype(float)
    mean = np.bincount(knots, weights=values, minlength=len(count)) / np.maximum(count, 1.0)
    seen = np.flatnonzero(count)
    inner = covariance[np.ix_(seen, seen)] + np.diag(sd**2 / count[seen])
    return np.asarray(covariance[:, seen] @ np.linalg.solve(inner, mean[seen]))
