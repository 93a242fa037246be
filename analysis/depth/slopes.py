"""Owns how log depth answers to what is uncertain: parameters, counter, speed, water and lure."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds import Gear
from analysis.depth.march import Array, Rows
from analysis.depth.model import solve_columns
from analysis.depth.priors import shifts_at
from analysis.depth.water import Water

_STEP = 0.03  # of log line-out and log speed, for slopes
WIDEST_SD = 0.7  # of log depth: wrong by a factor of two


@dataclass(frozen=True, kw_only=True)
class SetErrors:
    """What varies from set to set.

    Attributes
    ----------
    counter_sd
        Of a line counter, as a share: 2-3 % (common practice, no source).
    speed_sd_mps
        Of a speed through the water: reading and drift within a set (from memory).
    current_sd_mps
        Of the current along the boat's track, 0.1-0.2 m/s, where only the speed over ground is
        logged (from memory).
    turn_radius_m
        Root mean square of 1 / radius, over, of a boat whose heading is not logged: straight ahead
        half of the time, round turns of 60-100 m the other half (common practice, no source).
    shear_sd_per_s
        Of the speed at which water streams past the boat, by depth: 0.1 m/s over 10 m along its
        track, as often faster as slower (from memory). All rods of a day share it; from day to
        day, and as the boat turns about, it changes, so that strikes of other days tell nothing of
        it.
    """

    counter_sd: float = 0.025
    speed_sd_mps: float = 0.05
    current_sd_mps: float = 0.15
    turn_radius_m: float = 113.0
    shear_sd_per_s: float = 0.01


@dataclass(frozen=True, kw_only=True)
class Slopes:
    """How log depth answers on each row.

    Attributes
    ----------
    shared : (rows, k)
        To a step along each direction of the parameters.
    bend : (rows, k)
        Its second difference there.
    line_out, speed : (rows,)
        To log line-out and log speed.
    lure : (rows,)
        To one sd of the lift of the row's lure; 0 where none is described.
    shear : (rows,)
        To one sd of the water's shear; 0 for gear in closed form, a diver on thin line, whose depth
        shear and turns move by some 2 % on 30 m of line, turns by a tenth on 60 m.
    turning : (rows,)
        Its root mean square where the boat may turn either way; 0 where its turn is known, and for
        gear in closed form.
    """

    shared: Array
    bend: Array
    line_out: Array
    speed: Array
    lure: Array
    shear: Array
    turning: Array

    @property
    def own(self) -> Array:
        """Sd of log depth that a set has of its own, of slopes times the sd of their errors."""
        own = self.line_out**2 + self.speed**2 + self.shear**2 + self.turning**2
        return np.asarray(np.sqrt(own))

    def take(self, rows: Rows) -> Slopes:
        """Return the chosen rows."""
        return Slopes(**{name: value[rows] for name, value in vars(self).items()})


def log_depth(gear: Gear, columns: Columns, water: Water, values: Array) -> Array:
    """Return log depth for parameter values, (p,) or (p, rows); NaN where unsolved."""
    shifts = shifts_at(gear, columns, values)
    return np.asarray(np.log(solve_columns(gear, columns, water, shifts).depth_m))


def _slope(up: Array, down: Array, middle: Array, step: Array | float) -> Array:
    """Return a slope from both sides, or from the side that has a solution; else 0."""
    both = (up - down) / (2.0 * step)
    one = np.where(np.isnan(up), middle - down, up - middle) / step
    slope = np.where(np.isnan(both), one, both)
    return np.where(np.isnan(slope), 0.0, slope)


def line_out_slope(gear: Gear, columns: Columns, water: Water, values: Array) -> Array:
    """Return how log depth answers to log line-out alone (rows,), as `slopes_of` has it."""
    steps = np.repeat(np.exp([0.0, _STEP, -_STEP]), columns.size)
    three = columns.take(np.tile(np.arange(columns.size), 3))
    three = replace(three, line_out_m=three.line_out_m * steps)
    middle, up, down = log_depth(gear, three, water, values).reshape(3, columns.size)
    return _slope(up, down, middle, _STEP)


def _root_mean_square(turns: Array) -> Array:
    """Return it over both ways to turn; a line that cannot go round may run anywhere."""
    return np.asarray(np.sqrt(np.mean(np.nan_to_num(turns, nan=WIDEST_SD) ** 2, axis=0)))


def slopes_of(
    gear: Gear,
    columns: Columns,
    water: Water,
    values: Array,
    directions: Array | None = None,
    errors: SetErrors | None = None,
) -> Slopes:
    """Return how log depth answers about parameter values (p,), by differences.

    Parameters
    ----------
    gear, columns, water, values
        As `log_depth` takes them.
    directions : (p, k), optional
        Steps of the parameters, each a column. All variants are solved together.
    errors
        How far water is sheared and boats turn; the defaults unless given.
    """
    errors = errors or SetErrors()
    steps = np.zeros((values.size, 0)) if directions is None else directions
    count = steps.shape[1]
    # Rows of `moves` are variants: as it is, each step up, each down, then line-out, speed and,
    # where they matter, the lift of the lure, shear and turns.
    lures, streams = 2 * bool(np.any(columns.described)), 2 * (not gear.closed)
    own = np.zeros((4 + lures + 2 * streams, values.size))
    moves = np.vstack([np.zeros((1, values.size)), steps.T, -steps.T, own])
    size = np.zeros((5, len(moves)))
    first = 1 + 2 * count
    size[0, first : first + 2] = _STEP, -_STEP
    size[1, first + 2 : first + 4] = _STEP, -_STEP
    sheared_from = first + 4 + lures
    size[2, first + 4 : sheared_from] = (1.0, -1.0)[:lures]
    size[3, sheared_from : sheared_from + streams] = (1.0, -1.0)[:streams]
    size[4, sheared_from + streams :] = (1.0, -1.0)[:streams]
    many = columns.take(np.tile(np.arange(columns.size), len(moves)))
    longer, faster, diving, sheared, turning = np.repeat(size, columns.size, axis=1)
    rate = turning * many.speed_mps / errors.turn_radius_m
    many = replace(
        many,
        line_out_m=many.line_out_m * np.exp(longer),
        speed_mps=many.speed_mps * np.exp(faster),
        shear_per_s=many.shear_per_s + sheared * errors.shear_sd_per_s,
        turn_rad_s=np.where(np.isnan(many.turn_rad_s) & (turning != 0.0), rate, many.turn_rad_s),
        lure_lift_area_m2=many.lure_lift_area_m2 * np.exp(diving * many.lure_doubt),
    )
    every = np.repeat((values + moves).T, columns.size, axis=1)
    logs = log_depth(gear, many, water, every).reshape(len(moves), columns.size)
    middle, up, down = logs[0], logs[1 : 1 + count], logs[1 + count : first]
    moved = logs[first:]
    none = np.zeros(columns.size)
    shear, turns = moved[4 + lures :][:streams], moved[4 + lures + streams :] - middle
    return Slopes(
        shared=_slope(up, down, middle, 1.0).T,
        bend=np.nan_to_num(up + down - 2.0 * middle).T,
        line_out=_slope(moved[0], moved[1], middle, _STEP),
        speed=_slope(moved[2], moved[3], middle, _STEP),
        lure=_slope(moved[4], moved[5], middle, 1.0) if lures else none,
        shear=_slope(shear[0], shear[1], middle, 1.0) if streams else none,
        turning=_root_mean_square(turns) if streams else none,
    )
