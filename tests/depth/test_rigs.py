"""Owns the checks of rigs: each against an independent integration of loads written down here."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from analysis.depth import RodLine, believe, line_path, solve
from analysis.depth.kinds import Diver, FlatLine, Part, Planer, Rigger, Slider, gear_from_toml
from analysis.depth.kinds.parts import Clip
from analysis.depth.lures import Lure, lures_from_toml
from analysis.errors import GearError

WANTED = 1e-4
RHO = 999.7
PLUG = Lure(name="plug", lift_area_m2=0.0012, drag_area_m2=0.0009, weight_n=-0.1)
PLAIN = FlatLine(name="plain", parts=(Part(name="line", diameter_mm=0.3),))
CORE = gear_from_toml(
    "core",
    {
        "kind": "weighted line",
        "parts": [
            {"name": "leader", "length_m": 6.0, "diameter_mm": 0.30},
            {"name": "core", "length_m": 45.72, "diameter_mm": 0.85, "weight_n_per_m": 0.0098},
            {"name": "backing", "diameter_mm": 0.35},
        ],
    },
)
NONE = (0.0, 0.0, 0.0)


def pressure(speed):
    return 0.5 * RHO * speed**2


def stretch(q, length, mm, weight=0.0, lump=NONE):
    """A stretch with the defaults' drag coefficients."""
    return (length, q * mm / 1000 * 1.2, q * np.pi * mm / 1000 * 0.015, weight, lump)


def plug_end(q):
    return [q * 0.0009, 0.0, q * 0.0012 - 0.1]


def leader_of_plug(q, length, mm):
    """Integrate a leader with the plug at its end: its pull on top, and the plug from there."""
    normal, along = stretch(q, length, mm)[1:3]

    def slope(_, y):
        t = y[:2] / np.linalg.norm(y[:2])
        across = np.array([1.0, 0.0]) - t[0] * t
        load = normal * np.linalg.norm(across) * across + along * abs(t[0]) * t[0] * t
        return np.concatenate([-load, t])

    start = [-q * 0.0009, -(q * 0.0012 - 0.1), 0.0, 0.0]
    y = solve_ivp(slope, (0, length), start, method="DOP853", rtol=1e-11, atol=1e-13).y[:, -1]
    return -y[:2], -y[2:]


def close(out, expected):
    got = [out.depth_m, out.lateral_m, out.setback_m, out.line_pull_n]
    np.testing.assert_allclose(np.array(got, dtype=float), expected[:4], rtol=WANTED, atol=1e-9)


@pytest.mark.parametrize("speed", [0.7, 1.1, 1.6])
def test_a_lure_that_dives_on_plain_line_and_on_core(integrated, speed):
    q = pressure(speed)
    plain = integrated(plug_end(q), [stretch(q, np.inf, 0.30)], 30.0, 1.5)
    close(solve(PLAIN, line_out_m=30.0, speed_mps=speed, lure=PLUG), plain)
    parts = [stretch(q, 6.0, 0.30), stretch(q, 45.72, 0.85, 0.0098), stretch(q, np.inf, 0.35)]
    core = integrated(plug_end(q), parts, 51.0, 1.5)
    close(solve(CORE, line_out_m=51.0, speed_mps=speed, lure=PLUG), core)


@pytest.mark.parametrize("speed", [0.8, 1.3])
def test_a_lure_that_dives_behind_a_diver_and_behind_a_ball(integrated, speed):
    q, roll = pressure(speed), np.radians(38.5)
    (astern, down), (back, below) = leader_of_plug(q, 2.5, 0.40)
    lift = q * 0.00625
    end = [q * 0.0045 + astern, lift * np.sin(roll), lift * np.cos(roll) + 0.15 + down]
    depth, side, setback, pull, *_ = integrated(end, [stretch(q, np.inf, 0.30)], 40.0, 1.5)
    out = solve(
        Diver(), setting=2, line_out_m=40.0, speed_mps=speed, leader_length_m=2.5, lure=PLUG
    )
    close(out, [depth + below, side, setback + back, pull])
    (astern, down), (back, below) = leader_of_plug(q, 12.0, 0.35)
    volume = 4.536 / 11340
    ball = 0.47 * np.pi * (3 * volume / (4 * np.pi)) ** (2 / 3)
    end = [q * ball + astern, 0.0, 9.80665 * (4.536 - RHO * volume) + down]
    cable = (
        np.inf,
        q * 1.2 * (0.9 + 0.35) / 1000,
        q * np.pi * 0.015 * (0.9 + 0.35) / 1000,
        0.0257,
        NONE,
    )
    depth, _, setback, pull, *_ = integrated(end, [cable], 25.0, 1.2)
    out = solve(Rigger(), line_out_m=25.0, speed_mps=speed, lead_m=12.0, lure=PLUG)
    close(out, [depth + below, 0.0, setback + back, pull])


