"""Owns what each part of a line does to its depth: the same line with and without it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from analysis.depth import solve
from analysis.depth.kinds import gear_from_toml
from analysis.depth.lures import Lure, lures_from_toml
from analysis.depth.march import Array
from analysis.depth.water import Water

LINE_OUTS_M = np.arange(12.0, 73.0, 6.0)
_LURE = "plug"
_UP_M, _AHEAD_M, _LEADER_M = 6.1, 18.3, 1.83
_BALL, _WEIGHT, _LINE = "10 lb", "3 oz", "20 lb mono"
_COLOURS, _DIVES, _SETTING = 3, "medium", 1.0

_MONO = {"name": "line", "line": _LINE}
_FLAT = {"kind": "flat line", "parts": [_MONO]}
_RIGGER = {"kind": "rigger", "ball_weight": _BALL, "line": _LINE}
_DIVER = {"kind": "diver", "line": "30 lb braid"}
_CORE = {"kind": "weighted line", "core": "27 lb lead core", "colours": _COLOURS}
_LEADER = {"name": "leader", "length_m": _LEADER_M, "line": "12 lb fluorocarbon"}
_WITH_KEEL = {**_LEADER, "lump_weight": _WEIGHT, "lump_drag_area": "3 cm2"}
_WITH_CLIP = [{"at_m": _AHEAD_M, "weight": _WEIGHT, "drag_area": "3 cm2"}]
_JOINED = [
    {"name": "core", "length": f"{30 * _COLOURS} ft", "line": "27 lb lead core"},
    {"name": "backing", "line": "30 lb braid"},
]


class Drawn(NamedTuple):
    """A line without a part and with it, as boat.toml would say both, and what there is to tell."""

    without: Mapping[str, Any]
    with_it: Mapping[str, Any]
    length_m: float = np.nan
    weight: str = ""


PARTS: Mapping[str, Drawn] = MappingProxyType(
    {
        "second line": Drawn(
            _RIGGER, {**_RIGGER, "clips_m": [0.0, _UP_M], "fishes_at_m": _UP_M}, _UP_M, _BALL
        ),
        "clipped weight": Drawn(_FLAT, {**_FLAT, "clipped": _WITH_CLIP}, _AHEAD_M, _WEIGHT),
        "planer": Drawn(_CORE, {"kind": "planer", "to_planer": "80 ft", "behind": _CORE}),
        "keel weight": Drawn(
            {**_FLAT, "parts": [_LEADER, _MONO]},
            {**_FLAT, "parts": [_WITH_KEEL, _MONO]},
            _LEADER_M,
            _WEIGHT,
        ),
        "plug": Drawn(_FLAT, _FLAT),
        "tripped": Drawn(_DIVER, {**_DIVER, "tripped": True}),
        "joined core": Drawn(_DIVER, {**_DIVER, "parts": _JOINED}),
    }
)
"""Sizes are those of the worked examples (`analysis.depth.kinds.examples`), common practice, no
source."""


def depths_of_parts(speed_mps: float, tip_height_m: float, water: Water) -> pd.DataFrame:
    """Work out what each part does.

    Returns
    -------
    DataFrame
        `part, line_out_m, without_m, with_m`: depth of the lure, NaN where it does not run; and
        what was drawn: `length_m, weight` of the part (NaN and empty for none), `colours, dives,
        line, setting` of all.
    """
    plug = lures_from_toml({_LURE: {"diving": _DIVES}}, water.density_kg_m3)[_LURE]

    def depths(gear: Mapping[str, Any], lure: Lure | None = None) -> Array:
        return solve(
            gear_from_toml("line", gear),
            setting=_SETTING,
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
                "without_m": depths(drawn.without),
                "with_m": depths(drawn.with_it, plug if part == _LURE else None),
                "length_m": drawn.length_m,
                "weight": drawn.weight,
                "colours": _COLOURS,
                "dives": _DIVES,
                "line": _LINE,
                "setting": _SETTING,
            }
        )
        for part, drawn in PARTS.items()
    ]
    return pd.concat(frames, ignore_index=True)
