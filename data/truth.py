"""What is true of a simulated season: rates by depth and time, ratios, rod-hours by band."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.lake import Lake
from data.scenario import FT, Scenario

Array = NDArray[np.float64]
Index = NDArray[np.intp]

WINDOW_MINUTES = 60
SCHOOL_MINUTES = 30


@dataclass(frozen=True)
class Fish:
    """One species with every preference drawn; an infinite width is no preference.

    ``background`` is the share of its best rate that is left where it likes nothing.
    """

    name: str
    share: float
    best_depth_m: float
    depth_width_m: tuple[float, float]
    best_temp_c: float
    temp_width_c: tuple[float, float]
    background: float = 0.0

    def liking(self, depth_m: Array, temp_c: Array) -> Array:
        """Return the rate ratio against the best depth and temperature."""
        liked = np.exp(self.log_preference(depth_m, temp_c))
        return np.asarray(self.background + (1.0 - self.background) * liked)

    def log_preference(self, depth_m: Array, temp_c: Array) -> Array:
        """Return the log of what depth and temperature leave of it, but for the background."""
        out = _bell(depth_m, self.best_depth_m, self.depth_width_m)
        return out + _bell(temp_c, self.best_temp_c, self.temp_width_c)


def _bell(x: Array, best: float, width: tuple[float, float]) -> Array:
    away = x - best
    return -0.5 * (away / np.where(away < 0, *width)) ** 2


@dataclass(frozen=True)
class Response:
    """The true log strike rate of a rod: fish, speed, leader, gear, lure, day and window.

    ``deeper_m`` is how much deeper than usual the fish hold in each half hour of a trip.
    """

    fish: tuple[Fish, ...]
    best_speed_mps: float
    speed_width_mps: float
    leader_slope: float
    leader_curve: float
    gear_effect: dict[str, float]
    lure_effect: dict[str, float]
    log_base: float
    day_effect: Array  # (trip,)
    window_effect: Array  # (trip, window)
    deeper_m: Array  # (trip, half hour)

    def preference(self, depth_m: Array, temp_c: Array) -> Array:
        """Return the rate ratio of depth and temperature, summed over species."""
        parts = [f.share * f.liking(depth_m, temp_c) for f in self.fish]
        return np.asarray(sum(parts), dtype=float)

    def as_usual_m(self, depth_m: Array, trip: Index, minute: Array) -> Array:
        """Return the depth that is to the fish at their usual what these are to them now."""
        half_hour = np.asarray(minute // SCHOOL_MINUTES, dtype=np.intp)
        return np.asarray(depth_m - self.deeper_m[trip, half_hour])

    def log_speed(self, speed_mps: Array) -> Array:
        """Return the log rate ratio of speed through water against the best speed."""
        return -0.5 * ((speed_mps - self.best_speed_mps) / self.speed_width_mps) ** 2

    def log_leader(self, leader_length_m: Array) -> Array:
        """Return the log rate ratio of leader length against 8 ft."""
        x = np.log(leader_length_m / (8 * FT))
        return self.leader_slope * x - 0.5 * self.leader_curve * x**2

    def log_time(self, trip: Index, minute: Array) -> Array:
        """Return log abundance of a trip's day and bite window."""
        window = np.asarray(minute // WINDOW_MINUTES, dtype=np.intp)
        return self.day_effect[trip] + self.window_effect[trip, window]


@dataclass(frozen=True)
class Truth:
    """The known truth of one simulated season.

    Attributes
    ----------
    sets
        One row a set, in the order of the log's `sets` (row i is line i + 2 of the file):
        trip, rod, depth_m (true, mean over the set), model_depth_m (by boat.toml's gear),
        temp_c, hours, expected (strikes the true rate gives in those hours).
    strikes
        One row a strike, in the order of the log's `strikes`: depth_m, model_depth_m,
        temp_c, species, period (its trip's month).
    steps
        One row a boat and five minutes: trip (index), minute, period, speed_mps,
        log_time. These are the boat hours over which true band rates are averaged.
    rod_steps
        Arrays over rod x step: trip, minute, rod, hours, depth_m, model_depth_m, temp_c.
    mix
        Mean rate ratio of the season's mix of leaders, gears and lures, by rod-hours.
    """

    scenario: Scenario
    seed: int
    response: Response
    lake: Lake
    trips: tuple[str, ...]
    sets: pd.DataFrame
    strikes: pd.DataFrame
    steps: pd.DataFrame
    rod_steps: dict[str, Any]
    mix: float

    def log_rate(
        self,
        depth_m: Array | float,
        trip: Index | int,
        minute: Array | float,
        *,
        temp_c: Array | float | None = None,
        speed_mps: Array | float | None = None,
        leader_length_m: Array | float | None = None,
        gear: str | None = None,
    ) -> Array:
        """Return the log of true strikes per rod-hour at a trip's minute; shapes broadcast.

        Parameters
        ----------
        depth_m
            Depth of the lure.
        trip
            Row number of the trip.
        minute
            Minutes since the trip's start.
        temp_c
            Water at the lure; by default what the lake has at that depth and time.
        speed_mps
            Speed through the water; by default the best one.
        leader_length_m, gear
            By default both are left at the season's mix.
        """
        depth = np.asarray(depth_m, dtype=float)
        at = np.asarray(trip, dtype=np.intp)
        when = np.asarray(minute, dtype=float)
        if temp_c is None:
            temp_c = self.lake.temp_c(at, when, depth)
        out = self.response.log_base + np.log(
            self.response.preference(
                self.response.as_usual_m(depth, at, when), np.asarray(temp_c, dtype=float)
            )
        )
        out = out + self.response.log_time(at, when)
        if speed_mps is not None:
            out = out + self.response.log_speed(np.asarray(speed_mps, dtype=float))
        if leader_length_m is None and gear is None:
            return np.asarray(out + np.log(self.mix))
        if leader_length_m is not None:
            out = out + self.response.log_leader(np.asarray(leader_length_m, dtype=float))
        return np.asarray(out + (self.response.gear_effect[gear] if gear else 0.0))

    def rate(self, *args: Any, **kwargs: Any) -> Array:
        """Return true strikes per rod-hour; arguments of `log_rate`."""
        return np.exp(self.log_rate(*args, **kwargs))

    @property
    def periods(self) -> list[str]:
        """The periods of the season: `season` and each month fished."""
        return ["season", *sorted(self.steps["period"].unique())]

    def band_rates(
        self, edges_m: Array, *, inner: int = 6, leave_out: tuple[str, ...] = ()
    ) -> pd.DataFrame:
        """Return the true rate of each depth band in each period.

        A band's rate is the mean over its depths (`inner` points, evenly spaced) and over
        the period's boat steps, each once, of the true rate at the speed and the water
        temperature of that step and the season's mix of leaders, gears and lures. Months in
        `leave_out` count for nothing, also not for the season.

        Returns
        -------
        DataFrame
            period, band_low_m, band_high_m, rate, rod_hours (true depth),
            model_rod_hours (depth by boat.toml's gear), strikes (by true depth).
        """
        edges = np.asarray(edges_m, dtype=float)
        low, high = edges[:-1], edges[1:]
        part = (np.arange(inner) + 0.5) / inner
        depth = (low[:, None] + (high - low)[:, None] * part).ravel()
        s = self.steps
        trip, minute = s["trip"].to_numpy(), s["minute"].to_numpy(dtype=float)
        # the lake moves slowly: its water is looked up once in half an hour
        slot = trip * 10_000 + (minute // 30).astype(np.intp)
        _, first, back = np.unique(slot, return_index=True, return_inverse=True)
        mid = (minute[first] // 30) * 30 + 15
        temp = self.lake.temp_c(trip[first][:, None], mid[:, None], depth[None, :])
        held = self.response.as_usual_m(depth[None, :], trip[first][:, None], mid[:, None])
        pref = self.response.preference(held, temp)
        weight = np.exp(
            self.response.log_base
            + s["log_time"].to_numpy()
            + self.response.log_speed(s["speed_mps"].to_numpy())
        )
        rod, hit = self.rod_steps, self.strikes
        frames = []
        periods = [period for period in self.periods if period not in leave_out]
        for period in periods:
            of = [period] if period != "season" else periods
            on, mine, struck = (
                np.isin(np.asarray(x, dtype=str), of)
                for x in (s["period"], rod["period"], hit["period"])
            )
            mass = np.bincount(back[on], weights=weight[on], minlength=len(first))
            rate = self.mix * (mass @ pref) / on.sum()
            frames.append(
                pd.DataFrame(
                    {
                        "period": period,
                        "band_low_m": low,
                        "band_high_m": high,
                        "rate": rate.reshape(len(low), inner).mean(axis=1),
                        "rod_hours": _sum(rod["depth_m"], rod["hours"] * mine, edges),
                        "model_rod_hours": _sum(rod["model_depth_m"], rod["hours"] * mine, edges),
                        "strikes": np.histogram(hit["depth_m"][struck], edges)[0],
                    }
                )
            )
        return pd.concat(frames, ignore_index=True)

    def ratio(self, term: str, at: Array, reference: float) -> Array:
        """Return true rate ratios of one term against a reference value, others equal.

        `term` is one of `depth_m`, `lure_temp_c`, `speed_mps`, `leader_length_m`. With
        several species `depth_m` and `lure_temp_c` are averaged over the other one at the
        hours and places that were fished.
        """
        x = np.append(np.asarray(at, dtype=float), reference)
        if term == "speed_mps":
            log = self.response.log_speed(x)
        elif term == "leader_length_m":
            log = self.response.log_leader(x)
        elif term in ("depth_m", "lure_temp_c"):
            thin = slice(None, None, max(1, len(self.rod_steps["hours"]) // 2000))
            other = "temp_c" if term == "depth_m" else "depth_m"
            fixed = self.rod_steps[other][thin][None, :]
            args = (x[:, None], fixed) if term == "depth_m" else (fixed, x[:, None])
            log = np.log(self.response.preference(*args) @ self.rod_steps["hours"][thin])
        else:
            terms = "depth_m, lure_temp_c, speed_mps or leader_length_m"
            msg = f"no true ratio for {term!r}; use {terms}"
            raise ValueError(msg)
        return np.asarray(np.exp(log[:-1] - log[-1]))


def _sum(depth: Array, hours: Array, edges: Array) -> Array:
    return np.asarray(np.histogram(depth, edges, weights=hours)[0])
