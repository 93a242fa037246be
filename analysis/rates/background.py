"""The rare strike anywhere: a rate that every depth and every water adds to what fish like."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import TACKLE_SD, Fit, worth_parting
from analysis.rates.rods import Rods, rods_of
from analysis.rates.slice_rates import refits
from analysis.rates.strays import BEST, drawn_place, share_at
from analysis.stats.beside import in_halves
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]


@one_thread
def with_background(exposure: Exposure, fit: Fit, rng: np.random.Generator) -> Fit:
    """Draw a background for each draw of a fit's curves, given the strikes.

    The logarithm of the curves falls ever faster away from their top, so strikes near the best
    depth seem to tell that a rod far from it takes next to nothing. Fish stray: a rod's rate is
    taken as ``t (w + b)``, with ``t`` the effects of its tackle, ``w`` what the curves give for
    its water and ``b`` the background. Curves are fitted beside it (`analysis.rates.fit`): had
    they to explain the strays as well, they would be too wide and their peak too low. Given a draw
    of the curves, the chance of the rods that struck is known for any ``b``:

        prod over strikes of t_i (w_i + b) / sum over rods down of t_j (w_j + b).

    Times the prior that is the posterior of ``b`` given the curves, and one value is drawn from it
    (a step of a Gibbs sampler: Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013, sec. 11.1,
    from memory; the curves are not drawn anew). A depth that nobody fished keeps the prior: it is
    not said to be empty, nor to have fish.

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
    each = list(refits(fit))
    streams = rng.spawn(len(each))

    def drawn(some: range) -> list[Array]:
        found = []
        for refit in some:
            curves, tackle = _log_rates(rods, fit, each[refit])
            told = curves, tackle, max(fit.dispersion, 1.0), streams[refit]
            best = np.exp(np.quantile(curves, BEST, axis=0))
            found.append(best * share_at(drawn_place(rods.sets, *told)))
        return found

    first, rest = in_halves(drawn, len(each), worth=worth_parting(rods, len(each)))
    background = np.empty(len(fit.draws))
    background[np.concatenate(each)] = np.concatenate([*first, *rest])
    return replace(fit, background=background)


def _log_rates(rods: Rods, fit: Fit, draws: NDArray[np.intp]) -> tuple[Array, Array]:
    """Log rate by the curves, and by the tackle, of the rods down at strikes (rods, draws)."""
    own = np.hypot(rods.exposure.set_error_sd, TACKLE_SD)
    layers = fit.layers[rods.exposure.trip[rods.sets.row], fit.refit[draws[0]]]
    rods = rods.in_water(fit.waters[fit.refit[draws[0]]])
    rods = replace(rods, exposure=replace(rods.exposure, set_error_sd=own))
    return rods.log_rates(fit.draws[draws], fit.error_draws[draws], layers)
