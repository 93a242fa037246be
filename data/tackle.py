"""The rods and gear of a simulated boat, and fast tables of how deep they run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.scenario import FT

Array = NDArray[np.float64]

TIP_HEIGHT_M = 2.0
# Written to boat.toml; keys that are left out take the defaults of the gear kind.
GEARS: dict[str, dict[str, Any]] = {
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
            {"name": "leader", "length_m": 8 * FT, "diameter_mm": 0.30},
            {"name": "core", "length_m": 45.72, "diameter_mm": 0.85, "weight_n_per_m": 0.0098},
            {"name": "backing", "diameter_mm": 0.35},
        ],
    },
}


@dataclass(frozen=True, kw_only=True)
class Rod:
    """A rod's place and what it fishes; `setting` is NaN for gear without a dial."""

    rod: str
    side: str
    gear: str
    setting: float = float("nan")


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
GROUPS: tuple[tuple[str, float], ...] = (
    ("diver", 1.0),
    ("diver", 2.0),
    ("diver", 3.0),
    ("rigger", float("nan")),
    ("core", float("nan")),
)
MAX_LINE_M = np.array([240, 240, 240, 160, 210]) * FT
_LINE_M = np.arange(0.0, 76.1, 2.0)
_SPEED_MPS = np.arange(0.4, 2.21, 0.15)
_DEPTH_STEP_M = 0.5
USUAL_SPEED_MPS = 1.1


def group_of(rod: Rod) -> int:
    """Return the index into `GROUPS` of a rod's gear and setting."""
    same = [g == rod.gear and (s == rod.setting or s != s) for g, s in GROUPS]
    return same.index(True)


@dataclass(frozen=True)
class DepthTable:
    """Depth on a grid of gear-and-setting x line-out x speed, and line-out for a depth."""

    depth_m: Array  # (group, line, speed)
    line_m: Array  # (group, depth step), at the usual speed

    def depth(self, group: NDArray[np.intp], line_m: Array, speed_mps: Array) -> Array:
        """Return depths by bilinear interpolation; all arguments of one shape."""
        a = np.clip(line_m / (_LINE_M[1] - _LINE_M[0]), 0, len(_LINE_M) - 1.001)
        b = (speed_mps - _SPEED_MPS[0]) / (_SPEED_MPS[1] - _SPEED_MPS[0])
        b = np.clip(b, 0, len(_SPEED_MPS) - 1.001)
        i, j = a.astype(np.intp), b.astype(np.intp)
        a, b = a - i, b - j
        t = self.depth_m
        low = t[group, i, j] * (1 - b) + t[group, i, j + 1] * b
        high = t[group, i + 1, j] * (1 - b) + t[group, i + 1, j + 1] * b
        return low * (1 - a) + high * a

    def line_for(self, group: NDArray[np.intp], depth_m: Array) -> Array:
        """Return the line-out that reaches a depth at the usual speed, as far as line goes."""
        last = self.line_m.shape[1] - 1
        step = np.clip(np.rint(depth_m / _DEPTH_STEP_M), 0, last).astype(np.intp)
        return self.line_m[group, step]


@lru_cache(maxsize=1)
def depth_table() -> DepthTable:
    """Return the depths that `boat.toml`'s gear gives, solved once a process."""
    line, speed = np.meshgrid(_LINE_M, _SPEED_MPS, indexing="ij")
    depth = np.stack([_solve(gear, setting, line, speed) for gear, setting in GROUPS])
    steps = np.arange(0.0, 60.0, _DEPTH_STEP_M)
    usual = np.array([[np.interp(USUAL_SPEED_MPS, _SPEED_MPS, row) for row in d] for d in depth])
    back = np.stack([np.interp(steps, row, _LINE_M) for row in usual])
    return DepthTable(depth, np.minimum(back, MAX_LINE_M[:, None]))


def _solve(gear: str, setting: float, line_m: Array, speed_mps: Array) -> Array:
    """Stand-in until the depth room is there: closed form of a weightless line."""
    rho, q = 999.7, 0.5 * 999.7 * speed_mps**2
    g = GEARS[gear]
    if gear == "diver":
        roll = np.deg2rad(g["roll_deg"][f"{setting:g}"])
        astern, cross, width, h = q * 0.005, q * 0.00625, 0.0003 * 1.2, TIP_HEIGHT_M
    elif gear == "rigger":
        roll = 0.0
        astern, cross = q * (0.47 * 0.0072 + 0.0005), 4.536 * 9.81 * 0.912 + 0 * q
        width, h = 0.00125 * 1.2, 1.2
    else:
        roll, h = 0.0, TIP_HEIGHT_M
        return np.minimum(np.maximum(line_m - 4.0, 0.0), 46.0) * 0.27 * (1.1 / speed_mps)
    k = rho * width * speed_mps**2 / (2 * np.hypot(astern, cross))
    c0 = astern / cross
    cos = np.cos(roll)
    # (L - Lw)^2 cos^2 = h^2 (1 + (c0 + k Lw)^2): the longest wetted length below L
    a = cos**2 - (h * k) ** 2
    b = -2 * (line_m * cos**2 + h**2 * c0 * k)
    c = line_m**2 * cos**2 - h**2 * (1 + c0**2)
    wet = (-b - np.sqrt(np.maximum(b**2 - 4 * a * c, 0.0))) / (2 * a)
    wet = np.maximum(wet, 0.0)
    return (np.arcsinh(c0 + k * wet) - np.arcsinh(c0)) / k * cos
