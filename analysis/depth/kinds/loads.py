"""Owns what kinds share: loads of a line of one part, refused rod tips, trials at one speed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds.protocol import Refusal
from analysis.depth.limits import TIP_HEIGHT_M
from analysis.depth.towline import Array, Tow


def dynamic_pressure(columns: Columns, density_kg_m3: float) -> Array:
    """Return rho U^2 / 2 of each row, in Pa."""
    return np.asarray(0.5 * density_kg_m3 * columns.speed_mps**2)


def refuse_tips(columns: Columns) -> Iterator[Refusal]:
    """Refuse a rod tip of no height, or of one that no boat has."""
    tip, low, high = columns.tip_height_m, TIP_HEIGHT_M.low, TIP_HEIGHT_M.high
    yield Refusal(np.isnan(tip), "no height of the rod tip")
    text = f"a rod tip at {{:g}} m; it lies from {low:g} to {high:g} m"
    yield Refusal((tip < low) | (tip > high), text, tip)


def tow_along(
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


def untold_speeds(trials: Columns) -> list[str]:
    """Say where all trials of a line that speed moves ran at one speed."""
    speed = trials.speed_mps
    if np.ptp(speed) < 0.1 * np.mean(speed):
        return [
            f"all trials ran at about {np.mean(speed):.2f} m/s: "
            "depth at other speeds rests on the model"
        ]
    return []
