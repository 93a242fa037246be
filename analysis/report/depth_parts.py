"""Owns what each part of a line does to its depth: the same line with and without it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd

from analysis.depth import solve
from analysis.depth.kinds import gear_from_toml
from analysis.depth.lures import Lure, lures_from_toml
from analysis.depth.march import Array
from analysis.depth.water import Water

LINE_OUTS_M = np.arange(12.0, 73.0, 6.0)
_LURE = "plug"

_MONO = {"name": "line", "line": "20 lb mono"}
_FLAT = {"kind": "flat line", "parts": [_MONO]}
_RIGGER = {"kind": "rigger", "ball_weight": "10 lb", "line": "20 lb mono"}
_DIVER = {"kind": "diver", "line": "30 lb braid"}
_CORE = {"kind": "weighted line", "core": "27 lb lead core", "colours": 3}
_LEADER = {"name": "leader", "length": "6 ft", "line": "12 lb fluorocarbon"}
_WITH_KEEL = {**_LEADER, "lump_weight": "3 oz", "lump_drag_area": "3 cm2"}
_WITH_CLIP = [{"at": "60 ft", "weight": "3 oz", "drag_area": "3 cm2"}]
_JOINED = [
    {"name": "core", "length": "90 ft", "line": "27 lb lead core"},
    {"name": "backing", "line": "30 lb braid"},
]

PARTS: Mapping[str, tuple[Mapping[str, Any], Mapping[str, Any]]] = MappingProxyType(
    {
        "second line": (_RIGGER, {**_RIGGER, "clips": ["0 ft", "20 ft"], "fishes_at": "20 ft"}),
        "clipped weight": (_FLAT, {**_FLAT, "clipped": _WITH_CLIP}),
        "planer": (_CORE, {"kind": "planer", "to_planer": "80 ft", "behind": _CORE}),
        "keel weight": (
            {**_FLAT, "parts": [_LEADER, _MONO]},
            {**_FLAT, "parts": [_WITH_KEEL, _MONO]},
        ),
        "plug": (_FLAT, _FLAT),
        "tripped": (_DIVER, {**_DIVER, "tripped": True}),
        "joined core": (_DIVER, {**_DIVER, "parts": _JOINED}),
    }
)
"""What is drawn of each part: the line without it, and with it, as boat.toml would say both. Sizes
are those of the worked examples (`analysis.depth.kinds.examples`), common practice, no source."""


def depths_of_parts(speed_mps: float, tip_height_m: float, water: Water) -> pd.DataFrame:
    """Work out what each part does.

    Returns
    -------
    DataFrame
        `part, line_out_m, without_m, with_m`: depth of the lure, NaN where it does not run.
    """
    plug = lures_from_toml({_LURE: {"diving": "medium"}}, water.density_kg_m3)[_LURE]

    def depths(gear: Mapping[str, Any], lure: Lure | None = None) -> Array:
        return solve(
            gear_from_toml("line", gear),
            setting=1.0,
            line_out_m=LINE_OUTS_M,
            speed_mps=speed_mps,
            tip_height_m=tip_height_m,
            lure=lure,
            water=water,
        ).depth_m

    frames = [
        pd.DataFrame(
            {
                "part": part,
                "line_out_m": LINE_OUTS_M,
                "without_m": depths(without),
                "with_m": depths(with_it, plug if part == _LURE else None),
            }
        )
        for part, (without, with_it) in PARTS.items()
    ]
    return pd.concat(frames, ignore_index=True)
