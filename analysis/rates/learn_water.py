"""Learn from the strikes how the water lay, where thermometers leave its course open."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import REFITS, clustered_covariance
from analysis.rates.latent_water import MovingWaters
from analysis.rates.model_selection import candidates
from analysis.rates.rods import Rods, rods_of
from analysis.stats.conditional import Maximum, group, maximise
from analysis.stats.latent_shift import root
from analysis.stats.marginal_likelihood import penalty_matrix
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

LIKED_C, LIKED_SD_C = 11.0, 4.0
"""Temperature that fish of the troller's waters like, before any strike (from memory)."""
WIDTH_C, WIDTH_LOG_SD = 2.0, 0.4
"""Standard deviation of their preference, and the doubt of its logarithm (from memory)."""
UNSEEN_TRUST = 1 / 1.5**2
"""Share that is believed of what strikes tell of a water seen at its surface alone, half as much
doubt again: they are read by an assumed form of its layers and of what fish like. Chosen for
intervals that cover on lakes of five other forms (tests/benchmarks/unseen_water_study.md)."""
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


@one_thread
def learn_water(exposure: Exposure, rng: np.random.Generator) -> Exposure:
    """Find the waters that strikes and thermometers together make likely.

    The amounts of the water's main ways and a plain preference, one peak of temperature over a
    floor, are made likeliest together, given the rods down at each strike; the water model's
    posterior is the amounts' prior. Draws of the amounts about it carry what stays open: each
    refit of the catch rate takes another water. The preference is then dropped: the curves are
    fitted anew in each water.

    Parameters
    ----------
    exposure : Exposure
    rng : numpy.random.Generator

    Returns
    -------
    Exposure
        In the likeliest water, its ``latent`` with draws; as it is where thermometers tell the
        water's course.
    """
    latent = exposure.latent
    if latent.settled:
        return exposure
    mean, covariance = np.zeros(latent.count), np.eye(latent.count)
    model = next(iter(candidates(exposure).values()))
    if "lure_temp_c" in model.names:
        rods = rods_of(exposure, model)
        if rods.sets.hit.sum() and np.bincount(rods.sets.moment).max() > 1:
            trust = UNSEEN_TRUST if exposure.water_unseen else 1.0
            mean, covariance = _likeliest(rods, trust)
    aside = rng.spawn(1)[0]  # so that a water that is known leaves all draws as they are
    half = aside.standard_normal((REFITS // 2, latent.count))
    paired = aside.permutation(np.concatenate([half, -half]))
    draws = mean + paired @ root(covariance)
    return replace(exposure.in_water(mean), latent=latent.told(mean, draws))


def _likeliest(rods: Rods, trust: float) -> tuple[Array, Array]:
    """Likeliest amounts, and their covariance widened as trips ask for.

    ``trust`` is the share that is believed of the information in the strikes.
    """
    liking = _Liking.of(rods)
    peaks = [_uphill(liking, start) for start in liking.starts]
    at, here = max(peaks, key=lambda peak: liking.value(peak[1], peak[0]))
    believed = replace(
        here, information=trust * here.information, scores=np.sqrt(trust) * here.scores
    )
    covariance, _ = clustered_covariance(believed, liking.penalty)
    ways = slice(0, rods.exposure.latent.count)
    return at[ways], covariance[ways, ways]


def _uphill(liking: _Liking, start: Array) -> tuple[Array, Maximum]:
    """Climb to the peak above a start: the unknowns there, and what the strikes say of them."""
    at, damping = start, DAMPING
    here = liking.look(at)
    for _ in range(MOST_STEPS):
        inner = here.information + liking.penalty
        pull = here.scores.sum(axis=0) - liking.penalty @ (at - liking.mean)
        gain = 0.0
        while gain <= 0.0 and damping < MOST_DAMPING:
            tried = at + np.linalg.solve(inner + damping * np.diag(np.diag(inner)), pull)
            there = liking.look(tried)
            gain = liking.value(there, tried) - liking.value(here, at)
            damping *= LARGER
        if gain <= 0.0:
            break
        at, here, damping = tried, there, max(damping / LARGER**2, LEAST_DAMPING)
        if gain < SETTLED:
            break
    return at, here


@dataclass(frozen=True, kw_only=True)
class _Liking:
    """Amounts of the ways, the temperature liked, log of the width, and effects of tackle.

    ``penalty`` and ``mean`` are their prior's precision and mean.
    """

    rods: Rods
    water: MovingWaters
    tackle: Array
    penalty: Array
    mean: Array

    @classmethod
    def of(cls, rods: Rods) -> _Liking:
        exposure, row, tackle = rods.exposure, rods.sets.row, rods.model.tackle
        usual = np.log([block.scale for block in tackle.blocks])
        ways = exposure.latent.count
        size = ways + 2 + tackle.size
        penalty = np.eye(size)
        penalty[ways, ways], penalty[ways + 1, ways + 1] = LIKED_SD_C**-2, WIDTH_LOG_SD**-2
        penalty[ways + 2 :, ways + 2 :] = penalty_matrix(tackle.blocks, usual, tackle.size)
        mean = np.zeros(size)
        mean[ways : ways + 2] = LIKED_C, np.log(WIDTH_C)
        return cls(
            rods=rods,
            water=exposure.moving_water.take(row),
            tackle=tackle.design(exposure.values(tackle, row), len(row)),
            penalty=penalty,
            mean=mean,
        )

    @property
    def starts(self) -> list[Array]:
        """Where to start the search: the usual water, and waters unlike it."""
        main = min(self.rods.exposure.latent.count, MAIN_WAYS)
        unlike = [far * np.eye(len(self.mean))[way] for way in range(main) for far in (-FAR, FAR)]
        return [self.mean, *(self.mean + step for step in unlike)]

    def look(self, at: Array) -> Maximum:
        """Likelihood, scores and information, linear about some unknowns (Gauss-Newton)."""
        ways = self.water.ways
        liked, width = at[ways], np.exp(at[ways + 1])
        exposure, row = self.rods.exposure, self.rods.sets.row
        settled_c = exposure.table["lure_temp_c"].to_numpy(dtype=float)[row]
        temp, by_amount = self.water.slopes(exposure.depth_m[row], at[:ways], settled_c)
        away = (temp - liked) / width
        peak = np.exp(-0.5 * away**2)
        rate = peak + FLOOR
        by_temp = -away / width * peak / rate
        by_width = away**2 * peak / rate
        design = np.column_stack([by_temp[:, None] * by_amount, -by_temp, by_width, self.tackle])
        log_rate = np.log(rate) + self.tackle @ at[ways + 2 :]
        sets, nothing = self.rods.sets, np.zeros(len(at))
        data = group(design, sets.hit, log_rate, sets.moment, self.rods.cluster)
        return maximise(data, np.diag(nothing), nothing, most_steps=0)

    def value(self, found: Maximum, at: Array) -> float:
        """Log posterior of some unknowns."""
        away = at - self.mean
        return found.log_likelihood - 0.5 * float(away @ self.penalty @ away)
