"""How captains fish: the calendar of trips, and rods set, moved and struck through a day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.lake import Lake
from data.scenario import FT, Scenario
from data.tackle import MAX_LINE_M, RODS, DepthTable, depth_table, group_of
from data.truth import WINDOW_MINUTES, Response

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STEP = 5  # minutes
LEADERS_FT = np.arange(4.0, 12.1, 1.0)
LEADS_FT = np.array([10.0, 20.0, 30.0, 40.0, 60.0])
TRIPS_A_BLOCK = 5  # trips fished side by side; what they taught is known to the next block
FALSE_RELEASES_PER_HOUR = 0.03
TANGLES_PER_HOUR = 0.02


@dataclass(frozen=True)
class Plan:
    """The calendar and the speed of a season, arrays over trips."""

    day_of_year: Index
    date: NDArray[np.datetime64]
    start: NDArray[np.datetime64]  # UTC, minutes
    local_start: NDArray[np.datetime64]
    minutes: Index
    rods: Index
    day_effect: Array
    window_effect: Array  # (trip, window)
    speed_mps: Array  # (trip, ten minutes), through the water
    current_mps: Array  # (trip, ten minutes), along the boat's track


@dataclass(frozen=True)
class Habits:
    """What a season's captain does when nothing has taught him otherwise."""

    centre_m: float
    sinking_m_per_day: float
    spread_m: float
    shift_m: float  # deeper (or shallower) on good days and in good hours


@dataclass
class Fished:
    """What happened: closed sets, strikes, and every rod's five-minute steps."""

    sets: pd.DataFrame
    strikes: pd.DataFrame
    rod_steps: dict[str, Array]


def make_plan(
    scenario: Scenario,
    trips: int,
    rods: tuple[int, int],
    year: int,
    time_zone: str,
    rng: np.random.Generator,
) -> Plan:
    """Draw the days from May to October, their lengths, rods, abundance and speeds."""
    season = np.arange(np.datetime64(f"{year}-05-04"), np.datetime64(f"{year}-10-25"))
    weight = np.where(np.is_busday(season), 1.0, 2.5)
    date = np.sort(rng.choice(season, trips, replace=False, p=weight / weight.sum()))
    z_day = rng.normal(size=trips)
    windows = 14 * 60 // WINDOW_MINUTES
    z_window = rng.normal(size=(trips, windows))
    hour = np.where(rng.random(trips) < 0.7, rng.integers(5, 8, trips), rng.integers(13, 17, trips))
    late = rng.integers(0, 12, trips) * 5
    hours = np.exp(rng.normal(np.log(5.6), 0.25, trips))
    down = rng.integers(rods[0], rods[1] + 1, trips).astype(float)
    if scenario.confounded:
        hours = hours * np.exp(0.25 * z_day)
        down = down + z_day
    minutes = (np.clip(hours, 3.0, 9.0) * 60 // STEP * STEP).astype(np.intp)
    local = date.astype("datetime64[m]") + (hour * 60 + late)
    utc = pd.DatetimeIndex(local).tz_localize(time_zone).tz_convert("UTC").tz_localize(None)
    tens = minutes.max() // 10 + 1
    speed = rng.normal(1.1, 0.11, (trips, 1)) + _persistent(trips, tens, 0.75, 0.09, rng)
    current = rng.uniform(0.10, 0.25, (trips, 1)) * np.cos(rng.uniform(0, np.pi, (trips, 1)))
    # the boat turns back every half hour or so, and the current with it
    tack = (np.arange(tens)[None, :] + rng.integers(0, 6, (trips, 1))) // rng.integers(
        3, 7, (trips, 1)
    )
    return Plan(
        pd.DatetimeIndex(date).dayofyear.to_numpy().astype(np.intp),
        date,
        utc.to_numpy().astype("datetime64[m]"),
        local,
        minutes,
        np.clip(np.rint(down), rods[0], rods[1]).astype(np.intp),
        scenario.day_sd * z_day,
        scenario.hour_sd * z_window,
        np.clip(speed, 0.6, 1.8),
        current * np.where(tack % 2, 1.0, -1.0) + rng.normal(0, 0.02, (trips, tens)),
    )


def _persistent(
    rows: int, n: int, keep: float, sd: float, rng: np.random.Generator
) -> Array:
    step = rng.normal(0, sd * np.sqrt(1 - keep**2), (rows, n))
    out = np.empty((rows, n))
    out[:, 0] = rng.normal(0, sd, rows)
    for i in range(1, n):
        out[:, i] = keep * out[:, i - 1] + step[:, i]
    return out


