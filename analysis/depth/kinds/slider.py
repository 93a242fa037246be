"""Owns the free slider: a second lure whose snap slides on the line from a rigger's ball.

The fishing line runs apart from the cable, from its clip at the ball to the rod tip, held by the
pull of the bent rod. It is thin and as heavy as water, so its tension T is the same all along; with
u = cot(theta) of its slope toward the boat and k = q d Cn / T it runs as any weightless line,

    k y = asinh(u) - asinh(u0),     k x = sqrt(1 + u^2) - sqrt(1 + u0^2).

The lure pulls on its snap with F, and the line bends there until T (t_low - t_up) = F: without
friction the snap settles where the line is square to F on average, for a lure without weight where
it stands upright, near the middle of its bow. A line that bows too little lets it down to the ball.
The line's pull lifts the ball, which moves the line's lower end: both are solved in turns.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import ClassVar

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.fields import area, number
from analysis.depth.kinds.loads import (
    Leader,
    dynamic_pressure,
    lure_behind,
    lure_force,
    refuse_tips,
)
from analysis.depth.kinds.protocol import Parameter, Place, Refusal, Shifts
from analysis.depth.kinds.rigger import Rigger
from analysis.depth.march import Array, Tow
from analysis.depth.towline import tow_lines
from analysis.depth.water import FRESH_WATER, Water
from analysis.errors import GearError, toml_key

_TURNS = 60
_SETTLED = 1e-6  # of the forces on the ball
_PULL = "40 %: nobody measures how hard a bent rod pulls, from memory"
_LURE = "50 %: lures differ that much, from memory"


@dataclass(frozen=True, kw_only=True)
class Slider(Rigger):
    """A second lure that slides freely on a rigger's fishing line, above the ball.

    All keys of a rigger hold: they are of the ball, its cable and the lure at the ball. The line is
    taken to start from straight above the pulley.
    """

    kind: ClassVar[str] = "free slider"
    example: ClassVar[str] = (
        '[gear.slider]\nkind = "free slider"\nball_weight = "10 lb"\nline = "20 lb mono"\n'
        "rod_pull_n = 5.0\n"
    )
    place: ClassVar[Place] = Place(order=1, tip_y_m=1.2, built_in=True, trail="leader_length_m")
    name: str = "free slider"
    rod_pull_n: float = number(0.0, 200.0, "N", "pull of the bent rod on the line", 5.0, zero=False)
    slider_drag_area_m2: float = area("drag area of the sliding lure and its leader", 0.0004)
    slider_weight_n: float = number(-5.0, 50.0, "N", "weight in water of the sliding lure", 0.05)

    def __post_init__(self) -> None:
        """Check ranges, and that the fishing line is there and alone."""
        super().__post_init__()
        where = toml_key("gear", self.name)
        if self.clips_m != (0.0,):
            raise GearError(
                problem="a lure that slides down to other clips",
                key=f"{where}.clips_m",
                remedy="leave it out: the line of a free slider is clipped on at the ball alone",
            )
        if self.clipped_line_diameter_mm == 0.0:
            raise GearError(
                problem="there is no line to slide on",
                key=f"{where}.clipped_line_diameter_mm",
                remedy='give the fishing line, such as line = "20 lb mono"',
            )

    def relevant(self, columns: Columns) -> Columns:
        """Blank the dial and the lead; a leader matters to a lure that dives."""
        columns = columns.without("setting", "lead_m")
        return columns.without("leader_length_m", where=~columns.described)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a lure that the rod's pull cannot hold on the line."""
        yield from refuse_tips(columns)
        force, _ = self._lure(columns, dynamic_pressure(columns, FRESH_WATER.density_kg_m3), {})
        text = f"the rod pulls with {self.rod_pull_n:g} N, too little to hold a sliding lure that "
        yield Refusal(
            np.maximum(*_turn(force, self.rod_pull_n)) >= np.pi / 2.0,
            text + "pulls with {:.1f} N",
            np.hypot(force[0], force[2]),
        )

    def _lure(self, columns: Columns, q: Array, shifts: Shifts) -> tuple[Array, Array]:
        """Return how the sliding lure pulls on its snap, and where it is from there."""
        leader = Leader(
            length_m=np.where(np.isnan(columns.leader_length_m), 1.5, columns.leader_length_m),
            diameter_mm=self.clipped_line_diameter_mm,
            normal_drag=self.clipped_normal_drag,
            tangential_drag=self.clipped_tangential_drag,
        )
        pull, place = lure_behind(columns, q, leader)
        own = lure_force(columns, q, self.slider_drag_area_m2, self.slider_weight_n)
        own = own * np.exp(shifts.get("slider_drag", 0.0))
        return np.where(columns.described, pull, own), place

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the loads of cable and lifted ball, and where the lure slides to."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        plain = columns.without(
            "lure_lift_area_m2", "lure_drag_area_m2", "lure_weight_n", "lure_doubt"
        )
        cable = _bare(self).tow(plain, water, shifts)
        force, hangs = self._lure(columns, q, shifts)
        tension = self.rod_pull_n * np.exp(shifts.get("rod_pull", np.zeros(columns.size)))
        line_m = self.clipped_line_diameter_mm / 1000.0
        load = q * line_m * self.clipped_normal_drag * np.exp(shifts.get("line_drag", 0.0))
        line = _Line(
            k=load / tension,
            tension_n=tension,
            turn=_turn(force, tension),
            force_n=force,
            height_m=columns.tip_height_m,
        )
        pull, snap = np.zeros((3, columns.size)), np.zeros((3, columns.size))
        for _ in range(_TURNS):
            ball = tow_lines(replace(cable, end_n=cable.end_n + pull))
            before = pull
            pull, snap = line.settle(ball.setback_m, ball.depth_m)
            moved = np.nanmax(np.abs(pull - before) / tension, initial=0.0)
            if not moved > _SETTLED:
                break
        return replace(cable, end_n=cable.end_n + np.nan_to_num(pull), trail_m=snap + hangs)

    def parameters(self) -> tuple[Parameter, ...]:
        """Return those of a rigger, the pull of the rod and the drag of the sliding lure."""
        return (
            *super().parameters(),
            Parameter(name="rod_pull", sd=0.40, source=_PULL),
            Parameter(name="slider_drag", sd=0.50, source=_LURE),
        )

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the rod tip's, from which the line runs that the lure slides on."""
        return tip_height_m


