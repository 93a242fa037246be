"""Owns made-up exposures of known truth, small and fast, for the tests of the rates room."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.rates.exposure import SHIFTS, Exposure

US = 3_600_000_000
START = 1_750_000_000_000_000
EDGES_M = np.arange(0.0, 37.0, 3.0)


@dataclass(frozen=True)
class Fish:
    """The truth: a bell in depth, maybe one in temperature, and how days differ."""

    best_m: float = 15.0
    width_m: float = 5.0
    day_sd: float = 0.6
    rate: float = 0.08
    best_c: float = 10.0
    width_c: float = np.inf

    def log_rate(self, depth_m, temp_c=10.0):
        bell = ((depth_m - self.best_m) / self.width_m) ** 2
        return np.log(self.rate) - 0.5 * (bell + ((temp_c - self.best_c) / self.width_c) ** 2)


def temperature(depth_m, day):
    """Water above 18 C at the surface, 5 C deep down; the thermocline sinks over the season."""
    middle = 10.0 + 0.06 * (day - 150)
    return 5.0 + 13.0 / (1.0 + np.exp((depth_m - middle) / 3.0))


def temperature_at(_log, trips, _times, depth_m):
    """The same by trip, whose number is its id: one trip every other day."""
    return temperature(depth_m, 150.0 + 2.0 * np.asarray(trips, dtype=float))


def exposure(
    seed: int = 0,
    *,
    trips: int = 40,
    rods: int = 6,
    hours: int = 5,
    fish: Fish | None = None,
    shared_sd: float = 0.0,
    layers_m: np.ndarray | None = None,
    layer_doubt_m: float = 0.0,
    set_sd: float = 0.0,
) -> Exposure:
    """Rods that each fish another depth each hour; strikes are Poisson at the true rate.

    Parameters
    ----------
    shared_sd
        Sd of log depth that a gear's sets share, for the model to carry; the depths are true.
    layers_m
        How much deeper the water's layers truly lay on each trip than the casts put them.
    layer_doubt_m
        Sd of that, for the model to carry.
    set_sd
        Sd of log depth by which each set truly ran elsewhere than its depth says.
    """
    fish = fish or Fish()
    rng = np.random.default_rng(seed)
    trip, hour, rod = (x.ravel() for x in np.mgrid[:trips, :hours, :rods])
    rows = len(trip)
    depth = rng.uniform(4.0, 30.0, rows)
    day = 150.0 + 2.0 * trip
    start = START + trip * 48 * US + hour * US
    good = rng.normal(0.0, fish.day_sd, trips) - fish.day_sd**2 / 2
    ran = depth * np.exp(set_sd * np.random.default_rng([seed, 1]).standard_normal(rows))
    above = ran if layers_m is None else ran - layers_m[trip]
    expected = np.exp(fish.log_rate(ran, temperature(above, day)) + good[trip])
    strikes = rng.poisson(expected)
    row = np.repeat(np.arange(rows), strikes)
    gear = np.where(rod % 2, "rigger", "diver 2")
    table = pd.DataFrame(
        {
            "log_number": 0,
            "boat": "Dunlin",
            "trip": trip.astype(str),
            "rod": "R" + pd.Series(rod).astype(str),
            "set": np.arange(rows) + 2,
            "gear": np.where(rod % 2, "rigger", "diver"),
            "hours": 1.0,
            "strikes": strikes,
            "landed": 0,
            "depth_m": depth,
            "depth_sd_m": shared_sd * depth,
            "lure_temp_c": temperature(depth, day),
            "leader_length_m": rng.uniform(1.2, 3.0, rows),
            "speed_mps": rng.normal(1.1, 0.12, trips * hours)[trip * hours + hour],
            "speed_kind": "water",
            "surface_temp_c": np.nan,
            "gear_setting": pd.Categorical(gear),
            "day": day,
            "period": np.where(trip < trips // 2, "2026-06", "2026-07"),
        }
    )
    return Exposure(
        table=table,
        trip=trip.astype(np.intp),
        start=start,
        end=start + US,
        strike_row=row,
        strike_time=start[row] + rng.integers(1, US, len(row)),
        loadings=shared_sd * np.column_stack([gear == "rigger", gear != "rigger"]).astype(float),
        bends=np.zeros((rows, 0)),
        set_error_sd=np.zeros(rows),
        layer_doubt=layer_doubt_m / depth,
        layer_blocks=(np.ones((1, 1)),) * trips,
        temperature_c=temperature(depth[:, None] * np.exp(SHIFTS), day[:, None]),
    )


def with_table(whole: Exposure, **columns) -> Exposure:
    """The same exposure with some columns replaced."""
    return replace(whole, table=whole.table.assign(**columns))


def with_counts(whole: Exposure, strikes, rng) -> Exposure:
    """The same effort with so many strikes in each slice, at any time within it."""
    row = np.repeat(np.arange(len(whole.table)), strikes)
    length = (whole.end - whole.start)[row]
    return replace(
        with_table(whole, strikes=strikes),
        strike_row=row,
        strike_time=whole.start[row] + np.ceil(rng.random(len(row)) * length).astype(np.int64),
    )


def with_rows(whole: Exposure, rows) -> Exposure:
    """Some rows of an exposure, in their order and as often as they are asked for, no strikes."""
    return Exposure(
        table=whole.table.iloc[rows].reset_index(drop=True).assign(strikes=0),
        trip=whole.trip[rows],
        start=whole.start[rows],
        end=whole.end[rows],
        strike_row=np.empty(0, dtype=np.intp),
        strike_time=np.empty(0, dtype=np.int64),
        loadings=whole.loadings[rows],
        bends=whole.bends[rows],
        set_error_sd=whole.set_error_sd[rows],
        layer_doubt=whole.layer_doubt[rows],
        layer_blocks=whole.layer_blocks,
        temperature_c=whole.temperature_c[rows],
    )


def shuffled(whole: Exposure, seed: int) -> Exposure:
    """The same exposure with its rows, and its strikes, in another order."""
    rng = np.random.default_rng(seed)
    order = rng.permutation(len(whole.table))
    place = np.argsort(order)
    strikes = rng.permutation(len(whole.strike_row))
    return replace(
        with_table(with_rows(whole, order), strikes=whole.table["strikes"].to_numpy()[order]),
        strike_row=place[whole.strike_row[strikes]],
        strike_time=whole.strike_time[strikes],
    )


def with_temperature(whole: Exposure, temp_c: float) -> Exposure:
    """The same exposure with one temperature everywhere, or none (NaN)."""
    return replace(
        whole,
        table=whole.table.assign(lure_temp_c=temp_c),
        temperature_c=np.full_like(whole.temperature_c, temp_c),
    )


def joined(one: Exposure, other: Exposure, *, boats: bool = False) -> Exposure:
    """Both, one after the other: more trips of one boat, or another boat's."""
    table = other.table.assign(log_number=int(boats), boat="Petrel" if boats else "Dunlin")
    table["trip"] = (table["trip"].astype(int) + 1000).astype(str)
    rows, trips = len(one.table), int(one.trip.max()) + 1
    both = pd.concat([one.table, table], ignore_index=True)
    both["gear_setting"] = pd.Categorical(both["gear_setting"].astype(str))
    return Exposure(
        table=both,
        trip=np.concatenate([one.trip, other.trip + trips]),
        start=np.concatenate([one.start, other.start]),
        end=np.concatenate([one.end, other.end]),
        strike_row=np.concatenate([one.strike_row, other.strike_row + rows]),
        strike_time=np.concatenate([one.strike_time, other.strike_time]),
        loadings=np.concatenate([one.loadings, other.loadings]),
        bends=np.concatenate([one.bends, other.bends]),
        set_error_sd=np.concatenate([one.set_error_sd, other.set_error_sd]),
        layer_doubt=np.concatenate([one.layer_doubt, other.layer_doubt]),
        layer_blocks=(*one.layer_blocks, *other.layer_blocks),
        temperature_c=np.concatenate([one.temperature_c, other.temperature_c]),
    )
