"""Owns what kinds share: loads of a line, a lure on its leader, refused rod tips, one speed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds.protocol import Refusal
from analysis.depth.limits import TIP_HEIGHT_M
from analysis.depth.march import Array, Tow, trail_freely


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
        lump_n=np.zeros((3, parts, n)),
        line_out_m=columns.line_out_m,
        height_m=columns.tip_height_m,
        from_m=np.zeros(n),
        trail_m=np.zeros((3, n)),
    )


@dataclass(frozen=True, kw_only=True)
class Leader:
    """The leader behind a disc or a ball, on which a lure that dives hangs."""

    length_m: Array
    diameter_mm: float
    normal_drag: float
    tangential_drag: float


def lure_force(columns: Columns, q: Array, area_m2: float, weight_n: Array | float) -> Array:
    """Return (3, n): drag, side and weight or lift of the lure; the gear's own unless described."""
    known = columns.described
    drag = np.where(known, columns.lure_drag_area_m2, area_m2)
    lift = np.where(known, columns.lure_lift_area_m2, 0.0)
    weight = np.where(known, columns.lure_weight_n, weight_n)
    return np.stack([q * drag, np.zeros(columns.size), q * lift + weight])


def lure_behind(columns: Columns, q: Array, leader: Leader) -> tuple[Array, Array]:
    """Return how a lure that dives pulls on what its leader hangs from, and where it is from there.

    Both are (3, n), astern, sideways and down, and 0 where no lure is described: it trails level.
    """
    pull, place = np.zeros((3, columns.size)), np.zeros((3, columns.size))
    rows = np.flatnonzero(columns.described)
    if rows.size:
        few, pressure, line_m = columns.take(rows), q[rows], leader.diameter_mm / 1000.0
        astern, side, down = lure_force(few, pressure, 0.0, 0.0)
        tow = tow_along(
            replace(few, line_out_m=leader.length_m[rows]),
            astern=astern,
            side=side,
            down=down,
            normal=pressure * line_m * leader.normal_drag,
            tangential=pressure * np.pi * line_m * leader.tangential_drag,
            weight=0.0,
        )
        pull[:, rows], place[:, rows] = trail_freely(tow)
    return pull, place


def untold_speeds(trials: Columns) -> list[str]:
    """Say where all trials of a line that speed moves ran at one speed."""
    speed = trials.speed_mps
    if np.ptp(speed) < 0.1 * np.mean(speed):
        return [
            f"all trials ran at about {np.mean(speed):.2f} m/s: "
            "depth at other speeds rests on the model"
        ]
    return []
