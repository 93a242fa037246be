"""Absolute rates after the strata were eliminated: how well fish bit on each trip."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.rates.boat_levels import TINY, AtStrikes, drawn_means, drawn_shapes
from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.slice_rates import (
    STEP,
    mean_shift,
    rate_of_water,
    refits,
    steepness,
    water_values,
)
from analysis.stats.beside import in_halves
from analysis.stats.cells import summing
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_RATES_TO_PART = 2_000_000
"""Slices times draws from which a second process does half of the refits."""


@dataclass(frozen=True, kw_only=True)
class Levels:
    """Draws of each trip's level: strikes per rod-hour of a rod whose curves are at zero.

    Attributes
    ----------
    level : (trips, draws) array
        Speed, bite and all else that the rods of a boat share in a trip are in it: the mean over
        the boat's hours, each once.
    mix : (trips, draws) array
        Mean of ``exp`` of the effects that are not water (leader, gear) over the rod-hours of the
        trip's boat: its own, since nothing tells how boats would fish with each other's tackle.
        What rods fished together do not tell (a leader tied for the day) is taken at the trip's
        own mix instead, so that it cancels against the trip's level: what a factor that nobody
        knows might have made of other days carries no rate away. 1 for a boat none of whose
        slices has its covariates known.
    expected : (slices,) array
        Strikes expected in each slice, mean of the draws.
    weight : (slices,) array
        Rod-hours times ``exp`` of the curves, mean of the draws; 0 where a covariate is unknown.
    """

    level: Array
    mix: Array
    expected: Array
    weight: Array


@one_thread
def trip_levels(exposure: Exposure, fit: Fit, rng: np.random.Generator) -> Levels:
    """Draw each trip's level from its strikes and its expected exposure.

    Given the curves, a trip's strikes are Poisson about ``level * E`` with ``E`` its rod-hours
    weighted by the curves; with a gamma prior about its boat's mean the level is gamma again
    (Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013, sec. 2.6, from memory). Trips without a
    strike keep their share of doubt. The mean and the shape are drawn too: a boat without a
    strike has a rate that is low, not one that is known to be nothing.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    rng : numpy.random.Generator

    Returns
    -------
    Levels
    """
    row = np.flatnonzero(exposure.complete(fit.model))
    trips = int(exposure.trip.max(initial=-1)) + 1
    logs, of_log = np.unique(exposure.table["log_number"].to_numpy(), return_inverse=True)
    boat = np.zeros(trips, dtype=np.intp)
    boat[exposure.trip] = of_log
    of_boat = (boat == np.arange(len(logs))[:, None]).astype(float)
    towed = _Towed.of(exposure, fit, row, boat)
    at_strikes = AtStrikes.of(exposure, fit.model, row)
    trip, hours = exposure.trip[row], exposure.table["hours"].to_numpy()[row]
    hours_of_trip = summing(trip, trips, hours)
    struck = summing(trip, trips) @ exposure.table["strikes"].to_numpy(dtype=float)[row]
    each = list(refits(fit))
    streams = rng.spawn(len(each))

    def told_by(some: range) -> tuple[list[Array], list[Array], Array]:
        levels, mixes, sums = [], [], np.zeros((2, len(row)))
        for refit in some:
            draws, own = each[refit], streams[refit]
            effects = fit.draws[draws][:, ~fit.model.of_water]
            shift = mean_shift(exposure, fit, row, draws)
            here, deeper = (
                water_values(exposure, fit, row, draws, at) for at in (shift, shift + STEP)
            )
            met = rate_of_water(fit, draws, here, len(row))
            rates = towed.rates(effects)
            met *= rates[towed.of_row]
            steep = steepness(fit, draws, here, deeper, len(row))
            met *= _at_own_errors(exposure, fit, draws, row, hours * met.mean(axis=1), steep)[trip]
            exposed = hours_of_trip @ met
            spread = drawn_shapes(struck, exposed.mean(axis=1), of_boat, own)
            mean = drawn_means(struck, exposed, of_boat, spread, own)
            shape = (struck + spread[boat])[:, None]
            rate = exposed + spread[boat, None] / mean[boat]
            over_rods = at_strikes.over_rods(met, exposed, of_boat, own)[boat]
            levels.append(own.gamma(shape, 1.0 / rate) * over_rods)
            mixes.append(towed.mix(effects, rates))
            sums += np.einsum("rd,rd->r", met, (shape / rate)[trip]), met.sum(axis=1)
        return levels, mixes, sums

    worth = len(row) * len(fit.draws) > _RATES_TO_PART
    first, rest = in_halves(told_by, len(each), worth=worth)
    order = np.argsort(np.concatenate(each))
    level, mix = (
        np.hstack([*one, *other])[:, order] for one, other in zip(first[:2], rest[:2], strict=True)
    )
    expected, weight = np.zeros((2, len(exposure.table)))
    expected[row], weight[row] = hours * (first[2] + rest[2]) / len(fit.draws)
    return Levels(level=level, mix=mix, expected=expected, weight=weight)


@dataclass(frozen=True, kw_only=True)
class _Towed:
    """What tackle the boats towed, and for how long.

    Attributes
    ----------
    design : (tackles, columns) array
        Of the terms that are not water.
    of_row : (rows,) int array
        Tackle of each slice.
    told : (columns, columns) array
        See `analysis.rates.fit.Fit`, of those terms; transposed.
    share : (boats, tackles) array
        Of each boat's rod-hours; nothing for a boat that has none.
    hours : (trips, tackles) array
    boat : (trips,) int array
    """

    design: Array
    of_row: Index
    told: Array
    share: Array
    hours: Array
    boat: Index

    @classmethod
    def of(cls, exposure: Exposure, fit: Fit, row: Index, boat: Index) -> _Towed:
        design, of_row = exposure.tackle(fit.model, row)
        of_tackle = ~fit.model.of_water
        hours = np.zeros((len(boat), len(design)))
        np.add.at(hours, (exposure.trip[row], of_row), exposure.table["hours"].to_numpy()[row])
        share = summing(boat, int(boat.max(initial=-1)) + 1) @ hours
        return cls(
            design=design,
            of_row=of_row,
            told=fit.told[np.ix_(of_tackle, of_tackle)].T,
            share=share / np.maximum(share.sum(axis=1, keepdims=True), TINY),
            hours=hours,
            boat=boat,
        )

    @cached_property
    def _all_told(self) -> bool:
        return np.allclose(self.design @ self.told, self.design)

    def rates(self, effects: Array) -> Array:
        """Rate of each tackle (tackles, draws) by effects (draws, columns)."""
        return np.asarray(np.exp(self.design @ effects.T))

    def mix(self, effects: Array, rates: Array) -> Array:
        """See `Levels.mix` (trips, draws); ``rates`` are of the effects."""
        known = rates if self._all_told else self.rates(effects @ self.told)
        seen = self.share.any(axis=1, keepdims=True)
        mix = np.where(seen, self.share @ known, 1.0)[self.boat]
        if not self._all_told:
            whole, told = self.hours @ rates, self.hours @ known
            mix *= np.divide(whole, told, out=np.ones_like(whole), where=told > 0)
        return np.asarray(mix)


def _at_own_errors(
    exposure: Exposure, fit: Fit, draws: Index, row: Index, strikes: Array, steep: Array
) -> Array:
    """How much more a trip's rods meet at each draw's own depth errors than at their mean.

    Curves that lie deeper go with gear that runs deeper: read at other depths than they were
    fitted at, they would tell another level. To first order in the errors.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    draws : (draws,) int array
        Of one refit; see `refits`.
    row : (rows,) int array
        Slices, of known covariates.
    strikes : (rows,) array
        Expected of each slice but for its trip's level.
    steep : (rows,) array
        Slope of its log rate to log depth.

    Returns
    -------
    (trips, draws) array
    """
    error = fit.error_draws[draws]
    middle = error.mean(axis=0)
    trips = int(exposure.trip.max(initial=-1)) + 1
    met = np.maximum(np.bincount(exposure.trip[row], strikes, trips), TINY)[:, None]
    moved = np.zeros(len(exposure.trip))
    moved[row] = strikes * steep
    by_trip = exposure.shifts.slopes_of_sums(summing(exposure.trip, trips, moved), middle) / met
    return np.asarray(np.exp(by_trip @ (error - middle).T))
