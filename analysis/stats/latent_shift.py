"""How deep the water's layers lay on each trip: what casts leave open, and what strikes tell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.sparse.csgraph import connected_components

Array = NDArray[np.float64]

LOOKS, CHANCES = np.polynomial.hermite_e.hermegauss(4)
CHANCES = CHANCES / CHANCES.sum()
"""Heights that are looked at, in standard deviations, and their chances (Gauss-Hermite)."""
LEAST_CHANCE = 1e-6
LEAST_VARIANCE = 1e-3


@dataclass(frozen=True, kw_only=True)
class Layers:
    """What is known of the height of the layers on each trip, in its standard deviations.

    Trips near in time share much of the error: a wind tilts a lake for days. Before any strike
    the heights are normal with a known correlation; what the strikes of a trip tell is held as a
    normal factor, found by expectation propagation (Minka 2001, *UAI 17*, 362-369; Rasmussen &
    Williams, *Gaussian Processes for Machine Learning*, 2006, sec. 3.6; both from memory).

    Attributes
    ----------
    correlation : (trips, trips) array
    boats : tuple of int arrays
        Trips whose heights have to do with each other; those of two boats have not.
    precision, pull : (trips,) arrays
        Of the normal factors: precision, and precision times mean.
    chances : (trips, looks) array
        Chance of each look, given everything. One look, at 0, where nothing is in doubt.
    """

    correlation: Array
    boats: tuple[NDArray[np.intp], ...]
    precision: Array
    pull: Array
    chances: Array

    @classmethod
    def untold(cls, correlation: Array, *, doubtful: bool) -> Layers:
        """Return what is known before any strike."""
        trips = len(correlation)
        count, boat = connected_components(correlation != 0.0, directed=False)
        return cls(
            correlation=correlation,
            boats=tuple(np.flatnonzero(boat == one) for one in range(count)),
            precision=np.zeros(trips),
            pull=np.zeros(trips),
            chances=np.tile(CHANCES, (trips, 1)) if doubtful else np.ones((trips, 1)),
        )

    @property
    def looks(self) -> Array:
        """Heights that are looked at."""
        return np.asarray(LOOKS) if self.chances.shape[1] > 1 else np.zeros(1)

    @cached_property
    def moments(self) -> tuple[Array, Array]:
        """Mean (trips,) and covariance (trips, trips) of the heights."""
        covariance = np.zeros_like(self.correlation)
        for trips in self.boats:
            prior = self.correlation[np.ix_(trips, trips)]
            told = np.sqrt(self.precision[trips])
            shared = told[:, None] * prior
            inner = np.eye(len(trips)) + shared * told
            half = solve_triangular(cholesky(inner, lower=True), shared, lower=True)
            covariance[np.ix_(trips, trips)] = prior - half.T @ half
        return covariance @ self.pull, covariance

    def told(self, log_likelihood: Array) -> Layers:
        """Learn from the strikes of every trip.

        Parameters
        ----------
        log_likelihood : (trips, looks) array
            Of a trip's strikes, were its layers at each look; 0 where it has none.
        """
        if self.chances.shape[1] == 1:
            return self
        mean, covariance = self.moments
        own = np.diag(covariance)
        # what the other trips and the casts say of this one
        rest_precision = np.maximum(1.0 / own - self.precision, 1.0)
        rest = (mean / own - self.pull) / rest_precision
        log = log_likelihood + np.log(CHANCES) + 0.5 * LOOKS**2
        log = log - 0.5 * rest_precision[:, None] * (LOOKS - rest[:, None]) ** 2
        chances = np.exp(log - log.max(axis=1, keepdims=True))
        chances = np.maximum(chances / chances.sum(axis=1, keepdims=True), LEAST_CHANCE)
        chances /= chances.sum(axis=1, keepdims=True)
        found = chances @ LOOKS
        variance = np.maximum(chances @ LOOKS**2 - found**2, LEAST_VARIANCE)
        silent = np.ptp(log_likelihood, axis=1) == 0.0
        precision = np.where(silent, 0.0, np.maximum(1.0 / variance - rest_precision, 0.0))
        pull = np.where(precision > 0, found / variance - rest * rest_precision, 0.0)
        return replace(self, precision=precision, pull=pull, chances=chances)

    def missing(self, scores: Array) -> Array:
        """Information that not knowing the heights takes away (terms, terms).

        The variance of the scores over the heights (Louis 1982, *J. R. Statist. Soc. B* 44(2),
        226-233, from memory): within each trip by its looks, between trips linear in the height.

        Parameters
        ----------
        scores : (trips, looks, terms) array
            Of each trip at each look, times the look's chance.
        """
        parts = scores.reshape(self.chances.size, -1)
        by_trip = scores.sum(axis=1)
        within = parts.T @ (parts / self.chances.reshape(-1, 1)) - by_trip.T @ by_trip
        mean = self.chances @ self.looks
        away = self.looks - mean[:, None]
        variance = np.maximum(np.sum(self.chances * away**2, axis=1), LEAST_VARIANCE)
        slope = np.einsum("tkj,tk->tj", scores, away) / variance[:, None]
        _, covariance = self.moments
        between = covariance - np.diag(np.diag(covariance))
        return np.asarray(within + slope.T @ between @ slope)

    def draw(self, rng: np.random.Generator) -> Array:
        """Draw the heights of all trips (trips,)."""
        mean, covariance = self.moments
        drawn = rng.standard_normal(len(mean))
        for trips in self.boats:
            drawn[trips] = root(covariance[np.ix_(trips, trips)]) @ drawn[trips]
        return mean + drawn


def root(covariance: Array) -> Array:
    """Symmetric root of a covariance: unlike one of eigenvectors alone it has no sign to choose."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T)
