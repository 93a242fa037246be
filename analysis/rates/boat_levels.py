"""How well fish bite for each boat: its mean level, and how far its trips differ from it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

Array = NDArray[np.float64]

TRIP_SHAPE = 1.5
"""Usual shape of the gamma spread of trips' levels about their boat's mean: days differ by a
factor of two or so (from memory)."""
SHAPES = np.geomspace(0.25, 9.0, 25)
"""Shapes that a boat's trips may tell, log-normal about the usual one before they do."""
SHAPE_LOG_SD = 0.7
ROUNDS = 6
"""By which a boat's mean level is found: each takes off most of what is left."""
TINY = 1e-200
"""Stands for no rod-hours, so that a boat without any is no division by nothing."""


def drawn_shapes(struck: Array, exposed: Array, of_boat: Array, rng: np.random.Generator) -> Array:
    """Draw the shape of each boat's gamma spread of trips (boats,), given its trips' strikes.

    Given the shape, and the boat's mean, strikes of a trip are negative binomial.
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
