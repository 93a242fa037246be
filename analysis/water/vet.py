"""Owns which temperatures are not believed: below the bottom, on their heads, of another water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.depth.water import density_kg_m3
from analysis.water.fit import WaterFit, solve
from analysis.water.measured import CAST, KINDS, LOGGER, PROBE, SURFACE, Measured
from analysis.water.prior import Prior

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

BELOW_BOTTOM = 1.1
"""Share of the greatest depth from which a thermometer must have been in the ground."""
UPSIDE_DOWN_KG_M3 = 0.15
"""Fresh water so much denser at the top of a cast than at its foot would have sunk."""
STRAINED = 9.0
"""Mean square error, in its variances, from which a cast or sensor is looked into."""
DEPTHS = 4
"""Fewest depths of a cast that can stand on its head."""

WORDS = {
    CAST: "this cast fits neither the water of the days around it nor the surface readings",
    LOGGER: "what this logger measured fits neither the casts nor the surface readings",
    PROBE: "this trip's probe fits neither the casts nor the surface readings",
    SURFACE: "this trip's surface temperatures fit neither the days around it nor the casts",
}


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """Some temperatures that are not believed, and why.

    Attributes
    ----------
    rows : (n,) bool array
    reason, remedy : str
    """

    rows: Mask
    reason: str
    remedy: str


def believed(rows: Measured, prior: Prior) -> tuple[WaterFit | None, list[Doubt]]:
    """Leave out what cannot be true of the water.

    Parameters
    ----------
    rows : Measured
    prior : Prior

    Returns
    -------
    fit : WaterFit or None
        A first fit of what is believed; nothing where there is nothing.
    doubts : list of Doubt
    """
    doubts = [*_below_bottom(rows, prior), *_upside_down(rows, prior)]
    kept = ~np.any([np.zeros(len(rows), dtype=bool), *(doubt.rows for doubt in doubts)], axis=0)
    if not kept.any():
        return None, doubts
    first = solve(rows.where(kept), prior)
    if not (first.strain > STRAINED).any():
        return first, doubts
    strange = np.zeros(len(rows), dtype=bool)
    heavy = solve(rows.where(kept), prior, doubting=True)
    strange[kept] = (heavy.strain > STRAINED)[rows.group[kept]]
    for group in np.unique(rows.group[strange]):
        mine = strange & (rows.group == group)
        doubts.append(
            Doubt(
                rows=mine,
                reason=f"{WORDS[KINDS[rows.kind[mine][0]]]}: it was not believed",
                remedy="check the unit, the depths, the clock and which water it was",
            )
        )
    kept &= ~strange
    return (solve(rows.where(kept), prior) if kept.any() else None), doubts


def _below_bottom(rows: Measured, prior: Prior) -> list[Doubt]:
    if prior.max_depth_m is None:
        return []
    deep = rows.depth_m > BELOW_BOTTOM * prior.max_depth_m
    return [
        Doubt(
            rows=deep & (rows.group == group),
            reason=f"a temperature from {rows.depth_m[deep & (rows.group == group)].max():.0f} m, "
            f"where the water is {prior.max_depth_m:.0f} m deep at most: it was not believed",
            remedy="check the depth and its unit, or max_depth_m under [water]",
        )
        for group in np.unique(rows.group[deep])
    ]


def _upside_down(rows: Measured, prior: Prior) -> list[Doubt]:
    """Casts of fresh water whose light water lies under heavier one."""
    if not prior.fresh:
        return []
    found = []
    casts = rows.of_kind(CAST)
    for group in np.unique(rows.group[casts]):
        mine = casts & (rows.group == group)
        order = np.argsort(rows.depth_m[mine])
        density = density_kg_m3(np.clip(rows.temp_c[mine][order], 0.0, 40.0))
        half = len(density) // 2
        turned = np.mean(density[:half]) - np.mean(density[half:]) if half else 0.0
        if len(density) >= DEPTHS and turned > UPSIDE_DOWN_KG_M3:
            found.append(
                Doubt(
                    rows=mine,
                    reason="this cast has the heavier water on top, which would have sunk: it was "
                    "not believed",
                    remedy="its depths may be written in the wrong order; turn them round",
                )
            )
    return found
