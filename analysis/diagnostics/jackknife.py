"""What single trips decide: the best band refitted without each of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.rates.fit import Fit
from analysis.rates.rods import Rods
from analysis.rates.standardised import BoatHours, water_curves
from analysis.rates.trip_rates import Levels
from analysis.stats.conditional import Strata, climb, maximise
from analysis.stats.marginal_likelihood import Block, penalty_matrix

Array = NDArray[np.float64]

CLOSE = 1e-4
"""Gain of the log-likelihood at which a refit without a trip has converged."""


@dataclass(frozen=True, kw_only=True)
class Influence:
    """How far the season's best band stands on single trips.

    Attributes
    ----------
    best : int
        Best judged band with every trip.
    movers : tuple of (str, int)
        Trips without which it would lie more than one band away, and the band it then is. A move
        to the neighbour is no finding: neighbours are often as good.
    only : str or None
        The one trip that all strikes are of.
    """

    best: int
    movers: tuple[tuple[str, int], ...]
    only: str | None = None


def influence(
    rods: Rods,
    data: Strata,
    fit: Fit,
    levels: Levels,
    hours: BoatHours,
    judged: NDArray[np.bool_],
) -> Influence:
    """Refit without each trip at the same smoothing, and see where the best band goes.

    Parameters
    ----------
    rods, data, fit, levels, hours
        What was fitted; the fit must have ended in one.
    judged : (bands,) bool array

    Returns
    -------
    Influence
    """
    assert fit.smoothing is not None
    size = fit.model.size
    known = Block(name="errors", columns=slice(size, None), scale=1.0)
    penalty = penalty_matrix(
        fit.model.blocks, fit.smoothing.log_sd, data.design.shape[1], known=known
    )
    everyone = maximise(data, penalty)
    start, near = everyone.coef, everyone.information
    rates = _season_rates(fit, levels, hours)

    def best(coef: Array) -> int:
        return int(np.argmax(np.where(judged, rates(coef[:size]), -np.inf)))

    trip = rods.exposure.table["trip"].to_numpy(dtype=object)
    name = {int(at): str(trip[row]) for at, row in zip(rods.cluster, rods.sets.row, strict=True)}
    struck = np.unique(rods.cluster[rods.sets.hit > 0])
    everything = best(start)
    if len(struck) == 1:
        return Influence(best=everything, movers=(), only=name[int(struck[0])])
    movers = []
    for left_out in struck:
        part = _without(data, int(left_out))
        there = best(climb(part, penalty, start, information=near, tolerance=CLOSE).coef)
        if abs(there - everything) > 1:
            movers.append((name[int(left_out)], there))
    return Influence(best=everything, movers=tuple(movers))


def _without(data: Strata, cluster: int) -> Strata:
    kept = data.cluster != cluster
    rows = np.repeat(kept, data.size)
    sizes = data.size[kept]
    return Strata(
        design=data.design[rows],
        count=data.count[rows],
        log_effort=data.log_effort[rows],
        start=np.cumsum(sizes) - sizes,
        cluster=data.cluster[kept],
    )


def _season_rates(fit: Fit, levels: Levels, hours: BoatHours) -> Callable[[Array], Array]:
    """Return a function from coefficients to the season's band rates, trips' levels fixed."""
    curves = water_curves(fit.model, hours)
    weight = hours.weight * levels.level[hours.trip].mean(axis=1)

    def rate(coef: Array) -> Array:
        rates = curves.rates(coef[None])[..., 0] + fit.background.mean()
        return np.asarray(weight @ rates.mean(axis=2))

    return rate
