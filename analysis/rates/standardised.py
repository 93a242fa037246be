"""Rates of depth bands by period: a rod held in a band through the hours the boats fished."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.exposure import HOUR_US, Exposure, hours_of
from analysis.rates.fit import Fit
from analysis.rates.latent_water import MovingWaters
from analysis.rates.slice_rates import refits
from analysis.rates.terms import RateModel
from analysis.rates.trip_rates import Levels
from analysis.stats.beside import in_halves
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
SEASON = "season"

INNER = 3
"""Depths within a band over which its rate is averaged."""
DEPTH = "depth_m"
_RATES_TO_PART = 20_000_000
"""Hours times depths times draws from which a second process does half of the refits."""

TemperatureAt = Callable[[int, NDArray[np.object_], NDArray[np.int64], Array], Array]
"""(log number, trip ids, times in microseconds, depths) -> temperatures, NaN where unknown."""


@dataclass(frozen=True, kw_only=True)
class BoatHours:
    """The hours boats fished, each once, with the water at the depths of the bands.

    Attributes
    ----------
    edges_m : (bands + 1,) array
    trip : (hours,) int array
    weight : (hours,) array
        Boat hours each stands for.
    period : (hours,) array
    day : (hours,) array
        Day of the year.
    depth_m : (bands, INNER) array
    temp_c : (hours, bands, INNER) array
        NaN where the water's temperature is unknown.
    layer_doubt_m : (hours,) array
        Standard deviation of the height of the water's layers, one error a trip.
    moving : MovingWaters or None
        The whole waters of the hours, where they are in doubt; ``temp_c`` is of the likeliest.
    """

    edges_m: Array
    trip: NDArray[np.intp]
    weight: Array
    period: NDArray[np.object_]
    day: Array
    depth_m: Array
    temp_c: Array
    layer_doubt_m: Array
    moving: MovingWaters | None = None

    @classmethod
    def of(cls, exposure: Exposure, edges_m: Array, temperature_at: TemperatureAt) -> BoatHours:
        """Sample each trip by the hour, from its first line in to its last line out.

        Water changes more slowly.
        """
        table = exposure.table
        trips = pd.DataFrame(
            {
                "trip": exposure.trip,
                "start": exposure.start,
                "end": exposure.end,
                "log_number": table["log_number"],
                "id": table["trip"],
                "period": table["period"],
                "day": table["day"],
                "doubt": exposure.layer_doubt * table["depth_m"].fillna(0.0),
            }
        )
        trips = trips.groupby("trip", as_index=False).agg(
            {
                "start": "min",
                "end": "max",
                "log_number": "first",
                "id": "first",
                "period": "first",
                "day": "first",
                "doubt": "mean",
            }
        )
        first, last = trips["start"].to_numpy(), trips["end"].to_numpy()
        length, count = (last - first) / HOUR_US, hours_of(first, last)
        row = np.repeat(np.arange(len(trips)), count)
        part = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
        share = (part + 0.5) / count[row]
        span = (trips["end"] - trips["start"]).to_numpy()[row]
        time = trips["start"].to_numpy()[row] + (share * span).astype(np.int64)
        inner = (np.arange(INNER) + 0.5) / INNER
        depth = edges_m[:-1, None] + np.diff(edges_m)[:, None] * inner
        temp = np.full((len(row), *depth.shape), np.nan)
        for log in trips["log_number"].unique():
            here = np.flatnonzero(trips["log_number"].to_numpy()[row] == log)
            ids = trips["id"].to_numpy(dtype=object)[row[here]]
            wanted = np.broadcast_to(depth.reshape(-1, 1), (depth.size, len(here)))
            found = temperature_at(int(log), ids, time[here], wanted)
            temp[here] = found.T.reshape(len(here), *depth.shape)
        moving = None
        if exposure.latent.count:
            moving = exposure.latent.at(trips["log_number"].to_numpy()[row], time)
        likeliest = cls(
            edges_m=edges_m,
            trip=trips["trip"].to_numpy()[row],
            weight=(length / count)[row],
            period=trips["period"].to_numpy(dtype=object)[row],
            day=trips["day"].to_numpy(dtype=float)[row],
            depth_m=depth,
            temp_c=temp,
            layer_doubt_m=trips["doubt"].to_numpy()[row],
            moving=moving,
        )
        return likeliest.in_water(exposure.latent.mean)

    def in_water(self, amount: Array) -> BoatHours:
        """Return the same hours in the water moved by some amounts (ways,)."""
        if self.moving is None:
            return self
        depth = np.broadcast_to(self.depth_m.reshape(-1, 1), (self.depth_m.size, len(self.trip)))
        settled_c = self.temp_c.reshape(len(self.trip), -1).T
        moved = self.moving.temp_c(depth, amount, settled_c)
        return replace(self, temp_c=moved.T.reshape(self.temp_c.shape))

    def averaged(self, amounts: Array) -> BoatHours:
        """Return the same hours at the mean temperature of some waters, moved by (waters, ways)."""
        if self.moving is None:
            return self
        waters, often = np.unique(amounts, axis=0, return_counts=True)
        temp_c = np.zeros_like(self.temp_c)
        for amount, count in zip(waters, often / len(amounts), strict=True):
            temp_c += count * self.in_water(amount).temp_c
        return replace(self, temp_c=temp_c)

    def displaced(self, shift_m: Array) -> Array:
        """Temperatures with each hour's layers ``shift_m`` deeper than the casts put them."""
        flat = self.temp_c.reshape(len(self.trip), -1)
        step = float(np.diff(self.depth_m.ravel()[:2])[0])
        place = np.clip(np.arange(flat.shape[1]) - shift_m[:, None] / step, 0, flat.shape[1] - 1)
        below = np.minimum(place.astype(int), flat.shape[1] - 2)
        share = place - below
        hour = np.arange(len(flat))[:, None]
        moved = (1 - share) * flat[hour, below] + share * flat[hour, below + 1]
        return np.where(np.isnan(moved), flat, moved).reshape(self.temp_c.shape)


