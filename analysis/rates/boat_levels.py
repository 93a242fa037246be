"""How well fish bite for each boat: its mean level, how far trips differ, hours against rods."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.special import gammaln

from analysis.rates.exposure import HOUR_US, Exposure, covered, trip_spans
from analysis.rates.rods import risk_sets
from analysis.rates.terms import RateModel
from analysis.stats.cells import summing

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TRIP_SHAPE = 1.5
"""Usual shape of the gamma spread of trips' levels about their boat's mean: days differ by a
factor of two or so (from memory)."""
SHAPES = np.geomspace(0.25, 9.0, 25)
"""Shapes that a boat's trips may tell, log-normal about the usual one before they do."""
SHAPE_LOG_SD = 0.7
ROUNDS = 6
"""By which a boat's mean level is found: each takes off most of what is left."""
LEAST_EFFORT = 0.3
"""Share of its trip's usual effort that counts as down at a strike at the least, so that one on the
only line that was still in does not stand for an hour of all rods."""
TINY = 1e-200
"""Stands for no rod-hours, so that a boat without any is no division by nothing."""


def drawn_shapes(struck: Array, exposed: Array, of_boat: Array, rng: np.random.Generator) -> Array:
    """Draw the shape of each boat's gamma spread of trips (boats,), given its trips' strikes.

    Given the shape, and the boat's mean, strikes of a trip are negative binomial. Of its logarithm
    the strikes times that of what was expected are left out: crews fish longer on good days, by
    which days look more alike than they are, and levels surer (tests/benchmarks/coverage_study.md).
    """
    every = np.broadcast_to(exposed[:, None], (len(exposed), len(SHAPES)))
    mean = mean_levels(struck, every, of_boat, SHAPES)
    expected = of_boat.T @ mean * exposed[:, None]
    met = struck[:, None]
    log = gammaln(met + SHAPES) - gammaln(SHAPES) - met * np.log(expected + SHAPES)
    log -= SHAPES * np.log1p(expected / SHAPES)
    log = of_boat @ log - 0.5 * (np.log(SHAPES / TRIP_SHAPE) / SHAPE_LOG_SD) ** 2
    chance = np.cumsum(np.exp(log - log.max(axis=1, keepdims=True)), axis=1)
    place = np.sum(chance < rng.random((len(log), 1)) * chance[:, -1:], axis=1)
    return np.asarray(SHAPES[place])


def drawn_means(
    struck: Array, exposed: Array, of_boat: Array, spread: Array, rng: np.random.Generator
) -> Array:
    """Draw each boat's mean level (boats, draws): gamma, half a strike added (Jeffreys' prior).

    Its relative variance is that of the strikes as counted, and that of so many trips which
    differ by ``spread``.
    """
    mean = mean_levels(struck, exposed, of_boat, spread[:, None])
    total = np.maximum(of_boat @ exposed, TINY)
    alike = total**2 / np.maximum(of_boat @ exposed**2, TINY)
    met = (of_boat @ struck + 0.5)[:, None]
    shape = 1.0 / (1.0 / met + 1.0 / (spread[:, None] * np.maximum(alike, 1.0)))
    return np.asarray(np.maximum(rng.gamma(shape) / shape * mean, TINY))


def mean_levels(struck: Array, exposed: Array, of_boat: Array, shape: Array) -> Array:
    """Return each boat's mean level.

    The likeliest mean of negative binomial strikes of a known shape, half a strike added. A trip
    counts the less beyond a few strikes, however many more it has: crews fish longer and with more
    rods on good days, and the mean over rod-hours is no usual day's.

    Parameters
    ----------
    struck : (trips,) array
    exposed : (trips, draws) array
        Rod-hours weighted by the curves.
    of_boat : (boats, trips) array
        1 where a trip is the boat's.
    shape : (boats or 1, draws or 1) array
        Of the gamma spread of trips' levels.

    Returns
    -------
    (boats, draws) array
    """
    mean = (of_boat @ struck + 0.5)[:, None] / np.maximum(of_boat @ exposed, TINY)
    for _ in range(ROUNDS):
        expected = of_boat.T @ mean * exposed
        weight = 1.0 / (1.0 + expected / (of_boat.T @ np.broadcast_to(shape, mean.shape)))
        mean = (of_boat @ (weight * struck[:, None]) + 0.5) / np.maximum(
            of_boat @ (weight * exposed), TINY
        )
    return np.asarray(mean)


