"""A boat's season from a seed, with a known truth: `simulate_season(scenario, seed)`.

Strikes are a Poisson process on each rod while it fishes, in steps of five minutes. A
strike ends the set; the rod is back some minutes later. Captains decide as they go, so
that effort depends on earlier strikes where the scenario says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data import logbook
from data.captain import STEP, Fished, Habits, Plan, Season, draw_habits, make_plan
from data.lake import Lake, make_lake
from data.scenario import SCENARIOS, Scenario, Species
from data.tackle import GEARS, RODS
from data.truth import Fish, Response, Truth

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SimulatedSeason:
    """One boat's simulated season.

    Attributes
    ----------
    frames
        The log's tables in SI with UTC times (minutes): trips, sets, strikes, readings and,
        unless the scenario has none, casts; columns as the clean tables have them.
    truth
        What is true of it.
    boat
        What goes into `boat.toml`.
    """

    frames: dict[str, pd.DataFrame]
    truth: Truth
    boat: logbook.BoatFile

    def write(self, folder: Path) -> Path:
        """Write the season as a log folder in the boat's own units and return it."""
        return logbook.write(folder, self.boat, self.frames)


def simulate_season(
    scenario: Scenario | str,
    seed: int,
    *,
    strikes: int | None = None,
    trips: int = 80,
    rods: tuple[int, int] = (6, 10),
    year: int = 2026,
    boat: logbook.BoatFile | None = None,
) -> SimulatedSeason:
    """Return a season drawn from a scenario; equal arguments give equal seasons.

    Parameters
    ----------
    scenario
        A `Scenario` or the name of one in `SCENARIOS`.
    seed
        Calendar, water, fish, captain and log each have their own stream of it, so that two
        scenarios at one seed share lake, days and fish as far as they can.
    strikes
        Expected number, about; by default the scenario's.
    trips, rods
        Number of trips and the fewest and most rods down (6 to 10).
    year
        The season's year, May to October.
    boat
        Name, units and lures; by default feet, mph and F.
    """
    what = SCENARIOS[scenario] if isinstance(scenario, str) else scenario
    a, b, c, d, e, f = (np.random.default_rng(s) for s in np.random.SeedSequence(seed).spawn(6))
    boat = boat or logbook.BoatFile()
    plan = make_plan(what, trips, rods, year, boat.time_zone, a)
    lake = make_lake(plan.day_of_year, b)
    response = _draw_response(what, plan, boat, c)
    habits = draw_habits(what, response.fish[0].best_depth_m, d)
    response = _scale(response, plan, lake, habits, strikes or what.strikes)
    fished = Season(what, plan, lake, response, habits, boat.lures, boat.line_step_m, e).fish()
    return _assemble(what, seed, plan, lake, response, fished, boat, f)


def _draw_response(
    scenario: Scenario, plan: Plan, boat: logbook.BoatFile, rng: np.random.Generator
) -> Response:
    none = (np.inf, np.inf)
    fish = []
    for kind in scenario.species:
        depth, width = rng.uniform(10.0, 23.0), tuple(rng.uniform(4.5, 8.5, 2))
        temp, spread = rng.uniform(8.5, 12.5), tuple(rng.uniform(1.5, 2.5, 2))
        loose = tuple(rng.uniform(16.0, 26.0, 2))
        if scenario.follow == "nothing":
            width, spread = none, none
        elif scenario.follow == "depth":
            spread = none
        else:
            width = loose
        fish.append(_fish(kind, depth, width, temp, spread))
    gear = {name: rng.normal(0, scenario.gear_sd) for name in GEARS}
    lure = {name: rng.normal(0, scenario.lure_sd) for name in boat.lures}
    return Response(
        tuple(fish),
        rng.normal(1.1, 0.05),
        rng.uniform(0.28, 0.42),
        rng.uniform(-0.35, 0.35),
        rng.uniform(0.0, 0.8),
        gear,
        lure,
        0.0,
        plan.day_effect,
        plan.window_effect,
    )