def _bare(slider: Slider) -> Rigger:
    """Return the rigger without a line along its cable."""
    keys = {name: getattr(slider, name) for name in (spec.name for spec in fields(Rigger))}
    return Rigger(**{**keys, "clipped_line_diameter_mm": 0.0})


def _turn(force_n: Array, tension_n: Array | float) -> tuple[Array, Array]:
    """Return the slopes below and above the snap as angles from upright, astern going up positive.

    The lower line leans astern by phi + delta, the upper one toward the boat by delta - phi, with
    phi how far below level the lure pulls and sin(delta) = F / 2T. Where the line cannot hold it
    the first is a right angle or more.
    """
    size = np.hypot(force_n[0], force_n[2])
    phi = np.arctan2(force_n[2], force_n[0])
    delta = np.arcsin(np.minimum(size / (2.0 * tension_n), 1.0))
    return np.asarray(delta - phi), np.asarray(phi + delta)


@dataclass(frozen=True, kw_only=True)
class _Line:
    """The fishing line with the snap on it."""

    k: Array
    tension_n: Array
    turn: tuple[Array, Array]
    force_n: Array
    height_m: Array

    def settle(self, setback_m: Array, depth_m: Array) -> tuple[Array, Array]:
        """Return the force on a ball at this place, and the snap from there, both (3, n)."""
        u_up, u_low = np.tan(self.turn[0]), -np.tan(self.turn[1])
        none = np.zeros(depth_m.size)
        free = self._slope_at_ball(setback_m, depth_m, u_low, u_up)
        # A line that bows too little: the snap lies at the ball, which then carries the lure.
        lies = np.isnan(free)
        alone = self._slope_at_ball(setback_m, depth_m, none, none, whole=True)
        u0 = np.where(lies, alone, free)
        up, ahead = _rise(u0, np.where(lies, u0, u_low), self.k)
        pull = self.tension_n / np.sqrt(1.0 + u0**2) * np.stack([-u0, none, -np.ones(none.size)])
        pull = pull + np.where(lies, self.force_n, 0.0)
        return pull, np.stack([-ahead, none, -up])

    def _slope_at_ball(
        self, setback_m: Array, depth_m: Array, u_low: Array, u_up: Array, *, whole: bool = False
    ) -> Array:
        """Return the slope with which the line leaves the ball to meet the rod tip; NaN for none.

        `whole` is the line without a snap on it.
        """

        def misses(low: Array, row: Array) -> Array:
            at = row.astype(np.intp)
            u0 = np.sinh(low)
            end = u0 if whole else u_low[at]
            up, ahead = _rise(u0, end, self.k[at])
            start = u0 if whole else u_up[at]
            top = np.sinh(np.arcsinh(start) + self.k[at] * (depth_m[at] - up))
            _, further = _rise(start, top, self.k[at])
            return np.asarray(ahead + further + self.height_m[at] * top - setback_m[at])

        from scipy.optimize import elementwise  # here: heavy, and to read a log needs no solver

        rows = np.flatnonzero(np.isfinite(depth_m) & (depth_m > 0.0))
        out = np.full(depth_m.size, np.nan)
        if not rows.size:
            return out
        high = np.full(rows.size, 3.0) if whole else np.arcsinh(u_low[rows])
        low = -3.0 - self.k[rows] * depth_m[rows] if whole else high - self.k[rows] * depth_m[rows]
        root = elementwise.find_root(
            misses,
            (low, high),
            args=(rows.astype(float),),
            tolerances={"xatol": 1e-13, "xrtol": 1e-13, "fatol": 0.0, "frtol": 0.0},
        )
        out[rows] = np.where(root.success, np.sinh(root.x), np.nan)
        return out


def _rise(start: Array, end: Array, k: Array) -> tuple[Array, Array]:
    """Return how far up and how far toward the boat a line goes between two slopes."""
    up = (np.arcsinh(end) - np.arcsinh(start)) / k
    ahead = (np.sqrt(1.0 + end**2) - np.sqrt(1.0 + start**2)) / k
    return np.asarray(up), np.asarray(ahead)