def test_a_second_line_on_a_riggers_cable(integrated):
    q, speed = pressure(1.2), 1.2
    volume = 4.536 / 11340
    ball = 0.47 * np.pi * (3 * volume / (4 * np.pi)) ** (2 / 3)
    end = [q * (ball + 0.0005), 0.0, 9.80665 * (4.536 - RHO * volume)]

    def cable(length, lines, lump=NONE):
        d = (0.9 + lines * 0.35) / 1000
        return (length, q * 1.2 * d, q * np.pi * 0.015 * d, 0.0257, lump)

    parts = [cable(9.0, 1, (q * 0.0005, 0.0, 0.0)), cable(np.inf, 2)]
    upper = Rigger(clips_m=(0.0, 9.0), fishes_at_m=9.0)
    close(solve(upper, line_out_m=30.0, speed_mps=speed), integrated(end, parts, 30.0, 1.2, 9.0))
    lower = replace(upper, fishes_at_m=0.0)
    close(solve(lower, line_out_m=30.0, speed_mps=speed), integrated(end, parts, 30.0, 1.2))
    # a plug on the upper line pulls at its clip, one on the lower at the ball
    (astern, down), (back, below) = leader_of_plug(q, 12.0, 0.35)
    parts[0] = cable(9.0, 1, (astern, 0.0, down))
    depth, _, setback, pull, *_ = integrated(end, parts, 30.0, 1.2, 9.0)
    out = solve(upper, line_out_m=30.0, speed_mps=speed, lead_m=12.0, lure=PLUG)
    close(out, [depth + below, 0.0, setback + back, pull])
    parts[0] = cable(9.0, 1, (q * 0.0005, 0.0, 0.0))
    end = [q * ball + astern, 0.0, end[2] + down]
    depth, _, setback, pull, *_ = integrated(end, parts, 30.0, 1.2)
    out = solve(lower, line_out_m=30.0, speed_mps=speed, lead_m=12.0, lure=PLUG)
    close(out, [depth + below, 0.0, setback + back, pull])
    # neither "a ball at that much cable" nor the ball itself will do
    got = solve(upper, line_out_m=30.0, speed_mps=speed).depth_m
    as_ball = solve(Rigger(), line_out_m=[21.0, 30.0], speed_mps=speed).depth_m
    assert as_ball[0] > 1.04 * got
    assert as_ball[1] > 1.3 * got


@pytest.mark.parametrize("setting", [0.0, 2.0])
def test_parts_and_a_weight_on_a_divers_line(integrated, setting):
    """Disc, 20 m of braid, 30 m of copper, braid; half a pound of lead 35 m up."""
    gear = gear_from_toml(
        "diver",
        {
            "kind": "diver",
            "parts": [
                {"name": "front", "length": "20 m", "diameter_mm": 0.30},
                {"name": "copper", "length_m": 30.0, "line": "45 lb copper"},
                {"name": "braid", "diameter_mm": 0.28},
            ],
            "clipped": [{"at": "35 m", "weight": "8 oz", "drag_area": "4 cm2"}],
        },
    )
    speed = 1.1
    q, roll = pressure(speed), np.radians([0.0, 38.5][int(setting > 0)])
    lift, drag = q * 0.00625, q * (0.0045 + 0.0005)
    end = [drag, lift * np.sin(roll), lift * np.cos(roll) + 0.15]
    # 8 oz of lead by its density, 11 340 kg/m3; copper by its diameter and weight from the label
    lead = 0.2268 * 9.80665 * (1 - 1000 / 11340)
    copper = gear.parts[1]
    mm, heavy = copper.diameter_mm, copper.weight_n_per_m
    parts = [
        stretch(q, 20.0, 0.30),
        stretch(q, 15.0, mm, heavy, (q * 4e-4, 0.0, lead)),
        stretch(q, 15.0, mm, heavy),
        stretch(q, np.inf, 0.28),
    ]
    expected = integrated(end, parts, 60.0, 1.5)
    close(solve(gear, setting=setting, line_out_m=60.0, speed_mps=speed), expected)


