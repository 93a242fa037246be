"""How a captain fishes: rods set, moved and struck through each day, in five-minute steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.boat import Boat
from data.lake import Lake
from data.plan import STEP, Plan
from data.scenario import Scenario
from data.truth import WINDOW_MINUTES, Response

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

TRIPS_A_BLOCK = 5  # trips fished side by side; what they taught is known to the next block
FALSE_RELEASES_PER_HOUR = 0.03
TANGLES_PER_HOUR = 0.02
STEP_COLUMNS = ("trip", "minute", "rod", "hours", "depth_m", "model_depth_m", "temp_c")
STRIKE_COLUMNS = (
    "trip", "minute", "rod", "kind", "leader_length_m", "depth_m", "model_depth_m", "temp_c",
)  # fmt: skip
SET_COLUMNS = (
    "trip", "rod", "minute_in", "minute_out", "line_out_m", "leader_length_m", "lead_m", "lure",
    "ended_by", "hours", "depth_m", "model_depth_m", "temp_c", "expected",
)  # fmt: skip


@dataclass(frozen=True)
class Habits:
    """What a season's captain does when nothing has taught him otherwise."""

    centre_m: float
    sinking_m_per_day: float
    spread_m: float
    shift_m: float  # deeper (or shallower) on good days and in good hours
    trust: float = 0.7  # how far the last days' strikes outweigh the habit


def draw_habits(scenario: Scenario, best_depth_m: float, rng: np.random.Generator) -> Habits:
    """Draw the captain: he has heard roughly where the fish are, no more."""
    near = best_depth_m if scenario.follow == "depth" else 11.0
    return Habits(
        float(np.clip(near + rng.normal(0, 3.5), 7.0, 26.0)),
        0.07 if scenario.follow == "temperature" else 0.0,
        rng.uniform(6.5, 9.5),
        rng.choice([-1.0, 1.0]) * rng.uniform(1.5, 3.0) if scenario.confounded else 0.0,
    )


@dataclass
class Fished:
    """What happened: closed sets, strikes, and every rod's five-minute steps."""

    sets: pd.DataFrame
    strikes: pd.DataFrame
    rod_steps: dict[str, NDArray[np.generic]]


class Season:
    """A season being fished: what is fixed through it and what has been recorded so far."""

    def __init__(
        self,
        scenario: Scenario,
        plan: Plan,
        lake: Lake,
        response: Response,
        habits: Habits,
        boat: Boat,
        rng: np.random.Generator,
    ) -> None:
        self.scenario, self.plan, self.lake, self.response = scenario, plan, lake, response
        self.habits, self.boat, self.rng = habits, boat, rng
        tackle = boat.tackle
        self.group, self.table, self.true_table = tackle.group, tackle.table, tackle.true_table
        self.line_scale = boat.line_scale()
        self.kinds = np.array([tackle.kind(rod) for rod in tackle.rods])
        # a weighted or flat line has its own leader
        self.fixed_leader = np.isin(self.kinds, ("weighted line", "flat line"))
        self.gear_log = np.array([response.gear_effect[rod.gear] for rod in tackle.rods])
        self.lure_log = np.array([response.lure_effect[lure] for lure in boat.lures])
        sd = np.where(self.kinds == "rigger", 0.5, 1.0) * scenario.shared_depth_error
        self.shared = np.exp(rng.normal(size=len(tackle.groups))[self.group] * sd)
        self.z_day = plan.day_effect / max(scenario.day_sd, 1e-9)
        self.z_window = plan.window_effect / max(scenario.hour_sd, 1e-9)
        self.kept: dict[str, list[tuple[NDArray[np.generic], ...]]]
        self.kept = {"steps": [], "strikes": [], "sets": []}

    def fish(self) -> Fished:
        """Fish every trip in turn and return what happened."""
        n = len(self.plan.minutes)
        for first in range(0, n, TRIPS_A_BLOCK):
            trips = np.arange(first, min(first + TRIPS_A_BLOCK, n))
            _Block(self, trips, self._centre(trips)).fish()
        sets = pd.DataFrame(_columns(SET_COLUMNS, self.kept["sets"]))
        strikes = pd.DataFrame(_columns(STRIKE_COLUMNS, self.kept["strikes"]))
        return Fished(
            sets.sort_values(["trip", "rod", "minute_in"], ignore_index=True),
            strikes.sort_values(["trip", "minute", "rod"], ignore_index=True),
            _columns(STEP_COLUMNS, self.kept["steps"]),
        )

    def _centre(self, trips: Index) -> Array:
        """Return the depth about which the rods of some trips are spread."""
        day = self.plan.day_of_year[trips]
        h = self.habits
        centre = h.centre_m + h.sinking_m_per_day * (day - 135) + self.rng.normal(0, 1.5, len(day))
        if self.scenario.chasing and self.kept["strikes"]:
            past = _columns(STRIKE_COLUMNS, self.kept["strikes"])
            age = day[0] - self.plan.day_of_year[past["trip"].astype(np.intp)]
            weight = np.exp(-age / 7.0)
            seen = float(weight.sum())
            mean = float((weight * past["model_depth_m"].astype(float)).sum()) / seen
            trust = h.trust * seen / (seen + 3.0)
            centre = (1 - trust) * centre + trust * mean
        return np.asarray(centre)


