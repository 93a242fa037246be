"""The invented lake: water temperature over depth and time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DEEP_TEMP_C = 4.6


@dataclass(frozen=True)
class Lake:
    """Water of a season, one entry a trip.

    The thermocline sinks from May to October, tilts from day to day with the wind and
    swings a little within a day, so that one cast does not tell the next hour exactly.
    """

    surface_c: Array
    thermocline_m: Array
    thickness_m: Array
    swing_m: Array
    swing_minutes: Array
    swing_phase: Array

    def temp_c(self, trip: NDArray[np.intp], minute: Array, depth_m: Array) -> Array:
        """Return water temperature, minutes counted from the trip's start; shapes broadcast."""
        turn = 2 * np.pi * minute / self.swing_minutes[trip] + self.swing_phase[trip]
        middle = self.thermocline_m[trip] + self.swing_m[trip] * np.sin(turn)
        s = self.thickness_m[trip]
        # divided by its value at the surface, so that depth 0 has the surface temperature
        shape = (1 + np.exp(-middle / s)) / (1 + np.exp((depth_m - middle) / s))
        return np.asarray(DEEP_TEMP_C + (self.surface_c[trip] - DEEP_TEMP_C) * shape)


def make_lake(day_of_year: NDArray[np.intp], rng: np.random.Generator) -> Lake:
    """Draw a year's water and return it at the trips' days.

    Every day of the year is drawn, so that boats on one lake in one year, which share a
    generator's seed, meet the same water on the same day.
    """
    days = np.arange(367)
    late = rng.normal(0, 6)
    warmth = np.exp(-0.5 * ((days - 215 - late) / 52.0) ** 2)
    surface = 7.0 + rng.normal(14.0, 0.8) * warmth + wander(len(days), 0.8, 0.9, rng)
    sink = rng.normal(0.13, 0.012)  # metres a day from mid-May on
    middle = rng.normal(6.0, 0.8) + sink * np.clip(days - 135, 0, None)
    middle = np.maximum(middle + wander(len(days), 0.7, 2.2, rng), 3.0)
    thickness = np.clip(1.6 + 0.06 * middle + rng.normal(0, 0.2, len(days)), 1.2, 5.0)
    swing = np.abs(rng.normal(0, 1.0, len(days)))
    minutes = rng.uniform(500, 1000, len(days))
    phase = rng.uniform(0, 2 * np.pi, len(days))
    every = (np.maximum(surface, DEEP_TEMP_C + 1.5), middle, thickness, swing, minutes, phase)
    return Lake(*(x[day_of_year] for x in every))


def wander(n: int, keep: float, sd: float, rng: np.random.Generator) -> Array:
    """Return an autoregressive walk of n days with standard deviation sd."""
    step = rng.normal(0, sd * np.sqrt(1 - keep**2), n)
    out = np.empty(n)
    out[0] = rng.normal(0, sd)
    for i in range(1, n):
        out[i] = keep * out[i - 1] + step[i]
    return out
