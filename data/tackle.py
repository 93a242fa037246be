"""The rods and gear of a simulated boat, and fast tables of how deep they run."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.depth.columns import Columns
from analysis.depth.kinds import gear_from_toml
from analysis.depth.kinds.protocol import NO_SHIFTS
from analysis.depth.model import solve_columns
from analysis.depth.priors import shifts_at
from analysis.depth.water import Water
from data.scenario import FT

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Gears = dict[str, dict[str, Any]]

TIP_HEIGHT_M = 2.0
USUAL_SPEED_MPS = 1.1
SHALLOWEST_M = 1.5
_LINE_M = np.arange(2.0, 110.1, 2.0)
_SPEED_MPS = np.arange(0.4, 2.21, 0.15)
_DEPTH_STEP_M = 0.25
# what a spool or a drum holds, or where a crew stops letting out
_LONGEST_M = {
    "diver": 240 * FT,
    "rigger": 160 * FT,
    "weighted line": 340 * FT,
    "flat line": 120 * FT,
}

# Written to boat.toml; keys that are left out take the defaults of the gear kind.
GEARS: Gears = {
    "diver": {
        "kind": "diver",
        "lift_area_m2": 0.00625,
        "drag_area_m2": 0.0045,
        "lure_drag_area_m2": 0.0005,
        "weight_n": 0.15,
        "roll_deg": {"0": 0.0, "1": 20.5, "2": 38.5, "3": 47.0, "3.5": 51.0},
        "line_diameter_mm": 0.30,
    },
    "rigger": {
        "kind": "rigger",
        "ball_mass_kg": 4.536,
        "ball_density_kg_m3": 11340.0,
        "cable_diameter_mm": 0.9,
        "pulley_height_m": 1.2,
    },
    "core": {
        "kind": "weighted line",
        "lure_drag_area_m2": 0.0003,
        "lure_weight_n": 0.02,
        "parts": [
            {"name": "leader", "length_m": 2.4, "diameter_mm": 0.30},
            {"name": "core", "length_m": 91.44, "diameter_mm": 0.85, "weight_n_per_m": 0.0098},
            {"name": "backing", "diameter_mm": 0.35},
        ],
    },
}


@dataclass(frozen=True, kw_only=True)
class Rod:
    """A rod's place and what it fishes; `setting` is None for gear without a dial."""

    rod: str
    side: str
    gear: str
    setting: float | None = None


# In the order in which a crew puts them down: the first n are down when n rods fish.
RODS: tuple[Rod, ...] = (
    Rod(rod="P1", side="port", gear="diver", setting=1.0),
    Rod(rod="S1", side="starboard", gear="diver", setting=1.0),
    Rod(rod="R1", side="port", gear="rigger"),
    Rod(rod="R2", side="starboard", gear="rigger"),
    Rod(rod="P2", side="port", gear="diver", setting=2.0),
    Rod(rod="S2", side="starboard", gear="diver", setting=2.0),
    Rod(rod="P3", side="port", gear="diver", setting=3.0),
    Rod(rod="S3", side="starboard", gear="diver", setting=3.0),
    Rod(rod="W1", side="port", gear="core"),
    Rod(rod="W2", side="starboard", gear="core"),
)


