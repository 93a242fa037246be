"""What line-out on each gear and setting puts a lure in the band that a period names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.decision.answer import Answer, Period
from analysis.depth import line_out_for
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import weighted_quantile
from analysis.rates.standardised import SEASON
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
    """Return the middle of a period's best band, at its median speed; None where none is named.

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


def speed_of_boat(answer: Answer, period: str, log: int) -> float:
    """Median speed of a boat's rod-hours in a period, or the season; else that of all boats."""
    table = answer.exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    mine = np.isfinite(speed) & (table["log"] == log).to_numpy()
    for here in (mine & (table["period"] == period).to_numpy(), mine):
        if here.any():
            return weighted_quantile(speed[here], table["hours"].to_numpy()[here], 0.5)
    return usual_speed(answer, SEASON)


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
    targets = [(period.name, target_of(answer, period)) for period in answer.periods]
    wanted = [(name, target) for name, target in targets if target is not None]
    frames = [
        _lines(
            season,
            gear,
            [
                (name, replace(target, speed_mps=speed_of_boat(answer, name, log)))
                for name, target in wanted
            ],
        )
        for log, season in enumerate(seasons)
        for gear in season.log.boat.gears
        if wanted
    ]
    extra = ("boat", "line_out_m", "line_out_sd_m")
    if not frames:
        return pd.DataFrame(columns=[*COLUMNS, *extra])
    table = pd.concat(frames, ignore_index=True)
    order = [name for name, _ in wanted]
    place = table["period"].map(order.index)
    return table.iloc[np.argsort(place, kind="stable")].reset_index(drop=True)[[*COLUMNS, *extra]]


def _lines(season: BoatSeason, gear: str, wanted: Sequence[tuple[str, Target]]) -> pd.DataFrame:
    """Line-outs of one gear's dial settings for every period's target."""
    boat = season.log.boat
    dial = season.dial(gear)
    grid = [(name, target, setting) for name, target in wanted for setting in dial]
    line = line_out_for(
        season.belief(gear),
        setting=[setting for *_, setting in grid],
        depth_m=[target.depth_m for _, target, _ in grid],
        speed_mps=[target.speed_mps for _, target, _ in grid],
        tip_height_m=season.tip_height_m,
    )
    unit = boat.units.length
    table = pd.DataFrame(
        {
            "period": [name for name, *_ in grid],
            "boat": boat.name,
            "gear": gear,
            "setting": [setting for *_, setting in grid],
            "line_out": from_si(line.line_out_m, "length", unit),
            "unit": unit,
            "depth_m": [target.depth_m for _, target, _ in grid],
            "depth_sd_m": line.depth_sd_m,
            "lateral_m": np.abs(line.lateral_m),
            "setback_m": line.setback_m,
            "line_out_m": line.line_out_m,
            "line_out_sd_m": line.line_out_sd_m,
        }
    )
    return table[np.asarray(line.reason == "")]
