"""A boat's season from a seed, with a known truth: `simulate_season(scenario, seed)`.

Strikes are a Poisson process on each rod while it fishes, in steps of five minutes. A
strike ends the set; the rod is back some minutes later. Captains decide as they go, so
that effort depends on earlier strikes where the scenario says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data import logbook
from data.boat import Boat
from data.captain import Fished, Habits, Season, draw_habits
from data.lake import Lake, make_lake
from data.plan import Night, Plan, make_plan
from data.response import draw_response, scale
from data.scenario import SCENARIOS, Scenario
from data.truth import Response, Truth

__all__ = ["SCENARIOS", "Boat", "Scenario", "SimulatedSeason", "simulate_season"]


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
        Name, units, tackle: what goes into `boat.toml`.
    """

    frames: dict[str, pd.DataFrame]
    truth: Truth
    boat: Boat

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
    boat: Boat | None = None,
    nights: tuple[Night, ...] = (),
    lake_seed: int | None = None,
    habits: Habits | None = None,
    water: Callable[[NDArray[np.intp], np.random.Generator], Lake] = make_lake,
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
        Expected number, about (a captain who chases finds some more); by default the
        scenario's.
    trips, rods
        Number of trips, and the fewest and most rods down.
    year
        The season's year, May to October.
    boat
        By default the Dunlin: feet, mph, F, three kinds of gear.
    nights
        Trips that must be there, as (local start, minutes).
    lake_seed
        Boats with the same one share the lake's water and its good days; by default `seed`.
    habits
        The captain's; drawn by default.
    water
        Draws the lake at the trips' days of the year; see `data.lake.make_lake`.
    """
    what = SCENARIOS[scenario] if isinstance(scenario, str) else scenario
    a, b, c, d, e = (np.random.default_rng(s) for s in np.random.SeedSequence(seed).spawn(5))
    common = np.random.SeedSequence([seed if lake_seed is None else lake_seed, 1]).spawn(2)
    of_water, good_days = (np.random.default_rng(s) for s in common)
    boat = boat or Boat()
    plan = make_plan(what, trips, rods, year, boat.time_zone, nights, a, good_days)
    lake = water(plan.day_of_year, of_water)
    response = draw_response(what, plan, boat, b)
    habits = habits or draw_habits(what, response.fish[0].best_depth_m, c)
    response = scale(response, plan, lake, habits, boat, strikes or what.strikes)
    fished = Season(what, plan, lake, response, habits, boat, d).fish()
    return _assemble(what, seed, plan, lake, response, fished, boat, e)


def _assemble(
    scenario: Scenario,
    seed: int,
    plan: Plan,
    lake: Lake,
    response: Response,
    fished: Fished,
    boat: Boat,
    rng: np.random.Generator,
) -> SimulatedSeason:
    """Put what happened into the log's tables and the truth beside them."""
    names = np.array([f"{boat.name[0]}{i + 1:03d}" for i in range(len(plan.minutes))])
    frames = {
        "trips": logbook.trips_frame(plan, names, boat, rng),
        "sets": logbook.sets_frame(plan, names, fished.sets, boat),
        "strikes": logbook.strikes_frame(plan, names, fished.strikes, boat, scenario, rng),
        "readings": logbook.readings_frame(plan, names, lake, scenario.ground_speed, rng),
    }
    if scenario.casts != "none":
        frames["casts"] = logbook.casts_frame(plan, names, lake, boat, scenario.casts, rng)
    month = plan.month()
    trip, minute = plan.boat_steps()
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
    gear = np.array([response.gear_effect[rod.gear] for rod in boat.tackle.rods])[s["rod"]]
    lure = np.array([response.lure_effect[name] for name in boat.lures])[s["lure"]]
    log = gear + lure + response.log_leader(s["leader_length_m"].to_numpy())
    hours = s["hours"].to_numpy()
    sets = s[["depth_m", "model_depth_m", "temp_c", "hours", "expected"]].copy()
    sets.insert(0, "trip", names[s["trip"]])
    sets.insert(1, "rod", frames["sets"]["rod"])
    hit = fished.strikes
    strikes = hit[["depth_m", "model_depth_m", "temp_c"]].assign(
        species=np.array([kind.name for kind in scenario.species], dtype=object)[hit["kind"]],
        period=month[hit["trip"]],
    )
    truth = Truth(
        scenario,
        seed,
        response,
        lake,
        tuple(names),
        sets,
        strikes,
        steps,
        {**fished.rod_steps, "period": month[fished.rod_steps["trip"].astype(np.intp)]},
        float((np.exp(log) * hours).sum() / hours.sum()),
    )
    return SimulatedSeason(frames, truth, boat)