def test_a_weight_clipped_onto_core_and_a_keel_weight_ahead_of_the_leader(integrated):
    q = pressure(1.0)
    gear = gear_from_toml(
        "g",
        {
            "kind": "flat line",
            "parts": [
                {
                    "name": "leader",
                    "length_m": 2.0,
                    "diameter_mm": 0.3,
                    "lump_weight": "2 oz",
                    "lump_drag_area": "1 cm2",
                },
                {"name": "line", "diameter_mm": 0.3},
            ],
            "clipped": [{"at_m": 15.0, "weight_n": 2.5, "drag_area_m2": 3e-4}],
        },
    )
    keel = 0.0566990 * 9.80665 * (1 - 1000 / 11340)
    for leader in (2.0, 4.0, 20.0):
        lumps = {leader: (q * 1e-4, 0.0, keel), 15.0: (q * 3e-4, 0.0, 2.5)}
        low, high = sorted(lumps)
        parts = [
            stretch(q, low, 0.3, 0.0, lumps[low]),
            stretch(q, high - low, 0.3, 0.0, lumps[high]),
            stretch(q, np.inf, 0.3),
        ]
        expected = integrated([q * 2e-4, 0.0, 0.02], parts, 45.0, 1.5)
        close(solve(gear, line_out_m=45.0, speed_mps=1.0, leader_length_m=leader), expected)


def test_a_tripped_diver_is_a_drag_and_a_weight(integrated):
    q = pressure(1.1)
    gear = Diver(tripped=True, tripped_drag_area_m2=0.0012)
    expected = integrated([q * 0.0017, 0.0, 0.15], [stretch(q, np.inf, 0.30)], 30.0, 1.5)
    out = solve(gear, setting=2, line_out_m=30.0, speed_mps=1.1)
    close(out, expected)
    assert out.depth_m < 0.2 * solve(Diver(), setting=2, line_out_m=30.0, speed_mps=1.1).depth_m


@pytest.mark.parametrize(
    ("carried", "lure"),
    [(Diver(weight_n=0.3), None), (CORE, None), (Diver(weight_n=0.3), PLUG), (CORE, PLUG)],
)
def test_a_planer_carries_a_line_to_the_side(integrated, carried, lure):
    """The line behind by integration, the board by forces on paper."""
    speed, height, to_board = 1.1, 2.0, 25.0
    q = pressure(speed)
    (astern, down), (behind, below) = ([q * 0.0005, 0.0], [0.0, 0.0])
    if isinstance(carried, Diver):
        roll = np.radians(20.5)
        if lure:
            (astern, down), (behind, below) = leader_of_plug(q, 2.5, 0.40)
        lift = q * 0.00625
        end = [q * 0.0045 + astern, lift * np.sin(roll), lift * np.cos(roll) + 0.3 + down]
        parts = [stretch(q, np.inf, 0.30)]
    else:
        end = plug_end(q) if lure else [q * 0.0003, 0.0, 0.02]
        parts = [stretch(q, 6.0, 0.30), stretch(q, 45.72, 0.85, 0.0098), stretch(q, np.inf, 0.35)]
    depth, side, back, _, astern, across, _ = integrated(end, parts, 30.0, 0.0)
    astern, across = astern + q * 0.004, across + q * 0.008
    level, run = np.hypot(astern, across), np.sqrt(to_board**2 - height**2)
    expected = [depth + below, side + run * across / level, back + behind + run * astern / level]
    board = Planer(behind=carried, to_planer_m=to_board)
    row = {"setting": 1, "line_out_m": 30.0, "speed_mps": speed, "tip_height_m": height}
    leader = {"leader_length_m": 2.5} if isinstance(carried, Diver) else {}
    out = solve(board, **row, **leader, lure=lure)
    close(out, [*expected, level * to_board / run])


