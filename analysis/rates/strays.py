"""How large a rate is left where no fish likes the water, given the rods that struck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.stats.risk_sets import RiskSets

Array = NDArray[np.float64]

NO_STRAYS = 0.25
"""Share of waters in which no fish strays at all (assumed, no source)."""
MEAN_SHARE = 0.04
"""Mean of the exponential prior of the background in all others, as a share of the best rate: half
of them below 3 %, one in twenty above 12 % (assumed, no source)."""
LOOKS = 8
MIDDLES = (np.arange(LOOKS) + 0.5) / LOOKS
"""Parts of equal chance of that prior, in whose middles the strikes are asked."""
BEST = 0.95
"""The best rate is what this share of the rods down at strikes fell short of."""


def share_at(place: Array | float) -> Array:
    """Share of the best rate below which this much of the prior lies, from 0 to 1."""
    straying = np.maximum((np.asarray(place) - NO_STRAYS) / (1.0 - NO_STRAYS), 0.0)
    return np.asarray(-MEAN_SHARE * np.log1p(-straying))


def drawn_place(
    sets: RiskSets, curves: Array, tackle: Array, dispersion: float, rng: np.random.Generator
) -> Array:
    """Draw where in its prior each background lies, given the rods that struck.

    Parameters
    ----------
    sets : RiskSets
        The rods down at each strike.
    curves : (rods, draws) array
        Their log rate by the curves.
    tackle : (rods, draws) array
        Their log rate by the tackle.
    dispersion : float
        By which the log-likelihood is divided, since trips scatter more than strikes.
    rng : numpy.random.Generator

    Returns
    -------
    (draws,) array
        From 0 to 1; see `share_at`.
    """
    passed = np.cumsum(_chances(sets, curves, tackle, dispersion), axis=0)
    look = np.sum(passed < rng.random(len(passed[0])), axis=0).clip(max=LOOKS - 1)
    return np.asarray((look + rng.random(len(look))) / LOOKS)


def mean_share(sets: RiskSets, curves: Array, tackle: Array) -> float:
    """Mean of the background over its posterior and the draws; see `drawn_place`."""
    chances = _chances(sets, curves, tackle, 1.0).mean(axis=1)
    return float(share_at(MIDDLES) @ chances)


def _chances(sets: RiskSets, curves: Array, tackle: Array, dispersion: float) -> Array:
    """Chance of each part of the prior (parts, draws), given the rods that struck."""
    begins = np.flatnonzero(np.diff(sets.moment, prepend=-1))
    strikes = np.add.reduceat(sets.hit, begins)
    struck = np.flatnonzero(sets.hit)
    hits = sets.hit[struck]
    curves = curves - np.quantile(curves, BEST, axis=0)
    # a moment's rods have t (w + b) each, t w and b t together
    by_curves, by_tackle = _log_sums(curves + tackle, begins), _log_sums(tackle, begins)
    log = np.empty((LOOKS, curves.shape[1]))
    with np.errstate(divide="ignore"):  # no strays: their log rate is minus infinity
        shares = np.log(share_at(MIDDLES))
    for look, share in enumerate(shares):
        every = np.logaddexp(by_curves, share + by_tackle)
        log[look] = hits @ np.logaddexp(curves[struck], share) - strikes @ every
    chance = np.exp((log - log.max(axis=0)) / dispersion)
    return np.asarray(chance / chance.sum(axis=0))


def _log_sums(rate: Array, begins: NDArray[np.intp]) -> Array:
    """Log of the sum of rates over each moment's rods, of their logarithms."""
    top = np.maximum.reduceat(rate, begins)
    size = np.diff(begins, append=len(rate))
    sums = np.add.reduceat(np.exp(rate - np.repeat(top, size, axis=0)), begins)
    return np.asarray(np.log(sums) + top)
