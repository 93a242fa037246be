"""The rare strike anywhere: a rate below which no depth and no water takes a rod."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import TACKLE_SD, Fit, Rods, rods_of
from analysis.rates.trip_rates import refits
from analysis.stats.risk_sets import RiskSets
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

MEAN_SHARE = 0.04
"""Mean of the exponential prior of the background, as a share of the best rate: half of all waters
below 3 %, one in twenty above 12 % (assumed, no source)."""
LOOKS = 8
"""Parts of equal chance of that prior, in each of which the strikes are asked."""
BEST = 0.95
"""The best rate is what this share of the rods down at strikes fell short of."""


@one_thread
def with_background(exposure: Exposure, fit: Fit, rng: np.random.Generator) -> Fit:
    """Draw a background for each draw of a fit's curves, given the strikes.

    The logarithm of the curves falls ever faster away from their top, so strikes near the best
    depth seem to tell that a rod far from it takes next to nothing. Fish stray: a rod's rate is
    taken as ``t max(w, b)``, with ``t`` the effects of its tackle, ``w`` what the curves give for
    its water and ``b`` the background. Where the curves lie above it they are as they were fitted:
    added to them it would count what a few strikes there have told twice. Given a draw of the
    curves, the chance of the rods that struck is known for any ``b``:

        prod over strikes of t_i max(w_i, b) / sum over rods down of t_j max(w_j, b).

    Times the prior that is the posterior of ``b`` given the curves, and one value is drawn from it
    (a step of a Gibbs sampler: Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013, sec. 11.1,
    from memory; the curves are not drawn anew). A depth that nobody fished keeps the prior: it is
    not said to be empty.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    rng : numpy.random.Generator

    Returns
    -------
    Fit
        With ``background``; none where no strike compares rods.
    """
    rods = rods_of(exposure, fit.model)
    if fit.smoothing is None or not rods.sets.hit.any():
        return fit
    background = np.empty(len(fit.draws))
    for draws in refits(fit):
        curves, tackle = _rates(rods, fit, draws)
        best = np.quantile(curves, BEST, axis=0)
        place = drawn_place(rods.sets, curves / best, tackle, max(fit.dispersion, 1.0), rng)
        background[draws] = best * share_at(place)
    return replace(fit, background=background)


def share_at(place: Array | float) -> Array:
    """Share of the best rate below which this much of the prior lies, from 0 to 1."""
    return np.asarray(-MEAN_SHARE * np.log1p(-np.asarray(place)))


def _rates(rods: Rods, fit: Fit, draws: NDArray[np.intp]) -> tuple[Array, Array]:
    """Rate by the curves, and effect of the tackle, of the rods down at strikes (rods, draws)."""
    model, row = fit.model, rods.sets.row
    own = np.hypot(rods.exposure.set_error_sd, TACKLE_SD)
    coef, error = fit.draws[draws], fit.error_draws[draws]
    layers = fit.layers[rods.exposure.trip[row], fit.refit[draws[0]]]
    rods = rods.in_water(fit.waters[fit.refit[draws[0]]])
    rods = replace(rods, exposure=replace(rods.exposure, set_error_sd=own))
    design, more = rods.linear(coef.mean(axis=0), error.mean(axis=0), layers)
    of_water = np.append(model.of_water, np.ones(error.shape[1], dtype=bool))
    log_curves = design[:, of_water] @ np.hstack([coef, error])[:, of_water].T + more[:, None]
    design, towed = rods.exposure.tackle(model, row)
    return np.exp(log_curves), np.exp(design @ coef[:, ~model.of_water].T)[towed]


def drawn_place(
    sets: RiskSets, curves: Array, tackle: Array, dispersion: float, rng: np.random.Generator
) -> Array:
    """Draw where in its prior each background lies, given the rods that struck.

    Parameters
    ----------
    sets : RiskSets
        The rods down at each strike.
    curves : (rods, draws) array
        Their rate by the curves, over the best one.
    tackle : (rods, draws) array
        Effect of their tackle.
    dispersion : float
        By which the log-likelihood is divided, since trips scatter more than strikes.
    rng : numpy.random.Generator

    Returns
    -------
    (draws,) array
        From 0 to 1; see `share_at`.
    """
    begins = np.flatnonzero(np.diff(sets.moment, prepend=-1))
    strikes = np.add.reduceat(sets.hit, begins)
    struck = np.flatnonzero(sets.hit)
    log = np.empty((LOOKS, curves.shape[1]))
    for look, share in enumerate(share_at((np.arange(LOOKS) + 0.5) / LOOKS)):
        rate = np.maximum(curves, share) * tackle
        log[look] = sets.hit[struck] @ np.log(rate[struck])
        log[look] -= strikes @ np.log(np.add.reduceat(rate, begins))
    passed = np.cumsum(np.exp((log - log.max(axis=0)) / dispersion), axis=0)
    look = np.sum(passed < rng.random(len(passed[0])) * passed[-1], axis=0)
    return np.asarray((look + rng.random(len(look))) / LOOKS)
