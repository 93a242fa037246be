"""Owns the checks of turning boats and sheared water, each against an integration of its own.

The integration below knows nothing of the model's frame: it goes round the centre of the turn at
the origin, in velocities, and finds with scipy where the lure must be for its line to end at the
rod tip.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from analysis.depth import Columns, SetErrors, believe, solve
from analysis.depth.model import solve_columns

WANTED = 1e-4
RHO = 999.7


@dataclass(frozen=True)
class Line:
    """Areas of the end's drag, pull to the side and pull down, its weight, and stretches.

    A stretch: length, diameter, weight a metre, and area and weight of a lump at its upper end.
    """

    areas: tuple[float, float, float]
    weight: float
    stretches: tuple[tuple[float, float, float, float, float], ...]


ROLL = np.radians(38.5)
LINES = {
    "lead core": Line(
        (0.0003, 0.0, 0.0),
        0.02,
        ((6.0, 3e-4, 0.0, 0, 0), (45.72, 8.5e-4, 0.0098, 0, 0), (np.inf, 3.5e-4, 0.0, 0, 0)),
    ),
    "flat line": Line(
        (0.0002, 0.0, 0.0), 0.02, ((2.0, 3e-4, 0.0, 0.0001, 0.27), (np.inf, 3e-4, 0.0, 0, 0))
    ),
    "diver": Line(
        (0.005, 0.00625 * np.sin(ROLL), 0.00625 * np.cos(ROLL)),
        0.15,
        ((np.inf, 3e-4, 0.0, 0, 0),),
    ),
}


def marched(line, water, place, inward, line_out, height, deep):
    """Return the rod tip and the depth of a line whose lure is at a place, in water (p) -> speed.

    `inward` is the way to the rod's own side; z is counted from the lure at the depth `deep`.
    """
    stream = water(np.append(place, 0.0), deep)
    astern = stream / np.linalg.norm(stream)
    q = 0.5 * RHO * stream @ stream
    force = q * (line.areas[0] * astern + line.areas[1] * inward)
    force[2] = q * line.areas[2] + line.weight
    state, start, found = np.concatenate([-force, place, [0.0]]), 0.0, None
    for length, diameter, weight, lump_area, lump_weight in line.stretches:

        def slope(_, y, diameter=diameter, weight=weight):
            t = y[:3] / np.linalg.norm(y[:3])
            u = water(y[3:], deep)
            along = (u @ t) * t
            across = u - along
            load = 0.5 * RHO * diameter * 1.2 * np.linalg.norm(across) * across
            load += 0.5 * RHO * np.pi * diameter * 0.015 * np.linalg.norm(along) * along
            load[2] += weight
            return np.concatenate([-load, t])

        stop = min(start + length, line_out)
        path = solve_ivp(
            slope,
            (start, stop),
            state,
            method="DOP853",
            rtol=1e-9,
            atol=1e-12,
            dense_output=True,
        )

        def spare(s, path=path):
            y = path.sol(s)
            return (s - line_out) * y[2] / np.linalg.norm(y[:3]) - height

        nodes = np.linspace(start, stop, 60)
        values = np.array([spare(s) for s in nodes])
        falls = np.flatnonzero((values[:-1] >= 0) & (values[1:] <= 0))
        if falls.size:
            wet = brentq(spare, nodes[falls[-1]], nodes[falls[-1] + 1], xtol=1e-12)
            y = path.sol(wet)
            found = y[3:] + (line_out - wet) * y[:3] / np.linalg.norm(y[:3]), -y[5]
        state, start = path.y[:, -1].copy(), stop
        if start >= line_out:
            break
        u = water(state[3:], deep)
        lump = 0.5 * RHO * lump_area * np.linalg.norm(u) * u
        state[:3] -= np.append(lump[:2], lump_weight)
    return found


def going_round(line, line_out, speed, *, radius, inside, tip_y=0.8, shear=0.0, height=1.5):
    """Return depth, lateral and setback of a lure towed round a turn."""
    omega = speed / radius
    own = -1.0 if inside else 1.0
    tip_radius = radius + own * tip_y

    def water(place, deep):
        faster = 1.0 + shear / speed * 15.0 * np.tanh((deep + place[2]) / 15.0)
        return omega * faster * np.array([place[1], -place[0], 0.0])

    def missed(unknown):
        share, deep = unknown
        tip, depth = marched(
            line,
            water,
            np.array([share * radius, 0.0]),
            np.array([own, 0.0, 0.0]),
            line_out,
            height,
            deep,
        )
        return [np.hypot(tip[0], tip[1]) / tip_radius - 1.0, depth / deep - 1.0]

    (share, deep), _, good, words = fsolve(missed, [0.95, 5.0], xtol=1e-9, full_output=True)
    assert good == 1, words
    place = np.array([share * radius, 0.0])
    tip, depth = marched(line, water, place, np.array([own, 0.0, 0.0]), line_out, height, deep)
    radial = tip[:2] / np.linalg.norm(tip[:2])
    away = place - tip[:2]
    return depth, own * away @ radial, away @ np.array([radial[1], -radial[0]])


@pytest.mark.parametrize("inside", [True, False])
@pytest.mark.parametrize(
    ("name", "line_out", "radius"),
    [("lead core", 55.0, 80.0), ("flat line", 45.0, 60.0), ("diver", 40.0, 60.0)],
)
def test_a_line_towed_round_a_turn(gears, name, line_out, radius, inside):
    tip_y = gears[name].place.tip_y_m
    expected = going_round(LINES[name], line_out, 1.1, radius=radius, inside=inside, tip_y=tip_y)
    turn = (1.1 if inside else -1.1) / radius
    out = solve(gears[name], setting=2, line_out_m=line_out, speed_mps=1.1, turn_rad_s=turn)
    got = [out.depth_m.item(), out.lateral_m.item(), out.setback_m.item()]
    np.testing.assert_allclose(got, expected, rtol=WANTED, atol=1e-4)


@pytest.mark.parametrize("shear", [0.0134, -0.0134])
@pytest.mark.parametrize(
    ("name", "line_out"), [("lead core", 55.0), ("flat line", 45.0), ("diver", 60.0)]
)
def test_a_line_in_sheared_water(gears, name, line_out, shear):
    """0.3 mph over 10 m, in a turn so wide that it hardly is one."""
    radius = 5000.0
    expected = going_round(
        LINES[name], line_out, 1.1, radius=radius, inside=True, tip_y=0.0, shear=shear
    )
    rows = Columns.of(
        setting=2,
        line_out_m=line_out,
        speed_mps=1.1,
        turn_rad_s=1.1 / radius,
        tip_y_m=0.0,
        shear_per_s=shear,
    )
    out = solve_columns(gears[name], rows.for_gear(gears[name]))
    got = [out.depth_m.item(), out.lateral_m.item(), out.setback_m.item()]
    np.testing.assert_allclose(got, expected, rtol=WANTED, atol=1e-4)


def test_a_wide_turn_is_no_turn_and_a_rod_amidships_knows_no_sides(gear):
    rows = {"setting": 1.0, "line_out_m": 40.0, "speed_mps": 1.1}
    straight = solve(gear, **rows)
    wide = solve(gear, **rows, turn_rad_s=1e-7)
    np.testing.assert_allclose(wide.depth_m, straight.depth_m, rtol=1e-5)
    amidships = Columns.of(**rows, turn_rad_s=[0.012, -0.012], tip_y_m=0.0).for_gear(gear)
    both = solve_columns(gear, amidships)
    if gear.place.planes:
        return
    np.testing.assert_allclose(both.depth_m[0], both.depth_m[1], rtol=1e-5)


def test_a_short_line_goes_as_fast_as_its_rod_tip(gears):
    """U (R + y) / R on the outside, U (R - y) / R on the inside: kinematics of a rigid turn."""
    radius, tip = 90.0, 4.0
    turning = Columns.of(
        line_out_m=9.0, speed_mps=1.1, turn_rad_s=np.array([-1.1, 1.1]) / radius, tip_y_m=tip
    )
    line = gears["rigger"]
    got = solve_columns(line, turning.for_gear(line)).depth_m
    share = np.array([radius + tip, radius - tip]) / radius
    there = solve(line, line_out_m=9.0, speed_mps=1.1 * share).depth_m
    np.testing.assert_allclose(got, there, rtol=2e-5)
    assert abs(np.diff(there)[0]) > 20 * 2e-5 * there[0]


def test_turns_move_long_thin_lines_most_and_a_diver_little(gears):
    """60 to 100 m round: what the independent integration above confirms for three of these."""
    turns = 1.1 / np.array([60.0, 80.0, 100.0]) * np.array([[1.0], [-1.0]])

    def moved(name, line_out):
        rows = {"setting": 1.0, "line_out_m": line_out, "speed_mps": 1.1}
        change = solve(gears[name], **rows, turn_rad_s=turns).depth_m
        return np.abs(change / solve(gears[name], **rows).depth_m - 1.0)

    assert moved("diver", 30.0).max() < 0.04
    assert moved("flat line", 60.0).max() > 0.3
    assert moved("rigger", 30.0).max() < 0.01


def test_a_turn_too_tight_for_its_line_is_a_reason(gears):
    out = solve(gears["lead core"], line_out_m=90.0, speed_mps=1.1, turn_rad_s=1.1 / 8.0)
    assert np.isnan(out.depth_m)
    assert "turns too tightly" in out.reason.item()


def test_unlogged_turns_and_shear_are_part_of_a_lines_doubt(gears):
    """Own sd with them and without: what one sd of each moves the line, both ways."""
    calm = SetErrors(turn_radius_m=np.inf, shear_sd_per_s=0.0)
    rows = {"setting": 1.0, "line_out_m": 60.0, "speed_mps": 1.1}
    for name in ("lead core", "flat line", "rigger"):
        gear, errors = gears[name], SetErrors()
        columns = Columns.of(**rows).for_gear(gear)
        own = believe(gear).loadings(columns).own_sd
        without = believe(gear, errors=calm).loadings(columns).own_sd
        turns = 1.1 / errors.turn_radius_m * np.array([1.0, -1.0])
        shear = errors.shear_sd_per_s * np.array([1.0, -1.0])
        straight = solve(gear, **rows).depth_m
        turned = np.log(solve(gear, **rows, turn_rad_s=turns).depth_m / straight)
        sheared = np.log(solve(gear, **rows, shear_per_s=shear).depth_m)
        more = np.sqrt(np.mean(turned**2) + (np.diff(sheared)[0] / 2.0) ** 2)
        np.testing.assert_allclose(np.sqrt(own**2 - without**2), more, rtol=1e-3)
        # a heading that is logged leaves the shear alone
        still = Columns.of(**rows, turn_rad_s=0.0).for_gear(gear)
        known = believe(gear).loadings(still).own_sd
        assert without[0] < known[0] < own[0]


def test_a_days_shear_is_one_for_all_its_sets(gears):
    errors = SetErrors(counter_sd=0.0, speed_sd_mps=0.0, turn_radius_m=np.inf)
    belief = believe(gears["rigger"], errors=errors)
    rows = {"line_out_m": 50.0, "speed_mps": 1.1, "set_id": [1, 2, 3]}
    draws = np.log(belief.draws(400, np.random.default_rng(1), day_id=[1, 1, 2], **rows))
    np.testing.assert_array_equal(draws[:, 0], draws[:, 1])
    assert np.std(draws[:, 0] - draws[:, 2]) > 0.03
