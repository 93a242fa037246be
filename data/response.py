"""Draws how fish respond in a season: preferences, speed, leader, gear and the base rate."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from data.boat import Boat
from data.captain import Habits
from data.lake import Lake
from data.plan import STEP, Plan
from data.scenario import Scenario, Species
from data.truth import Fish, Response

NO_WIDTH = (np.inf, np.inf)


def draw_response(scenario: Scenario, plan: Plan, boat: Boat, rng: np.random.Generator) -> Response:
    """Draw every preference that the scenario leaves open; the base rate is still 1."""
    fish = []
    for kind in scenario.species:
        depth, width = rng.uniform(10.0, 23.0), rng.uniform(4.5, 8.5, 2)
        temp, spread = rng.uniform(8.5, 12.5), rng.uniform(1.5, 2.5, 2)
        loose = rng.uniform(16.0, 26.0, 2)
        if scenario.follow == "temperature":
            width = loose
        fish.append(_fish(scenario, kind, depth, width, temp, spread))
    speed = (rng.normal(1.1, 0.05), rng.uniform(0.28, 0.42))
    leader = (rng.uniform(-0.35, 0.35), rng.uniform(0.0, 0.8))
    gears = boat.tackle.written
    gear = {name: rng.normal(0, scenario.gear_sd) for name in gears}
    lure = {name: rng.normal(0, scenario.lure_sd) for name in boat.lures}
    return Response(
        tuple(fish),
        *(scenario.speed or speed),
        *(scenario.leader or leader),
        {**gear, **{k: v for k, v in (scenario.gear_effect or {}).items() if k in gears}},
        lure,
        0.0,
        plan.day_effect,
        plan.window_effect,
        plan.deeper_m,
    )


def _fish(
    scenario: Scenario,
    kind: Species,
    depth: float,
    width: np.ndarray,
    temp: float,
    spread: np.ndarray,
) -> Fish:
    """Take what the species fixes and the draws for what it leaves open."""
    depth_width = kind.depth_width_m or (float(width[0]), float(width[1]))
    temp_width = kind.temp_width_c or (float(spread[0]), float(spread[1]))
    return Fish(
        kind.name,
        kind.share,
        depth if kind.best_depth_m is None else kind.best_depth_m,
        NO_WIDTH if scenario.follow == "nothing" else depth_width,
        temp if kind.best_temp_c is None else kind.best_temp_c,
        temp_width if scenario.follow == "temperature" else NO_WIDTH,
        scenario.background,
    )


def scale(
    response: Response, plan: Plan, lake: Lake, habits: Habits, boat: Boat, strikes: int
) -> Response:
    """Set the base rate so that rods spread by habit alone would meet `strikes` strikes."""
    trip, minute = plan.boat_steps()
    trip, minute = trip[::6], minute[::6]  # a look each half hour is enough
    goal = habits.centre_m + habits.spread_m * np.linspace(-0.8, 0.8, 5)
    goal = goal + habits.sinking_m_per_day * (plan.day_of_year[trip, None] - 135)
    weight = np.exp(response.log_time(trip, minute))
    weight = weight * np.exp(response.log_speed(plan.speed_mps[trip, minute // 10]))
    tackle = boat.tackle
    total = 0.0
    for number, (rod, group) in enumerate(zip(tackle.rods, tackle.group, strict=True)):
        at = np.full(goal.shape, group)
        speed = np.broadcast_to(plan.speed_mps[trip, minute // 10][:, None], goal.shape)
        depth = tackle.true_table.depth(at, tackle.table.line_for(at, goal), speed)
        temp = lake.temp_c(trip[:, None], minute[:, None] + STEP / 2, depth)
        held = response.as_usual_m(depth, trip[:, None], minute[:, None])
        rate = response.preference(held, temp).mean(axis=1) * weight
        rate = rate * np.exp(response.gear_effect[rod.gear])
        total += float(rate[plan.rods[trip] > number].sum())
    # about a tenth of the time rods are up: set, moved, struck
    expected = 0.9 * total * 6 * STEP / 60
    return replace(response, log_base=float(np.log(strikes / expected)))