@dataclass(frozen=True, kw_only=True)
class AtStrikes:
    """The rods down at each strike, and for how long boats had rods down.

    Attributes
    ----------
    trip : (strikes,) int array
    down : (strikes, rows) sparse array
        That sums slices over the rods down: rod-hours an hour of each.
    boat_h : (trips,) array
        Length of each trip.
    fished_h : (trips,) array
        Of it with a rod down.
    """

    trip: Index
    down: csr_array
    boat_h: Array
    fished_h: Array

    @classmethod
    def of(cls, exposure: Exposure, model: RateModel, row: Index) -> AtStrikes:
        """Find the rods down at strikes among some slices, those of known covariates (rows,)."""
        sets = risk_sets(exposure, model)
        strikes, moment = np.unique(sets.moment, return_inverse=True)
        place = np.full(len(exposure.trip), -1)
        place[row] = np.arange(len(row))
        lasted_h = (exposure.end - exposure.start)[sets.row] / HOUR_US
        effort = exposure.table["hours"].to_numpy(dtype=float)[sets.row] / lasted_h
        within = effort, (moment, place[sets.row])
        first, last = trip_spans(exposure.trip, exposure.start, exposure.end)
        fished_us = covered(exposure.trip[row], exposure.start[row], exposure.end[row], len(first))
        return cls(
            trip=exposure.trip[exposure.strike_row[strikes]],
            down=csr_array(within, shape=(len(strikes), len(row))),
            boat_h=(last - first) / HOUR_US,
            fished_h=fished_us / HOUR_US,
        )

    def over_rods(
        self, met: Array, exposed: Array, of_boat: Array, rng: np.random.Generator
    ) -> Array:
        """How fish bit through the boat's hours, over how they bit through those of its rods.

        Strikes over effort are the mean bite of rod-hours: an hour counts by the rods that were
        down in it, and a rod that took a fish is out of the water whilst they bite. The mean over
        boat hours is told by each strike over the effort of the rods down just then (Aalen 1978,
        *Annals of Statistics* 6(4), 701-726, from memory): without bias, since what was down
        before a strike does not follow from it. One trip has too few: a boat's trips tell it
        together, and how surely is drawn by a Bayesian bootstrap of the strikes (Rubin 1981,
        *Annals of Statistics* 9(1), 130-134, from memory).

        Parameters
        ----------
        met : (rows, draws) array
            Rate of each slice by what it met.
        exposed : (trips, draws) array
            Rod-hours weighted by that.
        of_boat : (boats, trips) array
        rng : numpy.random.Generator

        Returns
        -------
        (boats, draws) array
            1 for a boat without a strike.
        """
        trips = len(self.boat_h)
        fished_h = np.maximum(self.fished_h, TINY)[:, None]
        least = LEAST_EFFORT * exposed / fished_h
        down = np.maximum(self.down @ met, np.maximum(least, TINY)[self.trip])
        often = rng.standard_exponential(down.shape)
        by_trip = summing(self.trip, trips)
        boat_h = of_boat * self.boat_h
        by_hours = boat_h @ (by_trip @ (often / down) / fished_h)
        by_rods = boat_h @ (by_trip @ often / np.maximum(exposed, TINY))
        one = np.ones_like(by_rods)
        return np.asarray(np.divide(by_hours, by_rods, out=one, where=by_rods > 0))
