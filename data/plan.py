"""The calendar of a season: days, hours, rods, how well fish bite, speed and current."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.scenario import Scenario
from data.truth import SCHOOL_MINUTES, WINDOW_MINUTES

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STEP = 5  # minutes
LONGEST_TRIP = 9 * 60
DAWN_H, DUSK_H = 5.5, 20.5
Night = tuple[str, int]


@dataclass(frozen=True)
class Plan:
    """A season's trips, arrays over trips (and ten minutes or bite windows within them)."""

    day_of_year: Index
    date: NDArray[np.datetime64]
    start: NDArray[np.datetime64]  # UTC, minutes
    minutes: Index
    rods: Index
    day_effect: Array
    window_effect: Array  # (trip, window)
    speed_mps: Array  # (trip, ten minutes), through the water
    current_mps: Array  # (trip, ten minutes), along the boat's track
    deeper_m: Array  # (trip, half hour): how much deeper than usual the fish hold

    def time(self, trip: Index, minute: Array | Index) -> pd.Series:
        """Return UTC times of minutes counted from the trips' starts."""
        utc = self.start[trip] + np.asarray(minute).astype("timedelta64[m]")
        return pd.Series(pd.DatetimeIndex(utc.astype("datetime64[us]")).tz_localize("UTC"))

    def boat_steps(self) -> tuple[Index, Index]:
        """Return trip and minute of every five minutes that the boat fished."""
        steps = self.minutes // STEP
        trip = np.repeat(np.arange(len(steps)), steps)
        first = np.repeat(np.cumsum(steps) - steps, steps)
        return trip, (np.arange(len(trip)) - first) * STEP

    def month(self) -> NDArray[np.str_]:
        """Return each trip's month; a trip past midnight belongs to the day it began."""
        return np.datetime_as_string(self.date, unit="M")


def make_plan(
    scenario: Scenario,
    trips: int,
    rods: tuple[int, int],
    year: int,
    time_zone: str,
    nights: tuple[Night, ...],
    rng: np.random.Generator,
    shared: np.random.Generator,
) -> Plan:
    """Draw the days from May to October, their lengths, rods, abundance and speeds.

    `nights` are trips that must be there, as (local start, minutes). `shared` draws how well
    fish bite on each day of the year, the same for all boats on the lake.
    """
    z_of_day = shared.normal(size=367)
    fixed = np.array([np.datetime64(start) for start, _ in nights], dtype="datetime64[m]")
    season = np.arange(np.datetime64(f"{year}-05-04"), np.datetime64(f"{year}-10-25"))
    free = season[~np.isin(season, fixed.astype("datetime64[D]"))]
    weight = np.where(np.is_busday(free), 1.0, 2.5)
    day = rng.choice(free, trips - len(fixed), replace=False, p=weight / weight.sum())
    hour = np.where(rng.random(len(day)) < 0.7, rng.integers(5, 8, len(day)), 14)
    local = day.astype("datetime64[m]") + (hour * 60 + rng.integers(0, 12, len(day)) * 5)
    local = np.concatenate([local, fixed])
    hours = np.exp(rng.normal(np.log(5.6), 0.25, trips))
    down = rng.integers(rods[0], rods[1] + 1, trips).astype(float)
    order = np.argsort(local)
    local = local[order]
    date = local.astype("datetime64[D]")
    day_of_year = (date - date.astype("datetime64[Y]")).astype(np.intp) + 1
    z_day = z_of_day[day_of_year]
    if scenario.confounded:
        hours = hours * np.exp(0.3 * z_day)
        down = down + z_day
    hours = np.clip(hours, 3.0, LONGEST_TRIP / 60)
    minutes = (hours * 60 // STEP * STEP).astype(np.intp)
    for i, (_, length) in enumerate(nights):
        minutes[order == trips - len(nights) + i] = length
    z_window = rng.normal(size=(trips, LONGEST_TRIP // WINDOW_MINUTES + 1))
    zone = pd.DatetimeIndex(local).tz_localize(time_zone, ambiguous=True)
    tens = LONGEST_TRIP // 10 + 1
    speed = rng.normal(1.1, 0.11, (trips, 1)) + persistent((trips, tens), 0.75, 0.09, rng)
    current = rng.uniform(0.10, 0.25, (trips, 1)) * np.cos(rng.uniform(0, np.pi, (trips, 1)))
    # the boat turns back every half hour or so, and the current with it
    turn, length = rng.integers(0, 6, (trips, 1)), rng.integers(3, 7, (trips, 1))
    away = (np.arange(tens)[None, :] + turn) // length % 2 == 1
    current = np.where(away, current, -current) + rng.normal(0, 0.02, (trips, tens))
    halves = LONGEST_TRIP // SCHOOL_MINUTES + 1
    day_hour = (local - date).astype(float)[:, None] / 60 + np.arange(halves) * SCHOOL_MINUTES / 60
    light = np.clip(np.sin(np.pi * (day_hour - DAWN_H) / (DUSK_H - DAWN_H)), 0.0, 1.0)
    deeper = scenario.light_m * light
    if scenario.school_m:
        deeper = deeper + rng.normal(0, scenario.school_m, deeper.shape)
    return Plan(
        day_of_year,
        date,
        zone.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[m]"),
        minutes,
        np.clip(np.rint(down), rods[0], rods[1]).astype(np.intp),
        scenario.day_sd * z_day,
        scenario.hour_sd * z_window,
        np.clip(speed, 0.6, 1.8),
        current,
        deeper,
    )


def persistent(shape: tuple[int, int], keep: float, sd: float, rng: np.random.Generator) -> Array:
    """Return rows of an autoregressive series with standard deviation `sd`."""
    step = rng.normal(0, sd * np.sqrt(1 - keep**2), shape)
    out = np.empty(shape)
    out[:, 0] = rng.normal(0, sd, shape[0])
    for i in range(1, shape[1]):
        out[:, i] = keep * out[:, i - 1] + step[:, i]
    return out