def draw_habits(scenario: Scenario, best_depth_m: float, rng: np.random.Generator) -> Habits:
    """Draw the captain: he has heard roughly where the fish are, no more."""
    near = best_depth_m if scenario.follow == "depth" else 11.0
    return Habits(
        float(np.clip(near + rng.normal(0, 3.5), 7.0, 26.0)),
        0.07 if scenario.follow == "temperature" else 0.0,
        rng.uniform(6.5, 9.5),
        rng.choice([-1.0, 1.0]) * rng.uniform(2.0, 3.5) if scenario.confounded else 0.0,
    )


class _Block:
    """A few trips fished side by side, one row a trip and one column a rod."""

    def __init__(self, season: Season, first: int, last: int, centre_m: Array) -> None:
        self.s = season
        self.trip = np.arange(first, last)
        self.centre_m = centre_m
        n, r = last - first, len(RODS)
        self.down = np.arange(r)[None, :] < season.plan.rods[self.trip, None]
        self.group = np.broadcast_to(season.group, (n, r))
        self.end = season.plan.minutes[self.trip, None]
        rng = season.rng
        self.set_in = rng.integers(0, 13, (n, r))
        self.move_at = self.set_in + self._stay((n, r))
        self.pace = rng.uniform(-1.0, 1.0, (n, r))
        self.target = np.full((n, r), np.nan)
        self.line = np.zeros((n, r))
        self.leader = rng.choice(LEADERS_FT, (n, r)) * FT
        self.leader[:, season.is_core] = 8.0 * FT
        self.lead = rng.choice(LEADS_FT, (n, r)) * FT
        self.lure = rng.integers(0, season.lures, (n, r))
        self.noise = np.ones((n, r))
        shape = (n, r)
        self.sums = {k: np.zeros(shape) for k in ("hours", "depth", "model", "temp", "expected")}
        everywhere = np.ones(shape, bool)
        self._aim(everywhere, np.zeros(shape), None)

    def _stay(self, shape: tuple[int, ...]) -> Index:
        return (25 + self.s.rng.exponential(50.0, shape)).astype(np.intp)

    def _aim(self, who: NDArray[np.bool_], minute: Array, wanted: Array | None) -> None:
        """Choose a depth for some rods, and the line-out that the boat thinks gives it."""
        s = self.s
        rng = s.rng
        spread = s.habits.spread_m * rng.uniform(-1.0, 1.0, who.shape)
        trip = np.broadcast_to(self.trip[:, None], who.shape)
        good = s.z_day[trip] + s.z_window[trip, np.asarray(minute // WINDOW_MINUTES, np.intp)]
        goal = self.centre_m[:, None] + spread + 0.7 * s.habits.shift_m * good
        if wanted is not None:
            goal = np.where(np.isnan(wanted), goal, wanted + rng.normal(0, 1.5, who.shape))
        line = s.table.line_for(self.group, np.maximum(goal, 1.5))
        line = np.rint(line / s.line_step_m) * s.line_step_m
        line = np.clip(line, 6 * s.line_step_m, MAX_LINE_M[self.group])
        self.line = np.where(who, line, self.line)
        fresh = np.exp(rng.normal(0, 1, who.shape) * s.scenario.set_depth_error)
        self.noise = np.where(who, fresh, self.noise)

    def step(self, k: int) -> None:
        """Fish five minutes."""
        s, rng, t0 = self.s, self.s.rng, k * STEP
        on = self.down & (t0 < self.end)
        fishing = on & (self.set_in <= t0)
        # moves, false releases and tangles fall on the five-minute marks
        luck = rng.random(on.shape) * 60 / STEP
        false = fishing & (luck < FALSE_RELEASES_PER_HOUR) & ~s.is_core[None, :]
        tangle = fishing & ~false & (luck > 60 / STEP - TANGLES_PER_HOUR)
        moved = fishing & (self.move_at <= t0) & ~false & ~tangle
        ended = moved | false | tangle
        if k and ended.any():
            ended &= self.set_in < t0
            why = np.where(moved, "moved", np.where(false, "false release", "tangle"))
            self._close(ended, np.full(on.shape, t0), why)
            again = rng.integers(2, 5, on.shape) + np.where(moved, 0, rng.integers(2, 7, on.shape))
            self.set_in = np.where(ended, t0 + again, self.set_in)
            self._aim(ended & moved, np.full(on.shape, float(t0)), self.target)
            self.target[ended & moved] = np.nan
            self._change(ended & moved)
            self.move_at = np.where(ended & moved, t0 + self._stay(on.shape), self.move_at)
        minutes = np.where(on, np.clip(t0 + STEP - np.maximum(self.set_in, t0), 0, STEP), 0)
        if not minutes.any():
            return
        trip = np.broadcast_to(self.trip[:, None], on.shape)
        speed = s.plan.speed_mps[trip, t0 // 10]
        model = s.table.depth(self.group, self.line, speed)
        depth = model * s.shared[self.group] * self.noise
        middle = np.full(on.shape, t0 + 2.5)
        temp = s.lake.temp_c(trip, middle, depth)
        r = s.response
        pref = [f.share * np.exp(f.log_preference(depth, temp)) for f in r.fish]
        total = sum(pref)
        rest = r.log_base + r.log_time(trip, middle) + r.log_speed(speed)
        rest = rest + r.log_leader(self.leader) + s.gear_log[self.group] + s.lure_log[self.lure]
        rate = total * np.exp(rest)
        wait = np.ceil(60 * rng.exponential(1.0, on.shape) / rate)  # whole minutes, at least 1
        struck = wait <= minutes
        minutes = np.where(struck, wait, minutes)
        for name, x in (
            ("hours", 1.0),
            ("depth", depth),
            ("model", model),
            ("temp", temp),
            ("expected", rate),
        ):
            self.sums[name] += x * minutes / 60
        some = minutes > 0
        s.keep_step(trip[some], t0, np.nonzero(some)[1], minutes[some] / 60, depth[some],
                    model[some], temp[some])
        if struck.any():
            self._strike(struck, np.maximum(self.set_in, t0) + minutes, pref, depth, model, temp)

    def _change(self, who: NDArray[np.bool_]) -> None:
        """Change leader, lead or lure on some of the rods that are up anyway."""
        rng, shape = self.s.rng, who.shape
        swap = who & (rng.random(shape) < 0.3) & ~self.s.is_core[None, :]
        self.leader = np.where(swap, rng.choice(LEADERS_FT, shape) * FT, self.leader)
        self.lead = np.where(swap, rng.choice(LEADS_FT, shape) * FT, self.lead)
        swap = who & (rng.random(shape) < 0.35)
        self.lure = np.where(swap, rng.integers(0, self.s.lures, shape), self.lure)

    def _strike(
        self,
        struck: NDArray[np.bool_],
        minute: Array,
        pref: list[Array],
        depth: Array,
        model: Array,
        temp: Array,
    ) -> None:
        s, rng = self.s, self.s.rng
        row, rod = np.nonzero(struck)
        share = np.cumsum([p[struck] for p in pref], axis=0)
        kind = (rng.random(len(row)) * share[-1] > share).sum(axis=0)
        when = minute[struck].astype(np.intp)
        s.keep_strikes(self.trip[row], when, rod, kind, depth[struck], model[struck], temp[struck])
        self._close(struck, minute.astype(np.intp), np.full(struck.shape, "strike"))
        back = minute.astype(np.intp) + rng.integers(4, 13, struck.shape)
        self.set_in = np.where(struck, back, self.set_in)
        fresh = np.exp(rng.normal(0, 1, struck.shape) * s.scenario.set_depth_error)
        self.noise = np.where(struck, fresh, self.noise)
        if not s.scenario.chasing:
            return
        # the others are told to go where that one was, within the next quarter of an hour
        for i, j in zip(row, rod, strict=True):
            told = rng.random(len(RODS)) < 0.35
            told[j] = False
            self.target[i, told] = model[i, j]
            soon = minute[i, j] + rng.integers(5, 20, told.sum())
            self.move_at[i, told] = np.minimum(self.move_at[i, told], soon.astype(np.intp))

    def _close(self, who: NDArray[np.bool_], out: Index, why: NDArray[np.str_]) -> None:
        row, rod = np.nonzero(who)
        hours = np.maximum(self.sums["hours"][who], 1e-9)
        self.s.keep_sets(
            self.trip[row], rod, self.set_in[who], out[who], self.line[who], self.leader[who],
            self.lead[who], self.lure[who], why[who], hours, self.sums["depth"][who] / hours,
            self.sums["model"][who] / hours, self.sums["temp"][who] / hours,
            self.sums["expected"][who],
        )
        for x in self.sums.values():
            x[who] = 0.0

    def fish(self) -> None:
        """Fish from lines in to lines out."""
        for k in range(int(self.end.max()) // STEP):
            self.step(k)
            over = self.down & (self.end == (k + 1) * STEP) & (self.set_in < self.end)
            if over.any():
                end = np.broadcast_to(self.end, over.shape)
                self._close(over, end, np.full(over.shape, "end"))


_STEP_COLUMNS = ("trip", "minute", "rod", "hours", "depth_m", "model_depth_m", "temp_c")
_STRIKE_COLUMNS = ("trip", "minute", "rod", "kind", "depth_m", "model_depth_m", "temp_c")
_SET_COLUMNS = (
    "trip", "rod", "minute_in", "minute_out", "line_out_m", "leader_length_m", "lead_m", "lure",
    "ended_by", "hours", "depth_m", "model_depth_m", "temp_c", "expected",
)  # fmt: skip


class Season:
    """A season being fished: what is fixed through it and what has been recorded so far."""

    def __init__(
        self,
        scenario: Scenario,
        plan: Plan,
        lake: Lake,
        response: Response,
        habits: Habits,
        lures: tuple[str, ...],
        line_step_m: float,
        rng: np.random.Generator,
    ) -> None:
        self.scenario, self.plan, self.lake, self.response = scenario, plan, lake, response
        self.habits, self.line_step_m, self.rng = habits, line_step_m, rng
        self.table: DepthTable = depth_table()
        self.group = np.array([group_of(rod) for rod in RODS])
        self.is_core = np.array([rod.gear == "core" for rod in RODS])
        gears = [RODS[int(np.argmax(self.group == g))].gear for g in range(self.group.max() + 1)]
        self.gear_log = np.array([response.gear_effect[gear] for gear in gears])
        self.lures = len(lures)
        self.lure_log = np.array([response.lure_effect.get(lure, 0.0) for lure in lures])
        sd = np.array([0.5 if gear == "rigger" else 1.0 for gear in gears])
        self.shared = np.exp(rng.normal(size=len(gears)) * sd * scenario.shared_depth_error)
        self.z_day = plan.day_effect / max(scenario.day_sd, 1e-9)
        self.z_window = 0.7 * plan.window_effect / max(scenario.hour_sd, 1e-9)
        self._steps: list[tuple[Array, ...]] = []
        self._strikes: list[tuple[Array, ...]] = []
        self._sets: list[tuple[Array, ...]] = []

    def keep_step(self, trip: Index, minute: int, *columns: Array) -> None:
        """Record five minutes of the rods that fished them."""
        self._steps.append((trip, np.full(len(trip), minute), *columns))

    def keep_strikes(self, *columns: Array) -> None:
        """Record strikes."""
        self._strikes.append(columns)

    def keep_sets(self, *columns: Array) -> None:
        """Record closed sets."""
        self._sets.append(columns)

    def fish(self) -> Fished:
        """Fish every trip in turn and return what happened."""
        n = len(self.plan.minutes)
        for first in range(0, n, TRIPS_A_BLOCK):
            last = min(first + TRIPS_A_BLOCK, n)
            _Block(self, first, last, self._centre(first, last)).fish()
        sets = pd.DataFrame(_columns(_SET_COLUMNS, self._sets))
        strikes = pd.DataFrame(_columns(_STRIKE_COLUMNS, self._strikes))
        return Fished(
            sets.sort_values(["trip", "rod", "minute_in"], ignore_index=True),
            strikes.sort_values(["trip", "minute", "rod"], ignore_index=True),
            _columns(_STEP_COLUMNS, self._steps),
        )

    def _centre(self, first: int, last: int) -> Array:
        """Return the depth about which the rods of some trips are spread."""
        day = self.plan.day_of_year[first:last]
        h = self.habits
        centre = h.centre_m + h.sinking_m_per_day * (day - 135) + self.rng.normal(0, 1.5, len(day))
        if self.scenario.chasing and self._strikes:
            past = _columns(_STRIKE_COLUMNS, self._strikes)
            age = day[0] - self.plan.day_of_year[past["trip"]]
            weight = np.exp(-age / 7.0)
            seen = float(weight.sum())
            mean = float((weight * past["model_depth_m"]).sum()) / seen
            trust = 0.7 * seen / (seen + 3.0)
            centre = (1 - trust) * centre + trust * mean
        return np.asarray(centre)


def _columns(names: tuple[str, ...], rows: list[tuple[Array, ...]]) -> dict[str, Array]:
    if not rows:
        return {name: np.empty(0) for name in names}
    return {name: np.concatenate(x) for name, x in zip(names, zip(*rows, strict=True), strict=True)}
