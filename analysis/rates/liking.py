"""Plain likings of fish, of a temperature or of a depth: what strikes say of them and the water."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from analysis.rates.latent_water import MovingWaters
from analysis.rates.rods import Rods
from analysis.stats.conditional import Maximum, group, maximise
from analysis.stats.marginal_likelihood import penalty_matrix

Array = NDArray[np.float64]

LIKED_C, LIKED_SD_C = 11.0, 4.0
"""Temperature that fish of the troller's waters like, before any strike (from memory)."""
WIDTH_C, WIDTH_LOG_SD = 2.0, 0.4
"""Standard deviation of their preference, and the doubt of its logarithm (from memory)."""
LIKED_M, LIKED_LOG_SD = 12.0, 0.7
"""Depth that they like where they keep to one, before any strike (from memory)."""
WIDTH_LOG, WIDTH_LOG_LOG_SD = 0.4, 0.5
"""Standard deviation of that preference in log depth, and the doubt of its logarithm (from
memory)."""
FLOOR = 0.05
"""Share of the best rate left where no fish likes the water: single strikes far off are no proof
(assumed)."""
MOST_STEPS = 30
SETTLED = 1e-2
LEAST_DAMPING, DAMPING, MOST_DAMPING, LARGER = 1e-6, 1e-2, 1e4, 5.0
MAIN_WAYS, FAR = 2, 1.5
"""Ways along which the search also starts, and how far from the usual water, in standard
deviations: uphill from that alone, warm water over a deep thermocline may end as cold water under
a shallow one, tens of units of log likelihood lower."""


@dataclass(frozen=True, kw_only=True)
class Peak:
    """The likeliest unknowns, and what strikes say about them.

    Attributes
    ----------
    at : (unknowns,) array
    found : Maximum
    log_posterior : float
    """

    at: Array
    found: Maximum
    log_posterior: float


@dataclass(frozen=True, kw_only=True)
class Liking(ABC):
    """One peak of a preference over a floor, and effects of tackle, given the rods at each strike.

    Attributes
    ----------
    rods : Rods
    tackle : (rods, columns) array
        Design of leaders, gears and lures.
    mean, precision : (unknowns,) and (unknowns, unknowns) arrays
        Prior of all unknowns; those of tackle come last.
    """

    rods: Rods
    tackle: Array
    mean: Array
    precision: Array

    @staticmethod
    def _prior(rods: Rods, mean: Array, sd: Array) -> dict[str, Array]:
        """Put unknowns with some prior before those of tackle."""
        row, model = rods.sets.row, rods.model.tackle
        usual = np.log([block.scale for block in model.blocks])
        own = len(mean)
        precision = np.diag(np.concatenate([sd**-2, np.zeros(model.size)]))
        precision[own:, own:] = penalty_matrix(model.blocks, usual, model.size)
        return {
            "tackle": model.design(rods.exposure.values(model, row), len(row)),
            "mean": np.concatenate([mean, np.zeros(model.size)]),
            "precision": precision,
        }

    @property
    @abstractmethod
    def starts(self) -> list[Array]:
        """Where to start the search."""

    @abstractmethod
    def _preferred(self, own: Array) -> tuple[Array, Array]:
        """Distance of each rod from what is liked, in widths (rods,), and its derivatives.

        The second array is (rods, unknowns of the preference).
        """

    def peak(self) -> Peak:
        """Climb from every start, and return the highest peak."""
        return max((self._uphill(start) for start in self.starts), key=lambda p: p.log_posterior)

    def log_evidence(self, peak: Peak, trust: float) -> float:
        """Log marginal likelihood by Laplace's approximation, up to what all likings share.

        ``trust`` is the share that is believed of the strikes' log likelihood.
        """
        away = peak.at - self.mean
        left = trust * peak.found.information + self.precision
        before, after = (np.linalg.slogdet(part)[1] for part in (self.precision, left))
        fit = trust * peak.found.log_likelihood - 0.5 * away @ self.precision @ away
        return float(fit + 0.5 * (before - after))

    def look(self, at: Array) -> Maximum:
        """Likelihood, scores and information, linear about some unknowns (Gauss-Newton)."""
        own = len(at) - self.tackle.shape[1]
        away, by = self._preferred(at[:own])
        liked = np.exp(-0.5 * away**2)
        rate = liked + FLOOR
        design = np.column_stack([(-away * liked / rate)[:, None] * by, self.tackle])
        log_rate = np.log(rate) + self.tackle @ at[own:]
        sets, nothing = self.rods.sets, np.zeros(len(at))
        data = group(design, sets.hit, log_rate, sets.moment, self.rods.cluster)
        return maximise(data, np.diag(nothing), nothing, most_steps=0)

    def _value(self, found: Maximum, at: Array) -> float:
        """Log posterior of some unknowns."""
        away = at - self.mean
        return found.log_likelihood - 0.5 * float(away @ self.precision @ away)

    def _uphill(self, start: Array) -> Peak:
        """Climb to the peak above a start."""
        at, damping = start, DAMPING
        here = self.look(at)
        for _ in range(MOST_STEPS):
            inner = here.information + self.precision
            pull = here.scores.sum(axis=0) - self.precision @ (at - self.mean)
            gain = 0.0
            while gain <= 0.0 and damping < MOST_DAMPING:
                tried = at + np.linalg.solve(inner + damping * np.diag(np.diag(inner)), pull)
                there = self.look(tried)
                gain = self._value(there, tried) - self._value(here, at)
                damping *= LARGER
            if gain <= 0.0:
                break
            at, here, damping = tried, there, max(damping / LARGER**2, LEAST_DAMPING)
            if gain < SETTLED:
                break
        return Peak(at=at, found=here, log_posterior=self._value(here, at))