def test_limits_are_the_old_kinds():
    """No lift, a weight at the leader's end, a planer at no distance, one clip at the ball."""
    row = {"line_out_m": [25.0, 60.0], "speed_mps": 1.1, "setting": 1.0}
    still = Lure(name="none", lift_area_m2=0.0, drag_area_m2=0.0005)
    for gear in (Diver(), Rigger(clipped_tangential_drag=0.0)):
        leader = {"leader_length_m": 1e-9, "lead_m": 1e-9}
        dull, own = solve(gear, **row, **leader, lure=still), solve(gear, **row)
        np.testing.assert_allclose(dull.depth_m, own.depth_m, rtol=1e-6)
    flat = FlatLine(
        parts=(
            Part(name="front", length_m=3.0, diameter_mm=0.3, lump_weight_n=1.0),
            Part(name="line", diameter_mm=0.3),
        )
    )
    clipped = gear_from_toml(
        "f",
        {
            "kind": "flat line",
            "parts": [{"name": "line", "diameter_mm": 0.3}],
            "clipped": [{"at_m": 3.0, "weight_n": 1.0}],
        },
    )
    np.testing.assert_allclose(solve(clipped, **row).depth_m, solve(flat, **row).depth_m, rtol=1e-6)
    at_end = replace(PLAIN, clipped=(Clip(at_m=1e-9, weight_n=1.0, drag_area_m2=2e-4),))
    heavy = replace(
        PLAIN,
        lure_weight_n=PLAIN.lure_weight_n + 1.0,
        lure_drag_area_m2=PLAIN.lure_drag_area_m2 + 2e-4,
    )
    np.testing.assert_allclose(solve(at_end, **row).depth_m, solve(heavy, **row).depth_m, rtol=1e-6)
    board = solve(Planer(behind=Diver(), to_planer_m=0.0), **row)
    bare = solve(Diver(), **row, tip_height_m=0.0)
    np.testing.assert_allclose(board.depth_m, bare.depth_m)
    np.testing.assert_allclose(board.lateral_m, bare.lateral_m)
    np.testing.assert_allclose(board.line_pull_n, bare.line_pull_n)


def slider_by_hand(tension, cable_m, speed, drag, weight):
    """The free slider without any formula of ours: shoot the fishing line from ball to rod tip.

    The line is integrated up from the ball at a slope; where it passes the point at which the
    snap's forces balance along the line, the lure's force is added to the tension; the slope at
    the ball and that of the cable are found so that the line meets the rod tip.
    """
    q = pressure(speed)
    volume = 4.536 / 11340
    ball = 0.47 * np.pi * (3 * volume / (4 * np.pi)) ** (2 / 3)
    ball_x, ball_z = q * (ball + 0.0005), 9.80665 * (4.536 - RHO * volume)
    load = q * 0.45 / 1000 * 1.2
    force = np.array([drag * q, weight])

    def line(_, y):
        t = y[:2] / np.linalg.norm(y[:2])
        across = np.array([1.0, 0.0]) - t[0] * t
        return np.concatenate([-load * np.linalg.norm(across) * across, t])

    def balance(_, y):
        # frictionless: as much tension above the snap as below it
        return np.linalg.norm(y[:2] - force) - np.linalg.norm(y[:2])

    balance.terminal = True

    def meets(guess):
        angle, tip_m = guess
        pull = tension * np.array([-np.cos(angle), -np.sin(angle)])
        c = (q * 0.9 / 1000 * 1.2, q * np.pi * 0.9 / 1000 * 0.015)

        def cable(_, y):
            t = y[:2] / np.linalg.norm(y[:2])
            across = np.array([1.0, 0.0]) - t[0] * t
            run = c[0] * np.linalg.norm(across) * across + c[1] * abs(t[0]) * t[0] * t
            return np.concatenate([-run - [0.0, 0.0257], t])

        end = [-(ball_x + pull[0]), -(ball_z + pull[1]), 0.0, 0.0]
        options = {"method": "DOP853", "rtol": 1e-10, "atol": 1e-12}
        path = solve_ivp(cable, (0, cable_m), end, dense_output=True, **options).sol

        def spare(s):
            y = path(s)
            return (s - cable_m) * y[1] / np.hypot(*y[:2]) - 1.2

        y = path(brentq(spare, cable_m - 10.0, cable_m, xtol=1e-12))
        depth = -y[3]
        setback = -y[2] + 1.2 * y[0] / y[1]
        start = [*pull, 0.0, 0.0]
        first = solve_ivp(line, (0, 3 * cable_m), start, events=balance, **options)
        assert first.t_events[0].size
        snap = first.y[:, -1]
        low = np.concatenate([snap[:2] - force, snap[2:]])
        second = solve_ivp(line, (0, tip_m), low, **options)
        top = second.y[:, -1]
        run = 1.5 * top[0] / top[1]
        return [-top[3] - depth, -top[2] + run - setback], (depth, setback, snap)

    found = fsolve(lambda g: meets(g)[0], [np.pi / 2 + 0.5, 0.7 * cable_m], xtol=1e-11)
    (miss, (depth, setback, snap)) = meets(found)
    assert np.abs(miss).max() < 1e-6
    return depth + snap[3], setback + snap[2], snap