def _columns(
    names: tuple[str, ...], rows: list[tuple[NDArray[np.generic], ...]]
) -> dict[str, NDArray[np.generic]]:
    if not rows:
        return {name: np.empty(0, dtype=np.intp) for name in names}
    return {name: np.concatenate(x) for name, x in zip(names, zip(*rows, strict=True), strict=True)}


class _Block:
    """A few trips fished side by side: state arrays of one row a trip, one column a rod."""

    def __init__(self, season: Season, trips: Index, centre_m: Array) -> None:
        self.s, self.trip, self.centre_m = season, trips, centre_m
        plan, rng, boat = season.plan, season.rng, season.boat
        shape = (len(trips), len(season.group))
        self.down = np.arange(shape[1])[None, :] < plan.rods[trips, None]
        self.group = np.broadcast_to(season.group, shape)
        self.trips = np.broadcast_to(trips[:, None], shape)
        self.end = plan.minutes[trips, None]
        self.set_in = rng.integers(0, 13, shape)
        self.move_at = self.set_in + self._stay(shape)
        self.told_m = np.full(shape, np.nan)  # a depth that the captain has called out
        self.line = np.zeros(shape)
        self.leader = rng.choice(boat.leaders_m, shape)
        for j in np.flatnonzero(season.fixed_leader):
            parts = boat.tackle.written[boat.tackle.rods[j].gear]["parts"]
            self.leader[:, j] = parts[0]["length_m"]
        self.lead = rng.choice(boat.leads_m, shape)
        self.lure = rng.integers(0, len(boat.lures), shape)
        self.noise = np.ones(shape)
        self.sums = {k: np.zeros(shape) for k in ("hours", "depth", "model", "temp", "expected")}
        row, rod = np.nonzero(np.ones(shape, bool))
        self._aim(row, rod, 0)

    def fish(self) -> None:
        """Fish from lines in to lines out."""
        for k in range(int(self.end.max()) // STEP):
            t0 = k * STEP
            on = self.down & (t0 < self.end)
            if k:
                self._tend(on & (self.set_in < t0), t0)
            self._strike_step(on, t0)
            over = self.down & (self.end == t0 + STEP) & (self.set_in < self.end)
            row, rod = np.nonzero(over)
            self._close(row, rod, self.end[row, 0], np.full(len(row), "end"))

    def _stay(self, shape: int | tuple[int, ...]) -> Index:
        return (25 + self.s.rng.exponential(50.0, shape)).astype(np.intp)

    def _aim(self, row: Index, rod: Index, minute: int) -> None:
        """Choose a depth for some rods, and the line-out that the boat thinks gives it."""
        s, rng, n = self.s, self.s.rng, len(row)
        trip = self.trip[row]
        good = s.z_day[trip] + s.z_window[trip, minute // WINDOW_MINUTES]
        goal = self.centre_m[row] + s.habits.spread_m * rng.uniform(-1.0, 1.0, n)
        goal = goal + s.habits.shift_m * good
        told = self.told_m[row, rod]
        goal = np.where(np.isnan(told), goal, told + rng.normal(0, 1.5, n))
        scale = s.line_scale[rod]
        line = s.table.line_for(s.group[rod], goal) / scale
        step = s.boat.line_step_m
        self.line[row, rod] = np.ceil(line / step) * step * scale
        self.told_m[row, rod] = np.nan
        self._relet(row, rod)

    def _relet(self, row: Index, rod: Index) -> None:
        """Let line out anew: no two times run alike."""
        noise = self.s.rng.normal(0, 1, len(row)) * self.s.scenario.set_depth_error
        self.noise[row, rod] = np.exp(noise)

    def _tend(self, fishing: Mask, t0: int) -> None:
        """Move rods whose time has come, and clear false releases and tangles."""
        s, rng = self.s, self.s.rng
        luck = rng.random(fishing.shape) * 60 / STEP
        false = fishing & (luck < FALSE_RELEASES_PER_HOUR) & ~s.fixed_leader
        tangle = fishing & (luck > 60 / STEP - TANGLES_PER_HOUR)
        due = fishing & (self.move_at <= t0) & ~false & ~tangle
        row, rod = np.nonzero(false | tangle | due)
        if not len(row):
            return
        why = np.where(tangle[row, rod], "tangle", "moved")
        why = np.where(false[row, rod], "false release", why)
        self._close(row, rod, np.full(len(row), t0), why)
        slow = np.where(why == "moved", 0, rng.integers(2, 7, len(row)))
        self.set_in[row, rod] = t0 + rng.integers(2, 5, len(row)) + slow
        self._relet(row, rod)
        row, rod = np.nonzero(due)
        self._aim(row, rod, t0)
        self.move_at[row, rod] = t0 + self._stay(len(row))
        # leader, lead or lure is changed on some of the rods that are up anyway
        swap = (rng.random(len(row)) < 0.3) & ~s.fixed_leader[rod]
        a, b = row[swap], rod[swap]
        self.leader[a, b] = rng.choice(s.boat.leaders_m, len(a))
        self.lead[a, b] = rng.choice(s.boat.leads_m, len(a))
        swap = rng.random(len(row)) < 0.35
        self.lure[row[swap], rod[swap]] = rng.integers(0, len(s.boat.lures), swap.sum())

    def _strike_step(self, on: Mask, t0: int) -> None:
        """Fish five minutes: depths, rates, and the strikes that come of them."""
        s, r = self.s, self.s.response
        row, rod = np.nonzero(on & (self.set_in < t0 + STEP))
        if not len(row):
            return
        trip, group = self.trip[row], s.group[rod]
        begin = np.maximum(self.set_in[row, rod], t0)
        minutes = t0 + STEP - begin
        speed = s.plan.speed_mps[trip, t0 // 10]
        line = self.line[row, rod]
        model = s.table.depth(group, line, speed)
        same = s.true_table is s.table
        depth = model if same else s.true_table.depth(group, line, speed)
        depth = depth * s.shared[rod] * self.noise[row, rod]
        middle = np.full(len(row), t0 + STEP / 2)
        temp = s.lake.temp_c(trip, middle, depth)
        held = r.as_usual_m(depth, trip, np.full(len(row), t0))
        pref = [fish.share * fish.liking(held, temp) for fish in r.fish]
        rest = r.log_base + r.log_time(trip, middle) + r.log_speed(speed)
        rest = rest + r.log_leader(self.leader[row, rod])
        rest = rest + s.gear_log[rod] + s.lure_log[self.lure[row, rod]]
        rate = np.sum(pref, axis=0) * np.exp(rest)
        wait = np.ceil(60 * s.rng.exponential(1.0, len(row)) / rate)  # whole minutes
        struck = wait <= minutes
        minutes = np.where(struck, wait, minutes).astype(np.intp)
        hours = minutes / 60
        for name, x in zip(self.sums, (1.0, depth, model, temp, rate), strict=True):
            self.sums[name][row, rod] += x * hours
        minute = np.full(len(row), t0)
        s.kept["steps"].append((trip, minute, rod, hours, depth, model, temp))
        if struck.any():
            share = np.cumsum([p[struck] for p in pref], axis=0)
            kind = (s.rng.random(struck.sum()) * share[-1] > share).sum(axis=0)
            when = (begin + minutes)[struck]
            row, rod = row[struck], rod[struck]
            at = (self.leader[row, rod], depth[struck], model[struck], temp[struck])
            s.kept["strikes"].append((self.trip[row], when, rod, kind, *at))
            self._react(row, rod, when, model[struck])

    def _react(self, row: Index, rod: Index, when: Index, model: Array) -> None:
        """Fight the fish, let the rod out again, and send other rods to where it struck."""
        s, rng = self.s, self.s.rng
        self._close(row, rod, when, np.full(len(row), "strike"))
        self.set_in[row, rod] = when + rng.integers(4, 13, len(row))
        self._relet(row, rod)
        if not s.scenario.chasing:
            return
        for i, j, minute, depth in zip(row, rod, when, model, strict=True):
            told = rng.random(len(s.group)) < 0.35
            told[j] = False
            self.told_m[i, told] = depth
            soon = minute + rng.integers(5, 20, told.sum())
            self.move_at[i, told] = np.minimum(self.move_at[i, told], soon)

    def _close(self, row: Index, rod: Index, out: Index, why: NDArray[np.str_]) -> None:
        if not len(row):
            return
        at = (row, rod)
        state = (self.line, self.leader, self.lead, self.lure)
        hours = self.sums["hours"][at]
        sums = self.sums
        mean = [sums[k][at] / hours for k in ("depth", "model", "temp")]
        known = [self.trip[row], rod, self.set_in[at], out, *(x[at] for x in state), why, hours]
        self.s.kept["sets"].append((*known, *mean, sums["expected"][at]))
        for x in self.sums.values():
            x[at] = 0.0
