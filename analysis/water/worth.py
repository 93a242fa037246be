"""What one more thermometer would buy: the doubt of the layers with readings not yet made."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from analysis.effort.gaps import Further
from analysis.water.field import COURSES, Water
from analysis.water.measured import CAST, DAY_US, ERROR_C, ERROR_M, LOGGER, PROBE
from analysis.water.problem import PROBE_BIAS_C
from analysis.water.ways import state_design, unknowns_design

Array = NDArray[np.float64]
Times = NDArray[np.int64]

CAST_AT_M = np.arange(1.0, 37.0, 3.0)
FORTNIGHT_DAYS = 14.0
STEP_M = 0.5
MODEL_C = 0.3
"""By how much a day's form differs from the season's, where the temperature falls (assumed)."""


def worth(water: Water, trips: Times) -> Further:
    """Tell the doubt of the thermocline's depth on some trips, now and with further readings.

    The posterior of a linear model depends on where readings are made, not on what they show; it
    is linear about the likeliest water, so where little is known the figures are rough.

    Parameters
    ----------
    water : Water
    trips : (trips,) int array
        Microseconds since 1970, UTC; at least one.

    Returns
    -------
    Further
    """
    sd = {name: float(np.sqrt(np.mean(square))) for name, square in _each(water, trips).items()}
    return Further(**sd)


def worth_by_month(water: Water, trips: Times, month: Sequence[str]) -> list[dict[str, object]]:
    """Tell the same for the trips of each month, with readings on all trips of the season.

    Parameters
    ----------
    water : Water
    trips : (trips,) int array
        Microseconds since 1970, UTC; at least one.
    month : sequence of str
        Of each trip.

    Returns
    -------
    list of dict
        Rows of the table ``worth``: ``period``, and what `Further` tells.
    """
    squares, of = _each(water, trips), np.asarray(month, dtype=object)
    return [
        {"period": name}
        | {what: float(np.sqrt(np.mean(square[of == name]))) for what, square in squares.items()}
        for name in sorted(set(of))
    ]


def _each(water: Water, trips: Times) -> dict[str, Array]:
    """Variance of the thermocline's depth on each trip, by what is measured."""
    order = np.argsort(trips)
    trips = trips[order]
    middle_m, sd_m = water.middle(trips)
    now_m2 = sd_m**2
    logger = [(trip, at) for trip, deep in zip(trips, middle_m, strict=True) for at in _above(deep)]
    logged, depth_m = np.array([trip for trip, _ in logger]), np.array([at for _, at in logger])
    found = {
        "now_m": now_m2,
        "fortnight_m": _variance(water, trips, now_m2, *_casts(_fortnightly(trips))),
        "probe_m": _variance(water, trips, now_m2, trips, middle_m, PROBE),
        "logger_m": _variance(water, trips, now_m2, logged, depth_m, LOGGER),
        "each_trip_m": _variance(water, trips, now_m2, *_casts(trips)),
    }
    back = np.argsort(order)
    return {name: square[back] for name, square in found.items()}


def _above(deep_m: float) -> Array:
    """Depths that a logger passes on the way to where its line fishes, at the thermocline."""
    return np.append(CAST_AT_M[deep_m > CAST_AT_M], deep_m)


def _fortnightly(trips: Times) -> Times:
    """Trips at least a fortnight after the last one that had a cast."""
    chosen = [trips[0]]
    for trip in trips[1:]:
        if trip - chosen[-1] >= FORTNIGHT_DAYS * DAY_US:
            chosen.append(trip)
    return np.asarray(chosen)


def _casts(trips: Times) -> tuple[Times, Array, str]:
    return np.repeat(trips, len(CAST_AT_M)), np.tile(CAST_AT_M, len(trips)), CAST


def _variance(
    water: Water, trips: Times, now_m2: Array, time: Times, depth_m: Array, kind: str
) -> Array:
    """Variance of the thermocline's depth on trips, given readings at some times and depths.

    ``now_m2`` is that without them. What a fitted water tells of other days than those measured is
    bridged from its state, so that readings there tell of what the bridge leaves open, too.
    """
    place, covariance = water.fit.place, water.fit.covariance
    told = state_design(water, time, depth_m)
    design, at, times = unknowns_design(water, time, depth_m)
    steep = (water.at_height(time, depth_m + STEP_M) - water.at_height(time, depth_m)) / STEP_M
    error = ERROR_C[kind] ** 2 + (ERROR_M[kind] * steep) ** 2 + MODEL_C**2
    inner = told @ covariance @ told.T + np.diag(error)
    if kind == PROBE:
        inner += PROBE_BIAS_C**2  # the same on all trips
    _, index, days = water.likeliest(trips)
    reach = water.reach(days, "middle")[index]
    seen = reach @ covariance[place.middle] @ told.T
    for course, name in enumerate(COURSES):
        by = design[:, course]
        inner += by[:, None] * water.unbridged(times, times, name)[np.ix_(at, at)] * by
    open_m2 = water.unbridged(days, times, "middle")
    seen += open_m2[np.ix_(index, at)] * design[:, 0]
    explained = solve_triangular(cholesky(inner, lower=True), seen.T, lower=True)
    return np.asarray(np.maximum(now_m2 - np.sum(explained**2, axis=0), 0.0))
