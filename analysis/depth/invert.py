"""Owns the model turned round: what line-out puts a lure at a wanted depth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import elementwise

from analysis.depth.columns import Columns, Texts
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.march import Array
from analysis.depth.slopes import line_out_slope
from analysis.depth.uncertainty import GearBelief

LONGEST_LINE_OUT_M = 150.0
SIDES = ("port", "starboard")


@dataclass(frozen=True, kw_only=True)
class Reached:
    """Line-out for wanted depths, in the shape asked with.

    Attributes
    ----------
    line_out_m
        What to let out; NaN where the depth cannot be reached.
    lateral_m, setback_m
        Where it runs then.
    reason
        Why there is no answer, such as 'cannot reach ...'; empty text where there is one.
    """

    line_out_m: Array
    lateral_m: Array
    setback_m: Array
    reason: Texts


@dataclass(frozen=True, kw_only=True)
class LineOut(Reached):
    """The same with how well it is known.

    Attributes
    ----------
    line_out_sd_m
        How far the right line-out may lie from it.
    depth_sd_m
        How far the lure may lie from the wanted depth.
    """

    line_out_sd_m: Array
    depth_sd_m: Array


def line_out_for(
    belief: GearBelief,
    *,
    depth_m: ArrayLike,
    speed_mps: ArrayLike,
    setting: ArrayLike = np.nan,
    tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
    leader_length_m: ArrayLike = np.nan,
    longest_m: float = LONGEST_LINE_OUT_M,
    rig: Mapping[str, float] | None = None,
) -> LineOut:
    """Return the line-out that puts a lure at a wanted depth.

    Parameters
    ----------
    belief
        The gear, calibrated or not.
    depth_m
        Wanted depth.
    speed_mps, setting, tip_height_m, leader_length_m
        As `analysis.depth.solve` takes them.
    longest_m
        The most line there is to let out.
    rig
        What columns say of a lure that dives; none unless given.

    Returns
    -------
    LineOut
        Solving with it gives the wanted depth within 1e-6 of it.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> out = line_out_for(believe(Diver()), depth_m=[12, 80], speed_mps=1.1, setting=1)
    >>> out.line_out_m.round(1)
    array([22.8,   nan])
    >>> out.reason[1]
    'cannot reach 80 m: 150 m out runs 42.0 m deep'
    """
    given = (setting, depth_m, speed_mps, tip_height_m, leader_length_m)
    reached, columns = _reach(belief, given, longest_m, rig or {})
    doubted = belief.predict_columns(columns)
    rows = np.flatnonzero(np.ravel(reached.reason) == "")
    slope = np.full(columns.size, np.nan)
    slope[rows] = line_out_slope(belief.gear, columns.take(rows), belief.water, belief.mean)
    off = doubted.depth_sd_m / doubted.depth_m * columns.line_out_m / slope
    depth_sd = np.where(np.isnan(slope), np.nan, doubted.depth_sd_m)
    shape = reached.reason.shape
    return LineOut(
        **vars(reached), line_out_sd_m=off.reshape(shape), depth_sd_m=depth_sd.reshape(shape)
    )


def line_out_to(
    belief: GearBelief,
    *,
    depth_m: ArrayLike,
    speed_mps: ArrayLike,
    setting: ArrayLike = np.nan,
    tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
    leader_length_m: ArrayLike = np.nan,
    longest_m: float = LONGEST_LINE_OUT_M,
    rig: Mapping[str, float] | None = None,
) -> Reached:
    """Return the line-out that puts a lure at a wanted depth, as `line_out_for`, without doubt."""
    given = (setting, depth_m, speed_mps, tip_height_m, leader_length_m)
    return _reach(belief, given, longest_m, rig or {})[0]


def _reach(
    belief: GearBelief,
    given: tuple[ArrayLike, ...],
    longest_m: float,
    rig: Mapping[str, float],
) -> tuple[Reached, Columns]:
    """Find the line-outs, and return the rows with them let out.

    `given` are setting, wanted depth, speed, height of the rod tip and leader.
    """
    shape = np.broadcast_shapes(*map(np.shape, given))
    names = ("setting", "line_out_m", "speed_mps", "tip_height_m", "leader_length_m")
    spread = (np.broadcast_to(column, shape) for column in given)
    told: dict[str, ArrayLike] = {**dict(zip(names, spread, strict=True)), **rig}
    asked = Columns.of(**told)
    wanted = asked.line_out_m.copy()
    most = np.full(wanted.size, belief.gear.longest_m(longest_m))
    columns = replace(asked, line_out_m=most).for_gear(belief.gear)
    deepest = belief.solve(columns)
    reason = deepest.reason.copy()
    for row in np.flatnonzero((reason == "") & ~(wanted > 0.0)):
        reason[row] = f"a wanted depth of {wanted[row]:g} m; it must be above 0"
    for row in np.flatnonzero((reason == "") & (deepest.depth_m < wanted)):
        reason[row] = (
            f"cannot reach {wanted[row]:g} m: {most[row]:g} m out "
            f"runs {deepest.depth_m[row]:.1f} m deep"
        )
    rows = np.flatnonzero(reason == "")
    line_out = np.full(wanted.size, np.nan)
    line_out[rows] = _search(belief, columns.take(rows), wanted[rows])
    columns = replace(columns, line_out_m=line_out)
    out = belief.solve(columns)
    missed = rows[~(np.abs(out.depth_m[rows] / wanted[rows] - 1.0) < 1e-6)]
    for row in missed:
        reason[row] = f"cannot run as shallow as {wanted[row]:g} m: it leaves the water before"
    answered = np.where(reason == "", 1.0, np.nan)
    values = {
        "line_out_m": line_out * answered,
        "lateral_m": out.lateral_m * answered,
        "setback_m": out.setback_m * answered,
    }
    reached = Reached(
        reason=reason.reshape(shape), **{name: v.reshape(shape) for name, v in values.items()}
    )
    return reached, columns


def _search(belief: GearBelief, columns: Columns, wanted: Array) -> Array:
    """Return the line-out between nothing and the columns' own that runs as wanted."""
    if not columns.size:
        return np.empty(0)

    def short_by(line_out: Array, row: Array) -> Array:
        rows = row.astype(np.intp)
        tried = replace(columns.take(rows), line_out_m=line_out)
        # A line too short to reach the water runs at depth 0.
        return np.nan_to_num(belief.solve(tried).depth_m) - wanted[rows]

    rows = np.arange(columns.size)
    root = elementwise.find_root(
        short_by,
        (np.full(columns.size, 1e-3), columns.line_out_m),
        args=(rows.astype(float),),
        tolerances={"xatol": 0.0, "xrtol": 1e-9, "fatol": 0.0, "frtol": 1e-9},
    )
    return np.asarray(root.x)


