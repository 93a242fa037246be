"""Owns what one log tells of its gears: the one calibration, the settings used, the rod tips."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analysis.depth import Calibration, calibrate, uses_of
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.log import SeasonLog

_TRIAL = ["setting", "line_out_m", "speed_mps", "depth_m"]


def rods_of_log(log: SeasonLog) -> list[str]:
    """Rods of the sets; one unnamed rod where there are none."""
    return sorted(log.stretches["rod"].unique().tolist()) or [""]


def tip_height_m(log: SeasonLog) -> float:
    """Mean height of the rod tips of a log's rods, for what no one rod fished."""
    return float(np.mean([log.boat.tip_height_of(rod) for rod in rods_of_log(log)]))


def dial_of(log: SeasonLog, gear: str) -> tuple[float, ...]:
    """Return the settings of a gear that the log used, from the lowest.

    A gear with a dial that the log never used has the marks of boat.toml; one without a dial has
    a single setting that is no number.
    """
    marks = log.boat.gears[gear].dial
    if not marks:
        return (np.nan,)
    tables = (log.stretches, log.strikes)
    used = pd.concat([table.loc[table["gear"] == gear, "setting"] for table in tables]).dropna()
    return tuple(sorted(set(used.tolist()))) or marks


def calibrations_of(log: SeasonLog) -> Mapping[str, Calibration]:
    """Calibrate each gear of a log by its soaks; without soaks it stays at its prior.

    A soak has no rod: its rod tip stands at the mean height of the log's.
    """
    return {gear: _calibrated(log, gear) for gear in log.boat.gears}


def _calibrated(log: SeasonLog, gear: str) -> Calibration:
    soaks = pd.DataFrame(columns=["gear", *_TRIAL]) if log.soaks is None else log.soaks
    trials = soaks.loc[soaks["gear"] == gear, _TRIAL].astype(float)
    speeds = trials["speed_mps"].fillna(USUAL_SPEED_MPS)
    towed, water = log.boat.gears[gear], log.boat.water
    usual_mps = float(speeds.median()) if len(speeds) else USUAL_SPEED_MPS
    return calibrate(
        towed,
        setting=trials["setting"].to_numpy(),
        line_out_m=trials["line_out_m"].to_numpy(),
        speed_mps=speeds.to_numpy(),
        depth_m=trials["depth_m"].to_numpy(),
        tip_height_m=tip_height_m(log),
        water=water,
        uses=uses_of(towed, usual_mps, dial_of(log, gear)),
    )
