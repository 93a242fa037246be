"""Fit the water of one lake: courses of its layers and surface, its form, its sensors' errors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky
from scipy.linalg.lapack import dpotri

from analysis.water.measured import KINDS, Measured
from analysis.water.prior import MIDDLE, MISFIT, Prior
from analysis.water.prior import SURFACE as SKIN
from analysis.water.problem import Problem, State, course

Array = NDArray[np.float64]

MOST_STEPS = 30
SETTLED = 1e-2
"""Fall of the objective at which the water is found."""
SETTLED_M = 0.1
LEAST_DOUBT_M2 = 1e-9
SMALLEST_STEP = 1e-3
SMALLER, LARGER = (0.6, 0.35), (1.6, 2.5)
"""Sizes of the layers' displacements by days and hours that are tried, as shares of the usual, as
long as they explain the thermometers better. What the form leaves out from day to day may be but
larger: few casts fit a form that was bent to them."""
A_LITTLE_SMALLER = 0.9
SIZE_SD = 0.5
"""Of the log of such a size, before any cast."""


@dataclass(frozen=True, kw_only=True)
class WaterFit:
    """The water found: a normal posterior of its state about the likeliest one (Laplace).

    Attributes
    ----------
    measured : Measured
    prior : Prior
        As given, but with what the form leaves out as its thermometers have it.
    scale : float
        Size of the layers' displacements by days and hours, as a share of the usual.
    knots : (knots,) array
        Days since 1970.
    place : State
    state : (size,) array
    covariance : (size, size) array
    doubt_m2 : (n,) array
        Variance of the middle at each temperature, as it was averaged over.
    strain : (groups,) array
        Mean square error of each cast, probe or sounder trip, in its variances.
    evidence : float
        Log marginal likelihood.
    converged : bool
    """

    measured: Measured
    prior: Prior
    scale: float
    knots: Array
    place: State
    state: Array
    covariance: Array
    doubt_m2: Array
    strain: Array
    evidence: float
    converged: bool

    @cached_property
    def bridge(self) -> tuple[Array, Array]:
        """Inverse prior covariance of middles and of surfaces at the knots."""
        return (
            np.asarray(np.linalg.inv(course(MIDDLE, self.knots, self.scale)), dtype=float),
            np.asarray(np.linalg.inv(course(SKIN, self.knots, 1.0)), dtype=float),
        )

    @cached_property
    def told(self) -> Array:
        """Information on the state from each kind of thermometer (kinds, size, size)."""
        problem = Problem(self.measured, self.prior)
        look = problem.look(self.state, self.doubt_m2)
        kinds = range(len(KINDS))
        each = [np.where(self.measured.kind == kind, look.variance, np.inf) for kind in kinds]
        return np.stack([problem.information(look, variance) for variance in each])


def fit_water(measured: Measured, prior: Prior, first: WaterFit | None = None) -> WaterFit:
    """Find the water that explains all its thermometers, each believed by its own error.

    Depth of the thermocline and surface temperature are Gaussian processes of time: a usual
    course by day of the year, this year's own, and displacements that last days and hours.
    Thickness, lean and form are common to all seasons. The likeliest state is found by
    Gauss-Newton steps; the sizes of the displacements, and of what the form leaves out from day to
    day, by the marginal likelihood.

    Parameters
    ----------
    measured : Measured
    prior : Prior
    first : WaterFit, optional
        What :func:`solve` found of the same.

    Returns
    -------
    WaterFit
    """
    best = first if first is not None else solve(measured, prior)
    if not measured.below_surface.any():
        return best

    def unlike(size: float) -> WaterFit:
        other = replace(prior, misfit_share=size * prior.misfit_share)
        return _about(Problem(measured, other), 1.0, best.state, best.doubt_m2)

    formed = _better(best, unlike, LARGER)
    problem = Problem(measured, formed.prior)
    if formed is not best:
        formed = _solved(problem, 1.0, best.state)
    # The state is the likeliest, so that a small change tells the way without a step from it.
    slower = _about(problem, A_LITTLE_SMALLER, formed.state, formed.doubt_m2)
    sizes = SMALLER if slower.evidence > formed.evidence else LARGER
    return _better(formed, lambda size: _solved(problem, size, formed.state), sizes)


def _better(best: WaterFit, tried: Callable[[float], WaterFit], sizes: Sequence[float]) -> WaterFit:
    """Try some sizes in turn, as long as each explains the thermometers better."""
    for size in sizes:
        found = tried(size)
        if found.evidence <= best.evidence:
            break
        best = found
    return best


def solve(measured: Measured, prior: Prior, *, doubting: bool = False) -> WaterFit:
    """Find the water where its layers move as much as usual.

    ``doubting`` lets whole casts and sensors lie far off, as heavy tails have it.
    """
    problem = Problem(measured, prior)
    return _solved(problem, 1.0, problem.start(), doubting=doubting)


def _solved(problem: Problem, scale: float, start: Array, *, doubting: bool = False) -> WaterFit:
    """Gauss-Newton steps from a first guess, halved where they would lose.

    Surfaces and what is common to all times are found at their marginal maximum, not the joint
    one: each middle is in doubt, so its temperatures are expected to err by their steepness times
    that doubt, and a form is not bent only to keep the middles still (the log determinant of
    Laplace's approximation, held at the last step's doubt as EM does).
    """
    measured, place = problem.measured, problem.place
    precision, _ = problem.precision(scale)
    state, converged = start, False
    doubt = np.zeros(len(measured))
    for _ in range(MOST_STEPS):
        look = problem.look(state, doubt)
        off = measured.temp_c - look.temp_c
        variance = problem.doubted(off, look.variance) if doubting else look.variance
        inner = precision + problem.information(look, variance)
        moved, doubt = doubt, _doubt(inner, place)[problem.knot]
        steep = problem.steepness(state)
        inner += problem.information(steep, variance / np.maximum(doubt, LEAST_DOUBT_M2))
        pull = problem.pull(look, off / variance) - precision @ (state - problem.mean)
        pull -= problem.pull(steep, doubt * steep.temp_c / variance)
        step = cho_solve(cho_factor(inner, lower=True), pull)
        weigh = _Objective(problem, precision, variance, moved, doubt)
        here, size = weigh.seen(state, look.temp_c, look.by_middle), 1.0
        gain = here - weigh.of(state + step)
        while gain < 0 and size > SMALLEST_STEP:
            size /= 2
            larger, gain = gain, here - weigh.of(state + size * step)
            if 4 * gain <= larger:
                break  # by the parabola through both it leads uphill from the start
        still = float(np.max(np.abs(np.sqrt(doubt) - np.sqrt(moved)), initial=0.0)) < SETTLED_M
        if gain < SETTLED and still:
            converged = True
            break
        if gain > 0:
            state = state + size * step
    found = _about(problem, scale, state, doubt, doubting=doubting)
    return replace(found, converged=converged)


def _about(
    problem: Problem, scale: float, state: Array, doubt: Array, *, doubting: bool = False
) -> WaterFit:
    """Return the normal posterior about a state, as if it were the likeliest."""
    measured, place = problem.measured, problem.place
    precision, log_det = problem.precision(scale)
    look = problem.look(state, doubt)
    off = measured.temp_c - look.temp_c
    variance = problem.doubted(off, look.variance) if doubting else look.variance
    factor = cholesky(precision + problem.information(look, variance), lower=True)
    away = state - problem.mean
    evidence = -0.5 * float(np.sum(off**2 / variance + np.log(variance)) + away @ precision @ away)
    evidence -= 0.5 * log_det + float(np.sum(np.log(np.diag(factor))))
    sizes = np.array([scale, problem.prior.misfit_share / MISFIT])
    return WaterFit(
        measured=measured,
        prior=problem.prior,
        scale=scale,
        knots=problem.days,
        place=place,
        state=state,
        covariance=_inverse(factor),
        doubt_m2=doubt,
        strain=problem.strain(off, look.variance),
        evidence=evidence - 0.5 * float(np.sum((np.log(sizes) / SIZE_SD) ** 2)),
        converged=False,
    )


def _doubt(inner: Array, place: State) -> Array:
    """Variance of each middle, given what is common to all times."""
    # Surfaces meet middles at their own knot alone, so that they are taken out knot by knot.
    tie = np.diag(inner[place.middle, place.surface])
    # of either inverse the lower half is enough
    surfaces, _ = dpotri(cholesky(inner[place.surface, place.surface], lower=True), lower=1)
    left = inner[place.middle, place.middle] - tie[:, None] * surfaces * tie
    middles, _ = dpotri(cholesky(left, lower=True), lower=1)
    return np.diag(middles)


def _inverse(factor: Array) -> Array:
    """Inverse of the matrix whose lower Cholesky factor this is."""
    inverse, _ = dpotri(factor, lower=1)
    lower = np.tril(inverse)
    return np.asarray(lower + np.tril(lower, -1).T)


@dataclass(frozen=True)
class _Objective:
    """Half of the expected weighted squares, with the doubt of the middles held."""

    problem: Problem
    precision: Array
    variance: Array
    averaged: Array
    doubt: Array

    def of(self, state: Array) -> float:
        """Return it for a state not looked at yet."""
        return self.seen(state, *self.problem.glance(state, self.averaged))

    def seen(self, state: Array, temp_c: Array, by_middle: Array) -> float:
        """Return it for a state, given what `Problem.look` tells of it."""
        away = state - self.problem.mean
        off = self.problem.measured.temp_c - temp_c
        expected = off**2 + self.doubt * by_middle**2
        return 0.5 * float(np.sum(expected / self.variance) + away @ self.precision @ away)
