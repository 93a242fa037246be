"""Owns the checks against statics, force balance and a general-purpose mooring library."""

import moorpy
import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from analysis.depth import Columns, solve
from analysis.depth.kinds import Diver, FlatLine, Part, Rigger, WeightedLine
from analysis.depth.kinds.parts import Clip
from analysis.depth.model import run, solve_columns, tow_of
from analysis.depth.towline import line_points
from analysis.depth.water import FRESH_WATER

GRAVITY = 9.80665


def test_without_current_a_heavy_line_is_a_catenary():
    """At a crawl only weight and a steady pull astern are left: y = a cosh(x / a), exact.

    The end is loaded by a drag of its own that stays at any speed: a lure of so large an area
    that its drag is felt where that of the line is not.
    """
    speed, length, weight = 1e-3, 60.0, 0.05
    area, lure_weight = 0.9, 4.0e-4
    gear = WeightedLine(
        name="chain",
        parts=(Part(name="chain", diameter_mm=1e-6, weight_n_per_m=weight),),
        lure_drag_area_m2=area,
        lure_weight_n=lure_weight,
    )
    out = solve(gear, line_out_m=length, speed_mps=speed, tip_height_m=0.0)
    level = 0.5 * FRESH_WATER.density_kg_m3 * speed**2 * area  # the same all along the line
    a = level / weight
    low = np.arcsinh(lure_weight / level)
    high = np.arcsinh((lure_weight + weight * length) / level)
    assert out.setback_m == pytest.approx(a * (high - low), rel=1e-5)
    assert out.depth_m == pytest.approx(a * (np.cosh(high) - np.cosh(low)), rel=1e-5)
    assert out.line_pull_n == pytest.approx(level * np.cosh(high), rel=1e-5)


@pytest.mark.parametrize("speed_mps", [0.6, 1.1, 1.8])
def test_a_long_heavy_line_ends_at_its_critical_angle(speed_mps):
    """w cos a = q d Cn sin^2 a: the slope of depth against line-out far from the end."""
    gear = WeightedLine(
        name="wire",
        parts=(Part(name="wire", diameter_mm=0.8, weight_n_per_m=0.03),),
        lure_weight_n=0.0,
    )
    q = 0.5 * FRESH_WATER.density_kg_m3 * speed_mps**2
    push = q * 0.8e-3 * gear.normal_drag
    angle = brentq(lambda a: 0.03 * np.cos(a) - push * np.sin(a) ** 2, 1e-6, np.pi / 2)
    depth = solve(gear, line_out_m=[400.0, 500.0], speed_mps=speed_mps, tip_height_m=0.0).depth_m
    assert np.diff(depth)[0] / 100.0 == pytest.approx(np.sin(angle), rel=1e-4)


def test_forces_balance_over_the_whole_line(gear):
    """The pull at the top carries the end, the weight and the drag summed along the path."""
    columns = Columns.of(setting=2.0, line_out_m=70.0, speed_mps=1.2)
    tow, out = tow_of(gear, columns, FRESH_WATER), solve_columns(gear, columns)
    path = line_points(tow, run(gear, columns, FRESH_WATER), 2000)[1:-1, 0]
    wet, tip = path[:-1], path[-1]
    step = np.diff(wet, axis=0)
    length = np.linalg.norm(step, axis=1)
    tangent = step / length[:, None]
    middle = np.cumsum(length) - length / 2
    part = (middle[:, None] > tow.top_m[:, 0]).sum(axis=1)
    along = tangent[:, :1] * tangent
    across = np.array([1.0, 0.0, 0.0]) - along
    size = {"across": np.linalg.norm(across, axis=1), "along": np.linalg.norm(along, axis=1)}
    load = tow.normal_n_per_m[part, 0] * size["across"] * across.T
    load = load + tow.tangential_n_per_m[part, 0] * size["along"] * along.T
    load[2] += tow.weight_n_per_m[part, 0]
    total = (load * length).sum(axis=1) + tow.end_n[:, 0]
    passed = tow.top_m[:, 0] < out.wetted_m[0]
    total += (tow.lump_n[:, :, 0] * passed).sum(axis=1)
    # Straight pieces cut the corner at a lump: 1e-3 of the pull.
    pull = (wet[-1] - tip) / np.linalg.norm(wet[-1] - tip) * out.line_pull_n
    np.testing.assert_allclose(total, pull, atol=1e-3 * out.line_pull_n[0])


