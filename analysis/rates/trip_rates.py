"""Absolute rates after the strata were eliminated: how well fish bit on each trip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from analysis.rates.boat_levels import TINY, drawn_means, drawn_shapes
from analysis.rates.exposure import HOUR_US, Exposure, covered, trip_spans
from analysis.rates.fit import Fit
from analysis.rates.rods import risk_sets
from analysis.rates.slice_rates import STEP, rate_of_water, refits, steepness, water_values
from analysis.rates.terms import RateModel
from analysis.stats.beside import in_halves
from analysis.stats.cells import summing
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LEAST_EFFORT = 0.3
"""Share of its trip's usual effort that counts as down at a strike at the least, so that one on the
only line that was still in does not stand for an hour of all rods."""
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
    complete = exposure.complete(fit.model)
    row = np.flatnonzero(complete)
    trips = int(exposure.trip.max(initial=-1)) + 1
    at_strikes = _AtStrikes.of(exposure, fit.model, row)
    hours = exposure.table["hours"].to_numpy()[row]
    trip = exposure.trip[row]
    strikes = exposure.table["strikes"].to_numpy()[row]
    struck = np.bincount(trip, strikes, trips).astype(float)
    design, towed = exposure.tackle(fit.model, row)
    of_tackle = ~fit.model.of_water
    told = fit.told[np.ix_(of_tackle, of_tackle)].T
    all_told = np.allclose(design @ told, design)
    logs, of_log = np.unique(exposure.table["log_number"].to_numpy(), return_inverse=True)
    share = np.zeros((len(logs), len(design)))
    np.add.at(share, (of_log[row], towed), hours)
    seen = share.any(axis=1, keepdims=True)
    share /= np.maximum(share.sum(axis=1, keepdims=True), TINY)
    boat = np.zeros(trips, dtype=np.intp)
    boat[exposure.trip] = of_log
    of_boat = (boat == np.arange(len(logs))[:, None]).astype(float)
    hours_of_trip = summing(trip, trips, hours)
    towed_h = np.zeros((trips, len(design)))
    np.add.at(towed_h, (trip, towed), hours)
    each = list(refits(fit))
    streams = rng.spawn(len(each))

    def told_by(some: range) -> tuple[list[Array], list[Array], Array]:
        levels, mixes, sums = [], [], np.zeros((2, len(row)))
        for refit in some:
            draws, own = each[refit], streams[refit]
            effects = fit.draws[draws][:, of_tackle]
            tackle = np.exp(design @ effects.T)
            known = tackle if all_told else np.exp(design @ (effects @ told).T)
            shift = exposure.shifts.log_shift(fit.error_draws[draws].mean(axis=0))[row]
            here, deeper = (
                water_values(exposure, fit, row, draws, at) for at in (shift, shift + STEP)
            )
            met = rate_of_water(fit, draws, here, len(row))
            met *= tackle[towed]
            steep = steepness(fit, draws, here, deeper, len(row))
            met *= _at_own_errors(exposure, fit, draws, row, hours * met.mean(axis=1), steep)[trip]
            exposed = hours_of_trip @ met
            spread = drawn_shapes(struck, exposed.mean(axis=1), of_boat, own)
            mean = drawn_means(struck, exposed, of_boat, spread, own)
            shape = (struck + spread[boat])[:, None]
            rate = exposed + spread[boat, None] / mean[boat]
            over_rods = at_strikes.over_rods(met, exposed, of_boat, own)[boat]
            levels.append(own.gamma(shape, 1.0 / rate) * over_rods)
            mix = np.where(seen, share @ known, 1.0)[boat]
            if not all_told:
                towed_hours, known_hours = towed_h @ tackle, towed_h @ known
                fished = known_hours > 0
                mix *= np.divide(
                    towed_hours, known_hours, out=np.ones_like(towed_hours), where=fished
                )
            mixes.append(mix)
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
class _AtStrikes:
    """The rods down at each strike, and for how long boats had rods down.

    Attributes
    ----------
    trip : (strikes,) int array
    down : (strikes, rows) sparse array
        That sums slices over the rods down.
    boat_h : (trips,) array
        Length of each trip.
    fished_h : (trips,) array
        Of it with a rod down.
    """

    trip: Index
    down: csr_array
    boat_h: Array
    fished_h: Array

    @classmethod
    def of(cls, exposure: Exposure, model: RateModel, row: Index) -> _AtStrikes:
        sets = risk_sets(exposure, model)
        strikes, moment = np.unique(sets.moment, return_inverse=True)
        place = np.full(len(exposure.trip), -1)
        place[row] = np.arange(len(row))
        within = np.ones(len(moment)), (moment, place[sets.row])
        first, last = trip_spans(exposure.trip, exposure.start, exposure.end)
        fished_us = covered(exposure.trip[row], exposure.start[row], exposure.end[row], len(first))
        return cls(
            trip=exposure.trip[exposure.strike_row[strikes]],
            down=csr_array(within, shape=(len(strikes), len(row))),
            boat_h=(last - first) / HOUR_US,
            fished_h=fished_us / HOUR_US,
        )

    def over_rods(
        self, met: Array, exposed: Array, of_boat: Array, rng: np.random.Generator
    ) -> Array:
        """How fish bit through the boat's hours, over how they bit through those of its rods.

        Strikes over effort are the mean bite of rod-hours: an hour counts by the rods that were
        down in it, and a rod that took a fish is out of the water whilst they bite. The mean over
        boat hours is told by each strike over the effort of the rods down just then (Aalen 1978,
        *Annals of Statistics* 6(4), 701-726, from memory): without bias, since what was down
        before a strike does not follow from it. One trip has too few: a boat's trips tell it
        together, and how surely is drawn by a Bayesian bootstrap of the strikes (Rubin 1981,
        *Annals of Statistics* 9(1), 130-134, from memory).

        Parameters
        ----------
        met : (rows, draws) array
            Rate of each slice by what it met.
        exposed : (trips, draws) array
            Rod-hours weighted by that.
        of_boat : (boats, trips) array
        rng : numpy.random.Generator

        Returns
        -------
        (boats, draws) array
            1 for a boat without a strike.
        """
        trips = len(self.boat_h)
        fished_h = np.maximum(self.fished_h, TINY)[:, None]
        least = LEAST_EFFORT * exposed / fished_h
        down = np.maximum(self.down @ met, np.maximum(least, TINY)[self.trip])
        often = rng.standard_exponential(down.shape)
        by_trip = summing(self.trip, trips)
        boat_h = of_boat * self.boat_h
        by_hours = boat_h @ (by_trip @ (often / down) / fished_h)
        by_rods = boat_h @ (by_trip @ often / np.maximum(exposed, TINY))
        one = np.ones_like(by_rods)
        return np.asarray(np.divide(by_hours, by_rods, out=one, where=by_rods > 0))


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
