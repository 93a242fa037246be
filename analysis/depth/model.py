"""Owns the way from a gear and a log's columns to where its lines run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from analysis.depth.closed import serves, tow_weightless
from analysis.depth.columns import (
    Columns,
    Texts,
    part_lengths,
    refusals,
    roll_deg,
)
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.towline import Array, Tow, Towed, tow_lines
from analysis.gear import Diver, FlatLine, Gear, Rigger, Water, WeightedLine

GRAVITY_M_S2 = 9.80665  # standard gravity
PULL_ANGLES_RAD = (np.radians(2.0), np.radians(88.0))  # what a shift may turn a pull to
BLOCK = 4096  # rows solved together: small enough to stay in the processor's cache
FRESH_WATER = Water()
Shifts = Mapping[str, Array]
"""Departures of a gear's parameters from its values, one a row; see `tow_of`."""
NO_SHIFTS: Shifts = {}


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Where lines run, in the shape of the columns asked with.

    Attributes
    ----------
    depth_m
        Depth of the diver, ball or lure below the surface.
    lateral_m
        Distance to the side of the rod tip, positive to the side it fishes.
    setback_m
        Distance astern of the rod tip (of the pulley for a rigger).
    line_pull_n
        Tension at the rod tip or pulley.
    wetted_m
        Length of line in the water.
    reason
        Why there is no answer; empty text where there is one.
    """

    depth_m: Array
    lateral_m: Array
    setback_m: Array
    line_pull_n: Array
    wetted_m: Array
    reason: Texts


def _diver(gear: Diver, columns: Columns, q: Array, shifts: Shifts) -> Tow:
    lift, drag = gear.lift_area_m2, gear.drag_area_m2 + gear.lure_drag_area_m2
    own = np.arctan2(lift, drag)
    low, high = PULL_ANGLES_RAD
    turned = own + shifts.get("pull_angle", 0.0)
    angle = np.clip(turned, min(low, own), max(high, own))
    roll = np.radians(roll_deg(gear, columns.setting)) + shifts.get("roll", 0.0)
    pull = np.hypot(lift, drag) * q
    diameter = gear.line_diameter_mm / 1000.0
    return _tow(
        columns,
        astern=pull * np.cos(angle),
        side=pull * np.sin(angle) * np.sin(roll),
        down=pull * np.sin(angle) * np.cos(roll) + gear.weight_n,
        normal=q * diameter * gear.normal_drag * np.exp(shifts.get("line_drag", 0.0)),
        tangential=q * np.pi * diameter * gear.tangential_drag,
        weight=gear.line_weight_n_per_m,
    )


def _rigger(gear: Rigger, columns: Columns, q: Array, water: Water, shifts: Shifts) -> Tow:
    volume = gear.ball_mass_kg / gear.ball_density_kg_m3
    ball_area = gear.ball_drag * np.pi / 4.0 * (6.0 * volume / np.pi) ** (2.0 / 3.0)
    cable, line = gear.cable_diameter_mm / 1000.0, gear.clipped_line_diameter_mm / 1000.0
    normal = cable * gear.normal_drag + line * gear.clipped_normal_drag
    along = cable * gear.tangential_drag + line * gear.clipped_tangential_drag
    below_pulley = gear.pulley_height_m if gear.counter_zero == "surface" else 0.0
    tow = _tow(
        columns,
        astern=q * (ball_area + gear.lure_drag_area_m2) * np.exp(shifts.get("end_drag", 0.0)),
        down=(gear.ball_mass_kg - water.density_kg_m3 * volume) * GRAVITY_M_S2,
        normal=q * normal * np.exp(shifts.get("line_drag", 0.0)),
        tangential=q * np.pi * along,
        weight=gear.cable_weight_n_per_m,
    )
    return replace(
        tow,
        line_out_m=columns.line_out_m + below_pulley,
        height_m=np.full(columns.size, gear.pulley_height_m),
    )


def _parted(gear: WeightedLine | FlatLine, columns: Columns, q: Array, shifts: Shifts) -> Tow:
    def of_parts(values: list[float]) -> Array:
        return np.array(values)[:, None]

    parts = gear.parts
    normal = [
        p.diameter_mm / 1000.0 * (gear.normal_drag if p.normal_drag is None else p.normal_drag)
        for p in parts
    ]
    along = [
        p.diameter_mm
        / 1000.0
        * (gear.tangential_drag if p.tangential_drag is None else p.tangential_drag)
        for p in parts
    ]
    heavier = np.exp(shifts.get("line_weight", 0.0))
    lump_drag = q * of_parts([p.lump_drag_area_m2 for p in parts])
    lump_weight = of_parts([p.lump_weight_n for p in parts]) * heavier
    tow = _tow(
        columns,
        astern=q * gear.lure_drag_area_m2 * np.exp(shifts.get("end_drag", 0.0)),
        down=gear.lure_weight_n * np.exp(shifts.get("end_weight", 0.0)),
        normal=q * of_parts(normal) * np.exp(shifts.get("line_drag", 0.0)),
        tangential=q * np.pi * of_parts(along),
        weight=of_parts([p.weight_n_per_m for p in parts]) * heavier,
    )
    return replace(
        tow,
        top_m=np.cumsum(part_lengths(parts, columns), axis=0),
        lump_n=np.stack(np.broadcast_arrays(lump_drag, lump_weight)),
    )


def _tow(
    columns: Columns,
    *,
    astern: Array,
    down: Array | float,
    normal: Array,
    tangential: Array,
    weight: Array | float,
    side: Array | float = 0.0,
) -> Tow:
    """Spread loads over rows and parts; one open part and no lumps unless replaced."""
    n = columns.size
    parts = np.atleast_2d(normal).shape[0]
    return Tow(
        end_n=np.array([np.broadcast_to(force, n) for force in (astern, side, down)]),
        normal_n_per_m=np.broadcast_to(normal, (parts, n)),
        tangential_n_per_m=np.broadcast_to(tangential, (parts, n)),
        weight_n_per_m=np.broadcast_to(weight, (parts, n)),
        top_m=np.full((parts, n), np.inf),
        lump_n=np.zeros((2, parts, n)),
        line_out_m=columns.line_out_m,
        height_m=columns.tip_height_m,
    )


def tow_of(gear: Gear, columns: Columns, water: Water, shifts: Shifts = NO_SHIFTS) -> Tow:
    """Return the loads on each row's line.

    Parameters
    ----------
    gear, columns, water
        What is towed, how, and in what.
    shifts
        Departures from the gear's own parameters, arrays of one value a row: `pull_angle` and
        `roll` in radians, the others (`line_drag`, `line_weight`, `end_drag`, `end_weight`) as
        natural logarithms of a factor.
    """
    q = 0.5 * water.density_kg_m3 * columns.speed_mps**2
    if isinstance(gear, Diver):
        return _diver(gear, columns, q, shifts)
    if isinstance(gear, Rigger):
        return _rigger(gear, columns, q, water, shifts)
    return _parted(gear, columns, q, shifts)


def run(gear: Gear, columns: Columns, water: Water, shifts: Shifts = NO_SHIFTS) -> Towed:
    """Return where rows that `refusals` let pass run, block by block."""
    blocks = []
    for first in range(0, columns.size, BLOCK):
        rows = np.arange(first, min(first + BLOCK, columns.size))
        block = {name: values[rows] for name, values in shifts.items()}
        tow = tow_of(gear, columns.take(rows), water, block)
        blocks.append(tow_weightless(tow) if serves(tow) else tow_lines(tow))
    names = Towed.__dataclass_fields__
    if not blocks:
        return Towed(**dict.fromkeys(names, np.empty(0)))
    return Towed(
        **{name: np.concatenate([getattr(block, name) for block in blocks]) for name in names}
    )


def solve(
    gear: Gear,
    *,
    setting: ArrayLike = np.nan,
    line_out_m: ArrayLike,
    speed_mps: ArrayLike,
    tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
    lead_m: ArrayLike = np.nan,
    leader_length_m: ArrayLike = np.nan,
    water: Water = FRESH_WATER,
) -> Solution:
    """Return where lines run: the whole model of `towline`, for every kind of gear.

    A diver on weightless line takes the fast form of `closed`: the textbook closed form where
    `tangential_drag` is 0, and the same with the tension's growth along the line where it is
    not (it adds 0.2 % of depth at 30 m out with the defaults, 1.5 % at 120 m). Any other line
    is integrated, each distinct row once.

    Parameters
    ----------
    gear
        What is towed.
    setting
        Dial setting of a diver; other gear ignores it.
    line_out_m
        Line from the rod tip to the diver or lure; cable on a rigger's counter.
    speed_mps
        Speed through the water.
    tip_height_m
        Height of the rod tip; a rigger uses its pulley's.
    lead_m
        Line from a rigger's ball to the lure: it trails level behind and moves nothing, so it
        only takes part in the shape of the answer.
    leader_length_m
        Replaces the length of the part named leader of a weighted or flat line; a diver's
        leader trails behind it like a lead.
    water
        The water's density.

    Returns
    -------
    Solution
        In the columns' broadcast shape; NaN always with a reason. Relative error of depth,
        lateral and setback below 1e-5 for speeds of 0.5-2.0 m/s and line-outs of 5-120 m.

    Examples
    --------
    100 ft out at 1.1 m/s on settings 0 to 3, in feet:

    >>> out = solve(Diver(), setting=[0, 1, 2, 3], line_out_m=30.48, speed_mps=1.1)
    >>> (out.depth_m / 0.3048).round(1)
    array([53.8, 50.3, 41.8, 36.2])
    >>> solve(Diver(), setting=4, line_out_m=30.48, speed_mps=1.1).reason.item()
    'setting 4 is off the dial (0 to 3)'
    """
    given = (setting, line_out_m, speed_mps, tip_height_m, leader_length_m)
    shape = np.broadcast_shapes(*(np.shape(column) for column in (*given, lead_m)))
    columns = Columns.of(
        setting=np.broadcast_to(setting, shape),
        line_out_m=line_out_m,
        speed_mps=speed_mps,
        tip_height_m=tip_height_m,
        leader_length_m=leader_length_m,
    )
    out = solve_columns(gear, columns.for_gear(gear), water)
    return Solution(**{name: value.reshape(shape) for name, value in vars(out).items()})


def solve_columns(
    gear: Gear, columns: Columns, water: Water = FRESH_WATER, shifts: Shifts = NO_SHIFTS
) -> Solution:
    """Return where lines run, as `solve`, for prepared columns and shifted parameters."""
    reason = refusals(gear, columns)
    rows = np.flatnonzero(reason == "")
    good = columns.take(rows)
    place = np.arange(rows.size)
    shifts = {name: value[rows] for name, value in shifts.items()}
    if not _quick(gear):
        first, place = good.distinct(*shifts.values())
        good = good.take(first)
        shifts = {name: value[first] for name, value in shifts.items()}
    towed = run(gear, good, water, shifts)
    out = {name: np.full(columns.size, np.nan) for name in Towed.__dataclass_fields__}
    for name, values in out.items():
        values[rows] = getattr(towed, name)[place]
    lost = rows[~(out["depth_m"][rows] > 0.0)]
    for values in out.values():
        values[lost] = np.nan
    reason[lost] = _why_not(gear, columns.take(lost), water)
    out["line_pull_n"] = out.pop("pull_n")
    return Solution(reason=reason, **out)


def _quick(gear: Gear) -> bool:
    """Tell whether solving a row costs less than finding out whether it is distinct."""
    return isinstance(gear, Diver) and gear.line_weight_n_per_m == 0.0


def _why_not(gear: Gear, columns: Columns, water: Water) -> Texts:
    """Say why lines do not run below the surface.

    A line is too short where even straight, with all its weight at its end, it would not come
    down from the rod tip to the water; else it is its drag that lifts it out.
    """
    tow = tow_of(gear, columns, water)
    reached = tow.top_m < tow.line_out_m
    down = tow.end_n[2] + np.sum(tow.lump_n[1] * reached, axis=0)
    astern = tow.end_n[0] + np.sum(tow.lump_n[0] * reached, axis=0)
    sinks = (down > 0.0) | np.any(tow.weight_n_per_m > 0.0, axis=0)
    lengths = np.diff(np.minimum(tow.top_m, tow.line_out_m), axis=0, prepend=0.0)
    down = down + np.sum(tow.weight_n_per_m * lengths, axis=0)
    fall = down / np.sqrt(astern**2 + tow.end_n[1] ** 2 + down**2)
    short = tow.line_out_m * fall <= tow.height_m
    reason: Texts = np.select(
        [~sinks, short],
        [
            "nothing keeps the line in the water: no weight, or too slow for the disc to dive",
            "line too short to reach the water",
        ],
        "too fast for this much line: its drag lifts all of it out of the water",
    ).astype(object)
    return reason