@pytest.mark.parametrize(("tension", "cable_m"), [(4.0, 30.0), (3.0, 20.0)])
def test_a_free_slider_settles_by_the_balance_of_forces(tension, cable_m):
    gear = Slider(
        rod_pull_n=tension,
        slider_drag_area_m2=0.0004,
        slider_weight_n=0.05,
        clipped_line_diameter_mm=0.45,
    )
    depth, setback, snap = slider_by_hand(tension, cable_m, 1.1, 0.0004, 0.05)
    out = solve(gear, line_out_m=cable_m, speed_mps=1.1)
    assert out.depth_m == pytest.approx(depth, rel=WANTED)
    assert out.setback_m == pytest.approx(setback, rel=WANTED)
    # by hand: half the lure's force across twice the tension is the half turn of the line
    size = np.hypot(0.0004 * pressure(1.1), 0.05)
    below = snap[:2] / np.linalg.norm(snap[:2])
    above = snap[:2] - np.array([0.0004 * pressure(1.1), 0.05])
    turn = np.arccos(below @ above / np.linalg.norm(above))
    assert 2 * tension * np.sin(turn / 2) == pytest.approx(size, rel=1e-6)


def test_a_free_slider_rides_in_the_bow_and_lies_at_the_ball_on_a_tight_line():
    """Near the middle of the bow: common practice, no source."""
    gear, row = Slider(clipped_line_diameter_mm=0.45), {"line_out_m": 30.0, "speed_mps": 1.1}
    ball = solve(Rigger(), **row).depth_m
    slack = solve(replace(gear, rod_pull_n=3.0), **row).depth_m
    assert 0.3 * ball < slack < 0.75 * ball
    assert solve(replace(gear, rod_pull_n=15.0), **row).depth_m > 0.9 * ball
    assert "too little to hold" in solve(replace(gear, rod_pull_n=0.1), **row).reason.item()


def test_a_plug_runs_shallower_on_thicker_line():
    """Common practice, no source."""
    depths = [
        solve(PLAIN.thicker(times), line_out_m=30.0, speed_mps=1.0, lure=PLUG).depth_m
        for times in (0.7, 1.0, 1.5)
    ]
    assert depths[0] > 1.1 * depths[1] > 1.2 * depths[2]


def test_what_a_maker_says_is_what_the_lure_then_runs():
    runs = {"depth": "12 ft", "line_out": "100 ft", "line": "10 lb mono", "speed": "2 mph"}
    lure = lures_from_toml({"Plug": {"runs": runs}}, RHO)["plug"]
    line = FlatLine(parts=(Part(name="line", diameter_mm=0.316),))
    out = solve(line, line_out_m=30.48, speed_mps=2 * 0.44704, lure=lure)
    assert out.depth_m / 0.3048 == pytest.approx(12.0, rel=1e-4)


def test_doubt_of_a_lure_widens_the_interval():
    """A word leaves more open than a maker's figure; a plain lure has no such doubt."""
    told = lures_from_toml({"w": {"diving": "deep"}, "a": {"lift_area_m2": 0.0015}}, RHO)
    belief = believe(PLAIN)
    sd = {}
    for name, lure in told.items():
        out = belief.predict(line_out_m=30.0, speed_mps=1.1, **lure.columns)
        sd[name] = float(out.depth_sd_m / out.depth_m)
    assert sd["w"] > 1.3 * sd["a"]
    rng = np.random.default_rng(4)
    rows = {"line_out_m": [30.0, 30.0], "speed_mps": 1.1, **told["w"].columns}
    draws = np.log(belief.draws(4000, rng, set_id=[0, 1], **rows))
    assert np.std(draws[:, 0]) == pytest.approx(sd["w"], rel=0.15)
    assert np.corrcoef(draws.T)[0, 1] > 0.5


