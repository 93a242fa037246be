"""Owns the ratio of two groups' rates from the moments at which both were fishing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
PRIOR_SD = 1.5
"""Of the log ratio: nine times in ten within a factor of twelve either way (assumed, no source).
It keeps a group without a strike from being told as infinitely worse."""
_GRID = np.linspace(-7.0, 7.0, 2801)
_BOUNDS = (0.05, 0.5, 0.95)


@dataclass(frozen=True, kw_only=True)
class Ratio:
    """How many times the first group's rate is the second's: median, 90 % bounds, chance.

    Attributes
    ----------
    ratio, low, high : float
    p_more : float
        Chance that the first group's rate is the higher.
    strikes : (2,) tuple of int
        Of each group, at moments at which both were fishing.
    trips : int
    """

    ratio: float
    low: float
    high: float
    p_more: float
    strikes: tuple[int, int]
    trips: int


def side_by_side(took_first: Array, first: Array, second: Array, trip: Array) -> Ratio:
    """Compare two groups of rods at the strikes that came while both were fishing.

    Given that a strike came, the first group took it with chance ``t a / (t a + b)``, where ``a``
    and ``b`` count the rods of each then down and ``t`` is the ratio: a Cox partial likelihood
    with one binary covariate (Cox 1972, *J. R. Statist. Soc. B* 34, 187-220, from memory). What
    all rods of a boat share at one time drops out. The log likelihood is divided by the
    dispersion of the trips' scores, never below 1, for strikes of one trip tell much the same.

    Parameters
    ----------
    took_first : (strikes,) array of 0 and 1
    first, second : (strikes,) array
        Rods of each group down at the strike; both positive.
    trip : (strikes,) array
        Equal for strikes of one trip.

    Examples
    --------
    >>> one = np.ones(80)
    >>> told = side_by_side(np.repeat([1.0, 0.0], [60, 20]), one, one, np.arange(80.0))
    >>> round(told.ratio, 1), told.low > 1.5, told.strikes
    (2.9, True, (60, 20))
    """
    if not len(trip):
        nothing = float("nan")
        return Ratio(
            ratio=nothing, low=nothing, high=nothing, p_more=nothing, strikes=(0, 0), trips=0
        )
    odds = np.log(first / second)
    log_chance = odds[:, None] + _GRID
    log_likelihood = np.sum(
        took_first[:, None] * log_chance - np.logaddexp(0.0, log_chance), axis=0
    )
    prior = -0.5 * (_GRID / PRIOR_SD) ** 2
    middle = _GRID[np.argmax(log_likelihood + prior)]
    expected = 1.0 / (1.0 + np.exp(-(odds + middle)))
    _, cluster = np.unique(trip, return_inverse=True)
    scores = np.bincount(cluster, took_first - expected)
    trips = len(scores)
    information = float(np.sum(expected * (1.0 - expected)))
    correction = trips / max(trips - 1, 1)
    dispersion = max(1.0, correction * float(np.sum(scores**2)) / max(information, 1e-12))
    density = log_likelihood / dispersion + prior
    density = np.exp(density - density.max())
    below = np.cumsum(density) / density.sum()
    low, ratio, high = np.exp(np.interp(_BOUNDS, below, _GRID))
    taken = int(took_first.sum())
    return Ratio(
        ratio=float(ratio),
        low=float(low),
        high=float(high),
        p_more=float(density[_GRID > 0].sum() / density.sum()),
        strikes=(taken, len(took_first) - taken),
        trips=trips,
    )