@dataclass(frozen=True, kw_only=True)
class OfTemperature(Liking):
    """Fish that like a temperature, in a water whose ways are unknown.

    The unknowns are amounts of the ways, the temperature liked and the log of the width in C.
    """

    water: MovingWaters

    @classmethod
    def of(cls, rods: Rods) -> Self:
        """Set up the unknowns for some rods."""
        ways = rods.exposure.latent.count
        return cls(
            rods=rods,
            water=rods.exposure.moving_water.take(rods.sets.row),
            **cls._prior(
                rods,
                np.concatenate([np.zeros(ways), [LIKED_C, np.log(WIDTH_C)]]),
                np.concatenate([np.ones(ways), [LIKED_SD_C, WIDTH_LOG_SD]]),
            ),
        )

    @property
    def starts(self) -> list[Array]:
        """The usual water, and waters unlike it."""
        main = min(self.water.ways, MAIN_WAYS)
        unlike = [far * np.eye(len(self.mean))[way] for way in range(main) for far in (-FAR, FAR)]
        return [self.mean, *(self.mean + step for step in unlike)]

    def _preferred(self, own: Array) -> tuple[Array, Array]:
        amount, liked, width = own[:-2], own[-2], np.exp(own[-1])
        exposure, row = self.rods.exposure, self.rods.sets.row
        settled_c = exposure.table["lure_temp_c"].to_numpy(dtype=float)[row]
        temp, by_amount = self.water.slopes(exposure.depth_m[row], amount, settled_c)
        away = (temp - liked) / width
        return away, np.column_stack([by_amount / width, np.full(len(row), -1 / width), -away])


@dataclass(frozen=True, kw_only=True)
class OfDepth(Liking):
    """Fish that like a depth; the unknowns are its log and the log of the width in log depth."""

    @classmethod
    def of(cls, rods: Rods) -> Self:
        """Set up the unknowns for some rods."""
        mean = np.log([LIKED_M, WIDTH_LOG])
        return cls(rods=rods, **cls._prior(rods, mean, np.array([LIKED_LOG_SD, WIDTH_LOG_LOG_SD])))

    @property
    def starts(self) -> list[Array]:
        """The usual depth, and one standard deviation to both sides."""
        far = LIKED_LOG_SD * np.eye(len(self.mean))[0]
        return [self.mean, self.mean - far, self.mean + far]

    def _preferred(self, own: Array) -> tuple[Array, Array]:
        width = np.exp(own[1])
        log_depth = np.log(self.rods.exposure.depth_m[self.rods.sets.row])
        away = (log_depth - own[0]) / width
        return away, np.column_stack([np.full(len(away), -1 / width), -away])