@dataclass(frozen=True)
class DepthTable:
    """Depth on a grid of group x line-out x speed, and the line-out for a depth.

    A group is a gear and setting. Where line is too short to reach the water depth is 0.
    """

    depth_m: Array  # (group, line, speed)
    line_m: Array  # (group, depth step), at the usual speed

    def depth(self, group: Index, line_m: Array, speed_mps: Array) -> Array:
        """Return depths by bilinear interpolation; all arguments of one shape."""
        a = np.clip((line_m - _LINE_M[0]) / (_LINE_M[1] - _LINE_M[0]), 0, len(_LINE_M) - 1.001)
        b = (speed_mps - _SPEED_MPS[0]) / (_SPEED_MPS[1] - _SPEED_MPS[0])
        b = np.clip(b, 0, len(_SPEED_MPS) - 1.001)
        i, j = a.astype(np.intp), b.astype(np.intp)
        a, b = a - i, b - j
        t = self.depth_m
        low = t[group, i, j] * (1 - b) + t[group, i, j + 1] * b
        high = t[group, i + 1, j] * (1 - b) + t[group, i + 1, j + 1] * b
        return np.asarray(low * (1 - a) + high * a)

    def line_for(self, group: Index, depth_m: Array) -> Array:
        """Return the line-out that reaches a depth at the usual speed, as far as line goes."""
        step = np.rint(np.maximum(depth_m, SHALLOWEST_M) / _DEPTH_STEP_M)
        step = np.minimum(step, self.line_m.shape[1] - 1).astype(np.intp)
        return np.asarray(self.line_m[group, step])


@lru_cache(maxsize=16)
def _solved(
    gears_json: str,
    groups: tuple[tuple[str, float | None], ...],
    departures: tuple[tuple[str, tuple[float, ...]], ...] = (),
) -> DepthTable:
    """Solve depths, the uncertain parameters of some gears away from what is written."""
    line, speed = np.meshgrid(_LINE_M, _SPEED_MPS, indexing="ij")
    steps = np.arange(0.0, 60.0, _DEPTH_STEP_M)
    gears = json.loads(gears_json)
    away = dict(departures)
    depths, lines = [], []
    for name, setting in groups:
        gear = gear_from_toml(name, gears[name])
        columns = Columns.of(
            setting=np.nan if setting is None else setting,
            line_out_m=line.ravel(),
            speed_mps=speed.ravel(),
            tip_height_m=TIP_HEIGHT_M,
        ).for_gear(gear)
        shifts = shifts_at(gear, columns, np.array(away[name])) if name in away else NO_SHIFTS
        solution = solve_columns(gear, columns, Water(), shifts)
        depth = np.nan_to_num(solution.depth_m, nan=0.0).reshape(line.shape)
        usual = np.array([np.interp(USUAL_SPEED_MPS, _SPEED_MPS, row) for row in depth])
        wet = (depth > 0).all(axis=1)  # long enough at every speed
        longest = min(_LONGEST_M[gears[name]["kind"]], _LINE_M[-1])
        back = np.interp(steps, usual[wet], _LINE_M[wet])
        depths.append(depth)
        lines.append(np.minimum(back, longest))
    return DepthTable(np.stack(depths), np.stack(lines))


@dataclass(frozen=True)
class Tackle:
    """A boat's rods, what `boat.toml` says of their gear, and what is true of it.

    `departures` says how far each of a gear's uncertain parameters truly is from its value, in
    the order of the gear's `parameters`.
    """

    rods: tuple[Rod, ...] = RODS
    gears: Gears | None = None
    true_gears: Gears | None = None
    departures: tuple[tuple[str, tuple[float, ...]], ...] = ()

    @cached_property
    def groups(self) -> tuple[tuple[str, float | None], ...]:
        """The distinct gears and settings."""
        return tuple(dict.fromkeys((rod.gear, rod.setting) for rod in self.rods))

    @cached_property
    def group(self) -> Index:
        """Each rod's index into `groups`."""
        return np.array([self.groups.index((rod.gear, rod.setting)) for rod in self.rods])

    @property
    def written(self) -> Gears:
        """The gear as `boat.toml` has it."""
        return self.gears or GEARS

    def kind(self, rod: Rod) -> str:
        """Return the kind of a rod's gear."""
        return str(self.written[rod.gear]["kind"])

    @cached_property
    def table(self) -> DepthTable:
        """Depths by `boat.toml`."""
        return _solved(json.dumps(self.written), self.groups)

    @cached_property
    def true_table(self) -> DepthTable:
        """Depths as they are."""
        true = {**self.written, **(self.true_gears or {})}
        return _solved(json.dumps(true), self.groups, self.departures)
