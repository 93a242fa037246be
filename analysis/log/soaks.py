"""Owns what the depth model takes of a table of trials."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
from numpy.typing import ArrayLike

from analysis.depth.columns import Columns
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.lures import Lure, lure_columns

_TOWED = ("setting", "line_out_m", "speed_mps", "lead_m", "leader_length_m")


def towed_in(
    soaks: pd.DataFrame, lures: Mapping[str, Lure], tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M
) -> Columns:
    """Return what was towed in clean trials, a lure that dives by its name in boat.toml.

    A trial has no rod: the height of its rod tip is said beside it.
    """
    told = {name: soaks[name].to_numpy(dtype=float) for name in _TOWED}
    return Columns.of(
        **told, **lure_columns(soaks["lure"].tolist(), lures), tip_height_m=tip_height_m
    )