def _fish(
    kind: Species, depth: float, width: tuple[float, ...], temp: float, spread: tuple[float, ...]
) -> Fish:
    """Take what the species fixes and the draws for what it leaves open."""
    return Fish(
        kind.name,
        kind.share,
        depth if kind.best_depth_m is None else kind.best_depth_m,
        kind.depth_width_m or (width[0], width[1]),
        temp if kind.best_temp_c is None else kind.best_temp_c,
        kind.temp_width_c or (spread[0], spread[1]),
    )


def _scale(response: Response, plan: Plan, lake: Lake, habits: Habits, strikes: int) -> Response:
    """Set the base rate so that rods spread by habit alone would meet `strikes` strikes."""
    trip, minute = _boat_steps(plan)
    depth = habits.centre_m + habits.spread_m * np.linspace(-1, 1, 9)[None, :]
    depth = depth + habits.sinking_m_per_day * (plan.day_of_year[trip, None] - 135)
    depth = np.clip(depth, 2.0, None)
    temp = lake.temp_c(trip[:, None], minute[:, None] + 2.5, depth)
    rate = response.preference(depth, temp).mean(axis=1)
    rate = rate * np.exp(response.log_time(trip, minute))
    rate = rate * np.exp(response.log_speed(plan.speed_mps[trip, minute // 10]))
    # about a tenth of the time rods are up: set, moved, struck
    expected = 0.9 * float((rate * plan.rods[trip]).sum()) * STEP / 60
    return replace(response, log_base=float(np.log(strikes / expected)))


def _boat_steps(plan: Plan) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    steps = plan.minutes // STEP
    trip = np.repeat(np.arange(len(steps)), steps)
    first = np.repeat(np.cumsum(steps) - steps, steps)
    return trip, (np.arange(len(trip)) - first) * STEP


def _assemble(
    scenario: Scenario,
    seed: int,
    plan: Plan,
    lake: Lake,
    response: Response,
    fished: Fished,
    boat: logbook.BoatFile,
    rng: np.random.Generator,
) -> SimulatedSeason:
    names = np.array([f"T{i + 1:03d}" for i in range(len(plan.minutes))])
    frames = {
        "trips": logbook.trips_frame(plan, names, boat, rng),
        "sets": logbook.sets_frame(plan, names, fished.sets, boat),
        "strikes": logbook.strikes_frame(plan, names, fished.strikes, scenario.species, rng),
        "readings": logbook.readings_frame(plan, names, lake, scenario.ground_speed, rng),
    }
    casts = logbook.casts_frame(plan, names, lake, scenario.casts, rng)
    if casts is not None:
        frames["casts"] = casts
    month = _months(plan)
    trip, minute = _boat_steps(plan)
    steps = pd.DataFrame(
        {
            "trip": trip,
            "minute": minute,
            "period": month[trip],
            "speed_mps": plan.speed_mps[trip, minute // 10],
            "log_time": response.log_time(trip, minute),
        }
    )
    s = fished.sets
    gear = np.array([response.gear_effect[r.gear] for r in RODS])[s["rod"]]
    lure = np.array([response.lure_effect[x] for x in boat.lures])[s["lure"]]
    log = gear + lure + response.log_leader(s["leader_length_m"].to_numpy())
    hours = s["hours"].to_numpy()
    truth_sets = pd.DataFrame(
        {
            "trip": names[s["trip"]],
            "rod": frames["sets"]["rod"],
            **{k: s[k] for k in ("depth_m", "model_depth_m", "temp_c", "hours", "expected")},
        }
    )
    hit = fished.strikes
    truth_strikes = hit[["depth_m", "model_depth_m", "temp_c"]].assign(
        species=frames["strikes"]["species"], period=month[hit["trip"]]
    )
    rod_steps = {**fished.rod_steps, "period": month[fished.rod_steps["trip"]]}
    truth = Truth(
        scenario,
        seed,
        response,
        lake,
        tuple(names),
        truth_sets,
        truth_strikes,
        steps,
        rod_steps,
        float((np.exp(log) * hours).sum() / hours.sum()),
    )
    return SimulatedSeason(frames, truth, boat)


def _months(plan: Plan) -> NDArray[np.str_]:
    """Return each trip's month; a trip past midnight belongs to the day it began."""
    return np.datetime_as_string(plan.date, unit="M")
