"""Owns the way from a gear and a log's columns to where its lines run."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from analysis.depth.closed_form import serves, tow_weightless
from analysis.depth.columns import Columns, Texts, refusals
from analysis.depth.kinds import Gear
from analysis.depth.kinds.protocol import NO_SHIFTS, Shifts
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.lures import Lure
from analysis.depth.march import Array, Rows, Tow
from analysis.depth.streams import Way, tow_unevenly
from analysis.depth.towline import TOWED, Towed, nowhere, tow_lines
from analysis.depth.water import FRESH_WATER, Water

_PER_ROW = ("depth_m", "lateral_m", "setback_m", "pull_n", "wetted_m")
BLOCK = 4096  # rows solved together: small enough to stay in the processor's cache


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Where lines run, in the shape of the columns asked with.

    Attributes
    ----------
    depth_m
        Depth of the lure below the surface; of the diver or ball that it trails level behind.
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


def tow_of(gear: Gear, columns: Columns, water: Water, shifts: Shifts = NO_SHIFTS) -> Tow:
    """Return the loads on each row's line.

    Parameters
    ----------
    gear, columns, water
        What is towed, how, and in what.
    shifts
        Departures from the gear's own parameters.
    """
    return gear.tow(columns, water, shifts)


def _solved(tow: Tow) -> Towed:
    """Solve lines in the form that serves them."""
    return tow_weightless(tow) if serves(tow) else tow_lines(tow)


def run(gear: Gear, columns: Columns, water: Water, shifts: Shifts = NO_SHIFTS) -> Towed:
    """Return where rows that `refusals` let pass run, block by block."""
    blocks = []
    for first in range(0, columns.size, BLOCK):
        rows = np.arange(first, min(first + BLOCK, columns.size))
        block = {name: values[rows] for name, values in shifts.items()}
        blocks.append(_run(gear, columns.take(rows), water, block))
    if not blocks:
        return Towed(**nowhere(0))
    return Towed(
        **{name: np.concatenate([getattr(b, name) for b in blocks], axis=-1) for name in TOWED}
    )


def _run(gear: Gear, columns: Columns, water: Water, shifts: Shifts) -> Towed:
    """Solve a block of rows: first as if all ran straight ahead in even water."""
    out = gear.held(_solved(tow_of(gear, columns, water, shifts)), columns, water, shifts)
    rows = np.flatnonzero(columns.uneven)
    if rows.size:
        few, straight = columns.take(rows), out.take(rows)
        moved = {name: values[rows] for name, values in shifts.items()}

        def tow(ends: Columns, of: Rows) -> Tow:
            return tow_of(gear, ends, water, {name: value[of] for name, value in moved.items()})

        way = Way.of(few, straight, gear.place.tip_y_m)
        at_top = replace(few, speed_mps=way.top * few.speed_mps)
        uneven = gear.held(tow_unevenly(few, way, tow, straight), at_top, water, moved)
        for name in TOWED:
            getattr(out, name)[..., rows] = getattr(uneven, name)
    return out


def solve(
    gear: Gear,
    *,
    setting: ArrayLike = np.nan,
    line_out_m: ArrayLike,
    speed_mps: ArrayLike,
    tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
    lead_m: ArrayLike = np.nan,
    leader_length_m: ArrayLike = np.nan,
    lure: Lure | None = None,
    turn_rad_s: ArrayLike = np.nan,
    shear_per_s: ArrayLike = 0.0,
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
        Line from a rigger's ball to the lure: it trails level behind and moves nothing, unless
        the lure dives.
    leader_length_m
        Replaces the length of the part named leader of a weighted or flat line; a diver's
        leader trails behind it like a lead.
    lure
        A lure that dives; none unless given.
    turn_rad_s
        How fast the boat turns, positive toward the side that the rod fishes; straight
        ahead unless given.
    shear_per_s
        By how many m/s a metre deeper the water streams faster past the boat.
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

    >>> from analysis.depth.kinds import Diver
    >>> out = solve(Diver(), setting=[0, 1, 2, 3], line_out_m=30.48, speed_mps=1.1)
    >>> (out.depth_m / 0.3048).round(1)
    array([53.8, 50.3, 41.8, 36.2])
    >>> solve(Diver(), setting=4, line_out_m=30.48, speed_mps=1.1).reason.item()
    'setting 4 is off the dial (0 to 3)'
    """
    given = [setting, line_out_m, speed_mps, tip_height_m, leader_length_m, lead_m]
    given += [turn_rad_s, shear_per_s]
    shape = np.broadcast_shapes(*(np.shape(column) for column in given))
    columns = Columns.of(
        setting=np.broadcast_to(setting, shape),
        line_out_m=line_out_m,
        speed_mps=speed_mps,
        tip_height_m=tip_height_m,
        leader_length_m=leader_length_m,
        lead_m=lead_m,
        turn_rad_s=turn_rad_s,
        shear_per_s=shear_per_s,
        **(lure.columns if lure else {}),
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
    if not gear.closed or np.any(good.uneven):
        first, place = good.distinct(*shifts.values())
        good = good.take(first)
        shifts = {name: value[first] for name, value in shifts.items()}
    towed = run(gear, good, water, shifts)
    out = {name: np.full(columns.size, np.nan) for name in _PER_ROW}
    for name, values in out.items():
        values[rows] = getattr(towed, name)[place]
    lost = rows[~(out["depth_m"][rows] > 0.0)]
    for values in out.values():
        values[lost] = np.nan
    reason[lost] = _why_not(gear, columns.take(lost), water)
    out["line_pull_n"] = out.pop("pull_n")
    return Solution(reason=reason, **out)


def _why_not(gear: Gear, columns: Columns, water: Water) -> Texts:
    """Say why lines do not run below the surface.

    A line is too short where even straight, with all its weight at its end, it would not come
    down from the rod tip to the water; else it is its drag that lifts it out.
    """
    tow = tow_of(gear, columns, water)
    reached = tow.top_m < tow.line_out_m
    astern, side, down = tow.end_n + np.sum(tow.lump_n * reached, axis=1)
    tight = np.zeros(columns.size, dtype=bool)
    if np.any(np.nan_to_num(columns.turn_rad_s)):
        straight = columns.without("turn_rad_s")
        tight = solve_columns(gear, straight, water).reason == ""
    alone = _solved(tow).depth_m > 0.0 if gear.why_lost else np.zeros(columns.size, dtype=bool)
    sinks = (down > 0.0) | np.any(tow.weight_n_per_m > 0.0, axis=0)
    lengths = np.diff(np.minimum(tow.top_m, tow.line_out_m), axis=0, prepend=0.0)
    down = down + np.sum(tow.weight_n_per_m * lengths, axis=0)
    fall = down / np.sqrt(astern**2 + side**2 + down**2)
    short = tow.line_out_m * fall <= tow.height_m
    reason: Texts = np.select(
        [tight, alone, ~sinks & columns.described, ~sinks, short],
        [
            "the boat turns too tightly for this much line to go round with it",
            gear.why_lost,
            "the lure floats: at this speed its lift does not hold it and its line down",
            "nothing keeps the line in the water: no weight, or too slow for the disc to dive",
            "line too short to reach the water",
        ],
        "too fast for this much line: its drag lifts all of it out of the water",
    ).astype(object)
    return reason