def chain_of_moored_lines(end_n, load, length_m, speed_at, stiffness_n, count, lumps=None):
    """Hang moorpy's lines one under the other in a current, from the deep end up.

    Each is placed so that its lower end takes the force handed down; the drag that moorpy finds
    on its path is fed back until it settles. moorpy knows one current for all of a line: each
    has that of its middle, `speed_at` its height above the deep end. `lumps` are forces (astern,
    side, down) below the lines of these numbers. Returns (astern, side, up) and the tension on top.
    """
    diameter, normal, tangential, weight = load
    rho = FRESH_WATER.density_kg_m3
    system = moorpy.System(depth=1000.0, rho=rho, g=GRAVITY)
    system.currentMod = 1
    system.lineTypes["line"] = {
        "name": "line",
        "material": "line",
        "d_vol": diameter,
        "d_nom": diameter,
        "m": weight / GRAVITY + np.pi / 4 * diameter**2 * rho,
        "w": weight,
        "EA": stiffness_n,
        "Cd": normal,
        "CdAx": tangential,
    }
    low, piece = np.array([0.0, 0.0, -500.0]), length_m / count
    system.addPoint(1, low)
    system.addPoint(1, low + np.array([0.0, 0.0, 1.0]))
    system.addLine(piece, "line", nSegs=8, pointA=1, pointB=2)
    line = system.lineList[0]
    line.setEndPosition(low, 0)
    place, force = np.zeros(3), np.array([end_n[0], end_n[1], -end_n[2]])
    for number in range(count):
        force = force + np.array((lumps or {}).get(number, (0.0, 0.0, 0.0))) * [1.0, 1.0, -1.0]
        tension = np.linalg.norm(force)
        middle = place[2] - 0.5 * piece * force[2] / tension
        system.current = np.array([speed_at(middle), 0.0, 0.0])

        def lack(u, force=force, tension=tension):
            line.setEndPosition(low + u * piece, 1)
            line.fCurrent, line.HF = np.zeros(3), 0
            for _ in range(4):
                line.staticSolve(tol=1e-8)
            return (line.fA + force) / tension

        start = -force / tension * (1.0 + tension / stiffness_n)
        u, info, _, _ = fsolve(lack, start, full_output=True, xtol=1e-9, epsfcn=1e-10)
        assert np.abs(info["fvec"]).max() < 1e-4
        place, force = place + u * piece, line.fB.copy()
    return place, np.linalg.norm(force)


@pytest.mark.parametrize("speed_mps", [0.8, 1.6])
@pytest.mark.parametrize(
    ("gear", "load"),
    [
        (
            Rigger(pulley_height_m=0.0, clipped_line_diameter_mm=0.0),
            (0.9e-3, 1.2, 0.015, 0.0257),
        ),
        (Diver(line_weight_n_per_m=0.005), (0.3e-3, 1.2, 0.015, 0.005)),
    ],
    ids=["rigger", "diver to the side"],
)
def test_a_mooring_library_agrees_within_its_stretch(gear, load, speed_mps):
    length, stretch = 35.0, 3e-4
    columns = Columns.of(setting=2.0, line_out_m=length, speed_mps=speed_mps, tip_height_m=0.0)
    out = solve_columns(gear, columns)
    end = tow_of(gear, columns, FRESH_WATER).end_n[:, 0]
    stiffness = out.line_pull_n[0] / stretch
    place, tension = chain_of_moored_lines(end, load, length, lambda _: speed_mps, stiffness, 10)
    agrees(out, place, tension, stretch)


def agrees(out, place, tension, stretch):
    """Stretched lines are longer, and catch more water: three times the stretch."""
    assert place[2] == pytest.approx(out.depth_m[0], rel=3 * stretch)
    assert -place[0] == pytest.approx(out.setback_m[0], rel=3 * stretch)
    assert -place[1] == pytest.approx(out.lateral_m[0], rel=3 * stretch, abs=1e-6)
    assert tension == pytest.approx(out.line_pull_n[0], rel=3 * stretch)


def test_a_mooring_library_agrees_on_a_weight_clipped_on_part_way():
    length, stretch, speed = 25.0, 3e-4, 1.1
    gear = FlatLine(
        parts=(Part(name="line", diameter_mm=0.3, weight_n_per_m=0.005),),
        clipped=(Clip(at_m=10.0, weight_n=2.0, drag_area_m2=4e-4),),
        lure_drag_area_m2=0.002,
        lure_weight_n=2.5,
    )
    columns = Columns.of(line_out_m=length, speed_mps=speed, tip_height_m=0.0)
    out = solve_columns(gear, columns)
    q = 0.5 * FRESH_WATER.density_kg_m3 * speed**2
    place, tension = chain_of_moored_lines(
        (q * 0.002, 0.0, 2.5),
        (0.3e-3, 1.2, 0.015, 0.005),
        length,
        lambda _: speed,
        out.line_pull_n[0] / stretch,
        10,
        lumps={4: (q * 4e-4, 0.0, 2.0)},
    )
    agrees(out, place, tension, stretch)


def test_a_mooring_library_agrees_in_sheared_water():
    """0.3 mph over 10 m. The deep end's depth is taken from our answer, and must come out."""
    length, stretch, speed, shear = 35.0, 3e-4, 1.1, 0.0134
    gear = Rigger(pulley_height_m=0.0, clipped_line_diameter_mm=0.0)
    columns = Columns.of(line_out_m=length, speed_mps=speed, shear_per_s=shear)
    out = solve_columns(gear, columns.for_gear(gear))
    deep = out.depth_m[0]

    def speed_at(above_end):
        return speed + shear * 15.0 * np.tanh((deep - above_end) / 15.0)

    there = Columns.of(line_out_m=length, speed_mps=speed_at(0.0))
    end = tow_of(gear, there, FRESH_WATER).end_n[:, 0]
    load, stiffness = (0.9e-3, 1.2, 0.015, 0.0257), out.line_pull_n[0] / stretch
    place, tension = chain_of_moored_lines(end, load, length, speed_at, stiffness, 10)
    agrees(out, place, tension, stretch)
    even = solve(gear, line_out_m=length, speed_mps=speed).depth_m
    assert abs(even / deep - 1.0) > 20 * stretch
