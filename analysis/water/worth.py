"""What one more thermometer would buy: the doubt of the layers with readings not yet made."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.effort.gaps import Further
from analysis.water.field import Water
from analysis.water.measured import CAST, DAY_US, ERROR_C, ERROR_M, PROBE
from analysis.water.problem import PROBE_BIAS_C
from analysis.water.ways import state_design

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
    trips = np.sort(trips)
    middle_m, _ = water.middle(trips)
    return Further(
        now_m=_doubt_m(water, trips),
        fortnight_m=_doubt_m(water, trips, *_casts(_fortnightly(trips))),
        probe_m=_doubt_m(water, trips, trips, middle_m, PROBE),
        each_trip_m=_doubt_m(water, trips, *_casts(trips)),
    )


def _fortnightly(trips: Times) -> Times:
    """Trips at least a fortnight after the last one that had a cast."""
    chosen = [trips[0]]
    for trip in trips[1:]:
        if trip - chosen[-1] >= FORTNIGHT_DAYS * DAY_US:
            chosen.append(trip)
    return np.asarray(chosen)


def _casts(trips: Times) -> tuple[Times, Array, str]:
    return np.repeat(trips, len(CAST_AT_M)), np.tile(CAST_AT_M, len(trips)), CAST


def _doubt_m(
    water: Water,
    trips: Times,
    time: Times | None = None,
    depth_m: Array | None = None,
    kind: str = CAST,
) -> float:
    """Root mean square sd of the thermocline's depth, given readings at some times and depths."""
    variance = water.middle(trips)[1] ** 2
    if time is not None and depth_m is not None:
        place, covariance = water.fit.place, water.fit.covariance
        told = state_design(water, time, depth_m)
        steep = (water.at_height(time, depth_m + STEP_M) - water.at_height(time, depth_m)) / STEP_M
        error = ERROR_C[kind] ** 2 + (ERROR_M[kind] * steep) ** 2 + MODEL_C**2
        inner = told @ covariance @ told.T + np.diag(error)
        if kind == PROBE:
            inner += PROBE_BIAS_C**2  # the same on all trips
        _, index, days = water.likeliest(trips)
        reach = water.reach(days, "middle")[index]
        seen = reach @ covariance[place.middle] @ told.T
        variance = variance - np.sum(seen * np.linalg.solve(inner, seen.T).T, axis=1)
    return float(np.sqrt(np.mean(np.maximum(variance, 0.0))))
