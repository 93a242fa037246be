"""Owns what a rod would learn, and so where it explores.

A rod explores where it learns most: the chance that the band is within a tenth of the named one on
a day of the period, times how much `EXPLORE_HOURS` rod-hours there would narrow what is known of
its rate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.decision.answer import Answer, Period
from analysis.decision.bands import NEAR
from analysis.rates.standardised import SEASON, band_draws

Array = NDArray[np.float64]

EXPLORE_HOURS = 20.0
"""Rod-hours that one rod is taken to explore: a handful of trips."""
LEAST_CHANCE = 0.1
"""A band that is as good on fewer days than one in ten is not explored: what a rod would learn
there would hardly ever be used, and it would catch less (common sense, no source)."""


@dataclass(frozen=True, kw_only=True)
class Learning:
    """What exploring each band is worth.

    Attributes
    ----------
    worth : (bands,) array
        0 for the bands named, for those of which the model knows nothing, and where `LEAST_CHANCE`
        is not met.
    chance : (bands,) array
        Chance that on a day of the period the band's rate is at least nine tenths of the named
        bands' best.
    known : (bands,) bool array
        Whether the model knows anything of the band.
    """

    worth: Array
    chance: Array
    known: NDArray[np.bool_]


def learning(answer: Answer, period: Period) -> Learning:
    """Work out what twenty rod-hours in each band would teach.

    The log of a band's rate against the named band's has a standard deviation ``s`` over the
    draws. Strikes of ``T`` rod-hours at rate ``r`` tell a log rate within ``1 / sqrt(rT)``, so it
    becomes ``s / sqrt(1 + s^2 r T)`` (normal approximation). The narrowing counts only as far as
    the band may be as good as the named one on some day: the water of next season's days will be
    as unlike as that of this season's.

    Parameters
    ----------
    answer : Answer
    period : Period
        With a named band.

    Returns
    -------
    Learning
    """
    draws = period.draws
    named = period.judgement.named
    known = np.asarray(np.isfinite(draws).all(axis=1) & (draws > 0).all(axis=1))
    worth = np.zeros(len(named))
    best = draws[named].max(axis=0)
    chance = _chance_on_a_day(answer, period)
    for band in np.flatnonzero(known & ~named & (chance >= LEAST_CHANCE)):
        sd = float((np.log(draws[band]) - np.log(best)).std())
        rate = float(np.median(draws[band]))
        narrowed = sd - sd / np.sqrt(1.0 + sd**2 * rate * EXPLORE_HOURS)
        worth[band] = chance[band] * narrowed
    return Learning(worth=worth, chance=chance, known=known)


def _chance_on_a_day(answer: Answer, period: Period) -> Array:
    """Return how often each band is as good as the named ones, over days and draws."""
    hours, named = answer.hours, period.judgement.named
    here = (hours.period == period.name) | (period.name == SEASON)
    trips = np.unique(hours.trip[here])
    rates = band_draws(
        answer.fit, answer.levels, hours, [here & (hours.trip == trip) for trip in trips]
    )
    weight = np.array([hours.weight[here & (hours.trip == trip)].sum() for trip in trips])
    good = np.zeros(len(named))
    known = np.zeros(len(named))
    for rate, hour in zip(rates, weight, strict=True):
        told = np.asarray(np.isfinite(rate).all(axis=1))
        if told[named].any():
            best = rate[named & told].max(axis=0)
            good[told] += hour * np.mean(rate[told] >= NEAR * best, axis=1)
            known[told] += hour
    return np.divide(good, known, out=np.zeros(len(named)), where=known > 0)


def explorers(rods: int, verdict: str) -> int:
    """How many of some rods explore: none of one or two, one, or two of many or where unsure."""
    if rods < 3:
        return 0
    return 2 if rods >= 7 or (rods >= 5 and verdict != "clear") else 1