def band_draws(
    fit: Fit,
    levels: Levels,
    hours: BoatHours,
    groups: Sequence[NDArray[np.bool_]],
) -> list[Array]:
    """Draws of each band's rate over some groups of boat hours.

    Returns
    -------
    list of (bands, draws) array
        Means over the depths of the bands; see `depth_draws`.
    """
    return [found.mean(axis=1) for found in depth_draws(fit, levels, hours, groups)]


@one_thread
def depth_draws(
    fit: Fit,
    levels: Levels,
    hours: BoatHours,
    groups: Sequence[NDArray[np.bool_]],
) -> list[Array]:
    """Draws of the rate at each depth within the bands, over some groups of boat hours.

    Parameters
    ----------
    fit : Fit
    levels : Levels
    hours : BoatHours
    groups : sequence of (hours,) bool arrays
        The hours of each period.

    Returns
    -------
    list of (bands, INNER, draws) array
        Strikes per rod-hour of a rod held at the depth through the group's hours, at its boat's
        mix of leaders and gears of the season. NaN where the temperature of more than half of the
        hours is unknown to a model that needs it.
    """
    bands, inner = hours.depth_m.shape
    count = len(hours.trip)
    model = fit.model
    known: NDArray[np.bool_] = np.ones((count, bands), dtype=bool)
    if model.warm:
        known = np.asarray(np.isfinite(hours.temp_c).all(axis=2))
    weight = hours.weight * np.reshape(groups, (len(groups), count))
    total = (weight @ known)[:, :, None, None]
    fished = weight.sum(axis=1)[:, None, None, None]
    each = list(refits(fit))

    def means(some: range) -> list[Array]:
        found = []
        for draws in (each[refit] for refit in some):
            rate = curves_of_refit(fit, hours, fit.refit[draws[0]]).rates(fit.draws[draws])
            rate += fit.background[draws]
            level = levels.level[:, draws] * levels.mix[:, draws]
            rate *= level[hours.trip][:, None, None, :]
            rate[~known] = 0.0
            summed = weight @ rate.reshape(count, bands * inner * len(draws))
            found.append(summed.reshape(len(groups), bands, inner, -1))
        return found

    worth = hours.temp_c.size * len(fit.draws) > _RATES_TO_PART
    first, rest = in_halves(means, len(each), worth=worth)
    out = np.full((len(groups), bands, inner, len(fit.draws)), np.nan)
    out[..., np.concatenate(each)] = np.concatenate([*first, *rest], axis=-1)
    return list(np.where(total < 0.5 * fished, np.nan, out / np.maximum(total, 1e-12)))


@dataclass(frozen=True, kw_only=True)
class WaterCurves:
    """A model's terms of the water at every boat hour and inner depth of the bands.

    Attributes
    ----------
    model : RateModel
    by_depth : (bands, INNER, columns) array
        Design of the curve of depth, the same at every hour.
    by_hour : (hours, bands, INNER, columns) array
        Design of the other terms of the water.
    """

    model: RateModel
    by_depth: Array
    by_hour: Array

    def rates(self, coef: Array) -> Array:
        """Return ``exp`` of the curves (hours, bands, INNER, draws), coefficients (draws, size)."""
        of_depth = np.zeros(self.model.size, dtype=bool)
        of_depth[self.model.columns_of(DEPTH)] = True
        log = np.tensordot(self.by_hour, coef[:, self.model.of_water & ~of_depth].T, axes=1)
        log += np.tensordot(self.by_depth, coef[:, of_depth].T, axes=1)
        return np.asarray(np.exp(log, out=log))


def curves_of_refit(fit: Fit, hours: BoatHours, refit: np.intp) -> WaterCurves:
    """Terms of the water in one refit's water."""
    shift_m = fit.layers[hours.trip, refit] * hours.layer_doubt_m
    return water_curves(fit.model, hours.in_water(fit.waters[refit]), shift_m)


def water_curves(model: RateModel, hours: BoatHours, shift_m: Array | None = None) -> WaterCurves:
    """Terms of the water; ``shift_m`` displaces the layers of each hour."""
    shape = hours.temp_c.shape
    depth = hours.depth_m.ravel()
    terms = model.water.terms
    by_depth = RateModel(terms=tuple(term for term in terms if term.name == DEPTH))
    by_hour = RateModel(terms=tuple(term for term in terms if term.name != DEPTH))
    values: dict[str, NDArray[np.generic]] = {}
    if model.term("drift") is not None:
        at = np.tile(depth, len(hours.day)), np.repeat(hours.day, len(depth))
        values["drift"] = np.column_stack(at)
    if model.warm:
        temp = hours.temp_c if shift_m is None else hours.displaced(shift_m)
        values["lure_temp_c"] = np.nan_to_num(temp).ravel()
    return WaterCurves(
        model=model,
        by_depth=by_depth.design({DEPTH: depth}, len(depth)).reshape(*shape[1:], by_depth.size),
        by_hour=by_hour.design(values, hours.temp_c.size).reshape(*shape, by_hour.size),
    )