def test_a_path_begins_at_the_lure_and_ends_at_the_rod():
    board = RodLine(
        rod="P1",
        belief=believe(Planer(behind=CORE)),
        line_out_m=40.0,
        speed_mps=1.1,
        side="port",
        tip_y_m=-2.0,
    )
    path, out = line_path(board), solve(board.belief.gear, line_out_m=40.0, speed_mps=1.1)
    np.testing.assert_allclose(path.points_m[0, 0], out.setback_m, rtol=1e-6)
    np.testing.assert_allclose(path.points_m[0, 1], -out.lateral_m - 2.0, rtol=1e-6)
    np.testing.assert_allclose(path.points_m[-1], [0.0, -2.0, -1.5], atol=1e-9)
    ball = RodLine(
        rod="R",
        belief=believe(Rigger()),
        line_out_m=20.0,
        speed_mps=1.1,
        side="centre",
        trail_m=9.0,
    )
    path = line_path(ball)
    assert path.points_m[0, 0] - path.points_m[1, 0] == pytest.approx(9.0)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"kind": "planer"}, "a planer without a line behind it.*gear.NAME.behind"),
        ({"kind": "planer", "behind": {"kind": "rigger"}}, "nothing that a planer carries"),
        ({"kind": "rigger", "clips_m": [0.0, 6.0, 6.0]}, "two lines are clipped on at one height"),
        ({"kind": "rigger", "clips_m": [0.0], "fishes_at_m": 5.0}, "no line is clipped on 5 m"),
        ({"kind": "rigger", "ball_weight": "10 stone"}, "no number with a unit.*oz, lb, g, kg"),
        (
            {"kind": "rigger", "ball_mass": "9 lb", "ball_mass_kg": 4.0},
            "ball_mass_kg is given twice",
        ),
        ({"kind": "diver", "line": "30 lb string"}, "no line that is known.*braid, mono"),
        ({"kind": "diver", "tripped": "yes"}, "neither true nor false"),
        ({"kind": "weighted line", "core": "27 lb lead core", "colours": 0}, "number of colours"),
        ({"kind": "free slider", "clipped_line_diameter_mm": 0.0}, "no line to slide on"),
        ({"kind": "diver", "clipped": [{"at_m": 5.0}]}, "weight_n is missing"),
    ],
)
def test_what_cannot_be_towed_is_refused_with_a_remedy(table, words):
    with pytest.raises(GearError, match=words):
        gear_from_toml("g", table)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"p": {}}, "how it dives is not told"),
        ({"p": {"diving": "deep", "lift_area_m2": 0.001}}, "told in two ways"),
        ({"p": {"diving": "abyssal"}}, "no way to dive"),
        ({"p": {"diving": "deep"}, "P ": {"diving": "deep"}}, "stands here twice"),
        ({"p": {"runs": {"depth": "12 ft", "line": "10 lb mono"}}}, "line_out_m is missing"),
        (
            {"p": {"runs": {"depth": "90 ft", "line_out": "100 ft", "line": "65 lb braid",
                            "speed": "2 mph"}}},
            "no lift takes a lure to 27.4 m",
        ),
    ],
)  # fmt: skip
def test_a_lure_that_cannot_be_is_refused_with_a_remedy(table, words):
    with pytest.raises(GearError, match=words):
        lures_from_toml(table, RHO)


def test_rows_that_no_rig_can_fish_have_a_reason():
    upper = Rigger(clips_m=(0.0, 9.0), fishes_at_m=9.0)
    assert (
        "9 m above the ball is out of the water"
        in solve(upper, line_out_m=8.0, speed_mps=1.1).reason.item()
    )
    weight = gear_from_toml("d", {"kind": "diver", "clipped": [{"at_m": 20.0, "weight_n": 1.0}]})
    out = solve(weight, setting=1, line_out_m=15.0, speed_mps=1.1)
    assert "above the rod tip" in out.reason.item()
    floats = Lure(name="f", lift_area_m2=0.0003, drag_area_m2=0.0003, weight_n=-0.2)
    out = solve(PLAIN, line_out_m=30.0, speed_mps=[0.3, 1.5], lure=floats)
    assert out.reason[0].startswith("the lure floats: at this speed")
    assert out.reason[1] == ""
    under = Planer(behind=Diver(lift_area_m2=0.03), buoyancy_n=5.0)
    out = solve(under, setting=0, line_out_m=30.0, speed_mps=1.5)
    assert out.reason.item() == "the planer is pulled under by what it carries"
