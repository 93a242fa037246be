"""What line-out on each gear and setting puts a lure in the band that a period names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.decision.answer import Answer, Period
from analysis.depth import equal_depth_table
from analysis.rates.effects import weighted_quantile
from analysis.rates.join import USUAL_SPEED_MPS, BoatSeason
from analysis.units import from_si

COLUMNS = (
    "period",
    "gear",
    "setting",
    "line_out",
    "unit",
    "depth_m",
    "depth_sd_m",
    "lateral_m",
    "setback_m",
)


@dataclass(frozen=True, kw_only=True)
class Target:
    """A depth to put lures at, and the speed to do it at."""

    depth_m: float
    speed_mps: float


def target_of(answer: Answer, period: Period) -> Target | None:
    """The middle of the best band of a period, at its median speed; None where none is named.

    Where two neighbours are named it is the middle of the two.
    """
    named = np.flatnonzero(period.judgement.named)
    if not len(named):
        return None
    edges = answer.hours.edges_m
    depth = 0.5 * (edges[named[0]] + edges[named[-1] + 1])
    return Target(depth_m=float(depth), speed_mps=usual_speed(answer, period.name))


def usual_speed(answer: Answer, period: str) -> float:
    """Median speed of a period's rod-hours; the season's, or a usual one, where none is logged."""
    table = answer.exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    hours = table["hours"].to_numpy()
    for here in ((table["period"] == period).to_numpy(), np.ones(len(table), dtype=bool)):
        known = here & np.isfinite(speed)
        if known.any():
            return weighted_quantile(speed[known], hours[known], 0.5)
    return USUAL_SPEED_MPS


def spread_table(answer: Answer, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Line-outs for the named band of each period, by every gear and setting on board.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason
        Boats whose gears are asked; with several boats a column ``boat`` tells whose they are.

    Returns
    -------
    DataFrame
        ``spread.csv`` of the contract, ``line_out`` in ``unit``, and ``boat``, ``line_out_m``,
        ``line_out_sd_m``. A gear that cannot reach the depth has no row.
    """
    rows = []
    for season in seasons:
        boat = season.log.boat
        beliefs = {name: season.belief(name) for name in boat.gears}
        height = float(np.mean([boat.tip_height_of(rod) for rod in season.rods]))
        for period in answer.periods:
            target = target_of(answer, period)
            if target is None:
                continue
            for line in equal_depth_table(
                beliefs,
                depth_m=target.depth_m,
                speed_mps=target.speed_mps,
                tip_height_m=height,
            ):
                if line.side == "starboard":
                    continue  # the mirror of port
                if line.reason:
                    continue  # cannot be put there
                rows.append(
                    {
                        "period": period.name,
                        "boat": boat.name,
                        "gear": line.gear,
                        "setting": np.nan if line.setting is None else line.setting,
                        "line_out": float(from_si(line.line_out_m, "length", boat.units.length)),
                        "unit": boat.units.length,
                        "depth_m": line.depth_m,
                        "depth_sd_m": line.depth_sd_m,
                        "lateral_m": abs(line.lateral_m),
                        "setback_m": line.setback_m,
                        "line_out_m": line.line_out_m,
                        "line_out_sd_m": line.line_out_sd_m,
                    }
                )
    extra = ("boat", "line_out_m", "line_out_sd_m")
    return pd.DataFrame(rows, columns=[*COLUMNS, *extra])
