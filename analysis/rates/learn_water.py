"""Learn from the strikes how the water lay, where thermometers leave its course open."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from analysis.rates.exposure import Exposure
from analysis.rates.fit import REFITS, clustered_covariance
from analysis.rates.liking import OfDepth, OfTemperature
from analysis.rates.model_selection import candidates
from analysis.rates.rods import Rods, rods_of
from analysis.stats.latent_shift import root
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

UNSEEN_TRUST = 1 / 1.5**2
"""Share that is believed of what strikes tell of a water seen at its surface alone, half as much
doubt again: they are read by an assumed form of its layers and of what fish like. Chosen for
intervals that cover on lakes of five other forms (tests/benchmarks/unseen_water_study.md)."""


@one_thread
def learn_water(exposure: Exposure, rng: np.random.Generator) -> Exposure:
    """Find the waters that strikes and thermometers together make likely.

    The amounts of the water's main ways and a plain preference, one peak of temperature over a
    floor, are made likeliest together, given the rods down at each strike; the water model's
    posterior is the amounts' prior. Draws of the amounts about it carry what stays open: each
    refit of the catch rate takes another water. The preference is then dropped: the curves are
    fitted anew in each water.

    Fish that keep to a depth tell nothing of the water, and yet some water explains their strikes
    by temperature. How likely it is that they follow a temperature is told by the marginal
    likelihood of both plain preferences, in which all waters that would not do count against it.

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
    mean, covariance, followed = np.zeros(latent.count), np.eye(latent.count), 1.0
    model = next(iter(candidates(exposure).values()))
    if model.warm:
        rods = rods_of(exposure, model)
        if rods.sets.hit.sum() and np.bincount(rods.sets.moment).max() > 1:
            trust = UNSEEN_TRUST if exposure.water_unseen else 1.0
            mean, covariance, followed = _likeliest(rods, trust)
    aside = rng.spawn(1)[0]  # so that a water that is known leaves all draws as they are
    half = aside.standard_normal((REFITS // 2, latent.count))
    usual = aside.permutation(np.concatenate([half, -half]))
    told = latent.told(mean, mean + usual @ root(covariance), usual, followed)
    return replace(exposure.in_water(mean), latent=told)


def _likeliest(rods: Rods, trust: float) -> tuple[Array, Array, float]:
    """Likeliest amounts, their covariance widened as trips ask for, and `LatentWater.followed`.

    ``trust`` is the share that is believed of the information in the strikes.
    """
    warm, deep = OfTemperature.of(rods), OfDepth.of(rods)
    peak = warm.peak()
    gain = warm.log_evidence(peak, trust) - deep.log_evidence(deep.peak(), trust)
    here = peak.found
    believed = replace(
        here, information=trust * here.information, scores=np.sqrt(trust) * here.scores
    )
    covariance, _ = clustered_covariance(believed, warm.precision)
    ways = slice(0, rods.exposure.latent.count)
    return peak.at[ways], covariance[ways, ways], float(expit(gain))
