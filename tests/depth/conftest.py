"""Owns an independent solution of the towed line, and the gears the depth tests share."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from analysis.depth.kinds import Diver, FlatLine, Gear, Part, Rigger, WeightedLine

WATER_KG_M3 = 999.7


def _loads(gear: Gear, setting, q, leader_m):
    """End force and parts (length, normal, tangential, weight, lump drag, lump weight)."""
    if isinstance(gear, Diver):
        roll = np.radians(np.interp(setting, *np.array(gear.roll_deg).T))
        lift = q * gear.lift_area_m2
        drag = q * (gear.drag_area_m2 + gear.lure_drag_area_m2)
        end = [drag, lift * np.sin(roll), lift * np.cos(roll) + gear.weight_n]
        d = gear.line_diameter_mm / 1000
        loads = (q * d * gear.normal_drag, q * np.pi * d * gear.tangential_drag)
        return end, [(np.inf, *loads, gear.line_weight_n_per_m, 0.0, 0.0)]
    if isinstance(gear, Rigger):
        volume = gear.ball_mass_kg / gear.ball_density_kg_m3
        radius = (3 * volume / (4 * np.pi)) ** (1 / 3)
        drag = q * (gear.ball_drag * np.pi * radius**2 + gear.lure_drag_area_m2)
        end = [drag, 0.0, 9.80665 * (gear.ball_mass_kg - WATER_KG_M3 * volume)]
        d, c = gear.cable_diameter_mm / 1000, gear.clipped_line_diameter_mm / 1000
        normal = d * gear.normal_drag + c * gear.clipped_normal_drag
        along = d * gear.tangential_drag + c * gear.clipped_tangential_drag
        return end, [(np.inf, q * normal, q * np.pi * along, gear.cable_weight_n_per_m, 0.0, 0.0)]
    parts = []
    for part in gear.parts:
        length = np.inf if part.length_m is None else part.length_m
        if part.name == "leader" and not np.isnan(leader_m):
            length = leader_m
        d = part.diameter_mm / 1000
        cn = gear.normal_drag if part.normal_drag is None else part.normal_drag
        ct = gear.tangential_drag if part.tangential_drag is None else part.tangential_drag
        lump = (q * part.lump_drag_area_m2, part.lump_weight_n)
        parts.append((length, q * d * cn, q * np.pi * d * ct, part.weight_n_per_m, *lump))
    return [q * gear.lure_drag_area_m2, 0.0, gear.lure_weight_n], parts


def _reference(gear, setting, line_out_m, speed_mps, tip_height_m, leader_m=np.nan):
    """Integrate at a relative tolerance of 1e-11 and take the longest wetted length.

    Returns depth, lateral, setback and pull; NaN where the line never stays in the water.
    """
    q = 0.5 * WATER_KG_M3 * speed_mps**2
    height = tip_height_m
    if isinstance(gear, Rigger):
        height = gear.pulley_height_m
        line_out_m += height if gear.counter_zero == "surface" else 0.0
    end, parts = _loads(gear, setting, q, leader_m)
    stretches = [
        (length, normal, along, weight, (drag, 0.0, heavy))
        for length, normal, along, weight, drag, heavy in parts
    ]
    return _integrated(end, stretches, line_out_m, height)[:4]


def _integrated(end, stretches, line_out_m, height, from_m=0.0):
    """Integrate a line of stretches (length, normal, along, weight, force at its upper end).

    Returns depth, lateral and setback of the point `from_m` up from the deep end, the pull, and
    the force (astern, side, down) on what holds the line.
    """
    state = np.concatenate([-np.array(end, dtype=float), np.zeros(3)])
    paths, start = [], 0.0
    for length, normal, along, weight, lump in stretches:

        def slope(_, y, normal=normal, along=along, weight=weight):
            tangent = y[:3] / np.linalg.norm(y[:3])
            stream_along = tangent[0] * tangent
            stream_across = np.array([1.0, 0.0, 0.0]) - stream_along
            load = normal * np.linalg.norm(stream_across) * stream_across
            load = load + along * np.linalg.norm(stream_along) * stream_along
            load[2] += weight
            return np.concatenate([-load, tangent])

        stop = min(start + length, line_out_m)
        path = solve_ivp(
            slope, (start, stop), state, method="DOP853", rtol=1e-11, atol=1e-14, dense_output=True
        )
        assert path.success
        paths.append((start, stop, path.sol))
        state = path.y[:, -1].copy()
        state[:3] -= np.array(lump)
        start = stop
        if start >= line_out_m:
            break
    begins = next(sol(from_m)[3:] for low, stop, sol in paths if low <= from_m <= stop)
    for start, stop, sol in reversed(paths):

        def spare(s, sol=sol):
            y = sol(s)
            return (s - line_out_m) * y[2] / np.linalg.norm(y[:3]) - height

        nodes = np.linspace(start, stop, 300)
        values = np.array([spare(s) for s in nodes])
        falls = np.flatnonzero((values[:-1] >= 0) & (values[1:] <= 0))
        if falls.size:
            wet = brentq(spare, nodes[falls[-1]], nodes[falls[-1] + 1], xtol=1e-13)
            y = sol(wet)
            pull = np.linalg.norm(y[:3])
            tip = y[3:] + (line_out_m - wet) * y[:3] / pull
            x, lateral, z = begins
            return np.array([z - y[5], lateral - tip[1], x - tip[0], pull, *-y[:3]])
    return np.full(7, np.nan)


@pytest.fixture(scope="session")
def reference() -> Callable[..., np.ndarray]:
    """The independent solution: depth, lateral, setback and pull of one line."""
    return _reference


@pytest.fixture(scope="session")
def integrated() -> Callable[..., np.ndarray]:
    """The independent solution of a line told by its loads."""
    return _integrated


def _gears() -> dict[str, Gear]:
    core = (
        Part(name="leader", length_m=6.0, diameter_mm=0.30),
        Part(name="core", length_m=45.72, diameter_mm=0.85, weight_n_per_m=0.0098),
        Part(name="backing", diameter_mm=0.35),
    )
    copper = (
        Part(name="leader", length_m=8.0, diameter_mm=0.40),
        Part(name="copper", length_m=60.0, diameter_mm=1.1, weight_n_per_m=0.06, normal_drag=1.0),
        Part(name="backing", diameter_mm=0.30, tangential_drag=0.03),
    )
    weighted = (
        Part(
            name="leader",
            length_m=2.0,
            diameter_mm=0.30,
            lump_weight_n=0.27,
            lump_drag_area_m2=0.0001,
        ),
        Part(name="line", diameter_mm=0.30),
    )
    return {
        "diver": Diver(),
        "diver without drag along the line": Diver(tangential_drag=0.0),
        "diver on heavy line": Diver(line_weight_n_per_m=0.02, line_diameter_mm=0.45),
        "diver on rope": Diver(line_diameter_mm=2.0, tangential_drag=0.03, weight_n=0.5),
        "rigger": Rigger(),
        "rigger from the surface": Rigger(counter_zero="surface", cable_diameter_mm=1.3),
        "light rigger": Rigger(ball_mass_kg=1.5, clipped_line_diameter_mm=0.0),
        "lead core": WeightedLine(name="core", parts=core),
        "copper": WeightedLine(name="copper", parts=copper, tangential_drag=0.0),
        "bare wire": WeightedLine(
            name="wire",
            parts=(Part(name="wire", diameter_mm=0.6, weight_n_per_m=0.02),),
            lure_weight_n=0.0,
        ),
        "flat line": FlatLine(name="flat", parts=weighted),
        "thin flat line": FlatLine(name="thin", parts=(Part(name="line", diameter_mm=0.25),)),
    }


@pytest.fixture(scope="session")
def gears() -> dict[str, Gear]:
    """One gear of every sort."""
    return _gears()


@pytest.fixture(params=list(_gears()))
def gear(request, gears) -> Gear:
    """Each gear in turn."""
    return gears[request.param]