@dataclass(frozen=True, kw_only=True)
class EqualDepth:
    """One row of the equal-depth table.

    Attributes
    ----------
    gear, setting, side
        The line; `setting` is None for gear without a dial.
    line_out_m, line_out_sd_m
        What to let out, None where the depth cannot be reached.
    depth_m, depth_sd_m
        The wanted depth, and how far the lure may lie from it.
    lateral_m
        Distance sideways of the rod tip, negative to port.
    setback_m
        Distance astern of the rod tip.
    reason
        Why there is no answer, else empty.
    """

    gear: str
    setting: float | None
    side: str
    line_out_m: float
    line_out_sd_m: float
    depth_m: float
    depth_sd_m: float
    lateral_m: float
    setback_m: float
    reason: str


def equal_depth_table(
    beliefs: Mapping[str, GearBelief],
    *,
    depth_m: float,
    speed_mps: float,
    tip_height_m: float = DEFAULT_TIP_HEIGHT_M,
    longest_m: float = LONGEST_LINE_OUT_M,
    dials: Mapping[str, Sequence[float]] | None = None,
    rig: Mapping[str, float] | None = None,
) -> tuple[EqualDepth, ...]:
    """Return the line-out of every gear and dial setting for one wanted depth.

    Parameters
    ----------
    beliefs
        The boat's gears by name.
    depth_m, speed_mps, tip_height_m, longest_m, rig
        As `line_out_for` takes them.
    dials
        Gear name to the settings to ask for; the marks of its dial unless given.

    Returns
    -------
    tuple of EqualDepth
        By gear and setting, port before starboard.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> table = equal_depth_table({"diver": believe(Diver())}, depth_m=12.0, speed_mps=1.1)
    >>> [(row.setting, round(row.line_out_m, 1)) for row in table if row.side == "port"]
    [(0.0, 21.1), (1.0, 22.8), (2.0, 28.4), (3.0, 33.8)]
    """
    table = []
    for name, belief in beliefs.items():
        dial = (dials or {}).get(name) or belief.gear.dial or (np.nan,)
        out = line_out_for(
            belief,
            setting=dial,
            depth_m=depth_m,
            speed_mps=speed_mps,
            tip_height_m=tip_height_m,
            longest_m=longest_m,
            rig=rig,
        )
        for place, setting in enumerate(dial):
            for side in SIDES:
                sign = -1.0 if side == "port" else 1.0
                table.append(
                    EqualDepth(
                        gear=name,
                        setting=None if np.isnan(setting) else float(setting),
                        side=side,
                        line_out_m=float(out.line_out_m[place]),
                        line_out_sd_m=float(out.line_out_sd_m[place]),
                        depth_m=depth_m,
                        depth_sd_m=float(out.depth_sd_m[place]),
                        lateral_m=sign * float(out.lateral_m[place]),
                        setback_m=float(out.setback_m[place]),
                        reason=str(out.reason[place]),
                    )
                )
    return tuple(table)
