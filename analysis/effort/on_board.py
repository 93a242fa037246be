"""Owns what one log tells of its gears: the one calibration, the settings used, the rod tips."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.depth.calibrate import Calibration, calibrate, uses_of
from analysis.depth.columns import Columns
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.depth.lures import lure_key
from analysis.log.schema import blank_table
from analysis.log.soaks import towed_in
from analysis.units import to_si

if TYPE_CHECKING:
    from analysis.log import SeasonLog


def rods_of_log(log: SeasonLog) -> list[str]:
    """Rods of the sets; one unnamed rod where there are none."""
    return sorted(log.stretches["rod"].unique().tolist()) or [""]


def tip_height_m(log: SeasonLog) -> float:
    """Mean height of the rod tips of a log's rods, for what no one rod fished."""
    return float(np.mean([log.boat.tip_height_of(rod) for rod in rods_of_log(log)]))


def trail_m(log: SeasonLog, gear: str) -> float:
    """Line from a rigger's ball, or a diver, to the lure, usual in the log; 0 where not logged.

    A weighted line's leader is one of its parts, and counts in its setback as it is.
    """
    column = log.boat.gears[gear].place.trail
    if not column:
        return 0.0
    known = log.stretches.loc[log.stretches["gear"] == gear, column].dropna()
    return float(known.median()) if len(known) else 0.0


def lure_fished(log: SeasonLog, sets: pd.DataFrame) -> str:
    """Return the lure that some sets fished most hours, by its name in boat.toml, if it dives."""
    if not log.boat.lures:
        return ""
    hours = sets.groupby(sets["lure"].map(lure_key))["hours"].sum()
    lure = log.boat.lures.get(str(hours.idxmax())) if len(hours) else None
    return lure.name if lure else ""


def rigs_of(log: SeasonLog, slices: pd.DataFrame, gear: str) -> Mapping[str, Mapping[str, float]]:
    """Return what `Columns` says of lines of a gear by the lures that dive which they fished.

    Lead and leader are those usual in the slices: a lure that dives does not trail level.
    """
    mine = slices.loc[slices["gear"] == gear]
    fished = {lure_key(str(name)) for name in mine["lure"].unique()}
    usual = {name: float(mine[name].median()) for name in ("lead_m", "leader_length_m")}
    return {
        lure.name: {**usual, **lure.columns}
        for key, lure in log.boat.lures.items()
        if key in fished
    }


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
    return tuple(np.sort(used.unique()).tolist()) or marks


def calibrations_of(log: SeasonLog, others: Sequence[SeasonLog] = ()) -> Mapping[str, Calibration]:
    """Calibrate each gear of a log by its soaks; without soaks it stays at its prior.

    Parameters
    ----------
    log
        The season. A soak has no rod: its rod tip stands at the mean height of the log's.
    others
        Further seasons: soaks of the same boat count where the gear was the same to every key.
    """
    same = [other for other in others if other is not log and other.boat.name == log.boat.name]
    return {gear: _calibrated(log, gear, same) for gear in log.boat.gears}


def _calibrated(log: SeasonLog, gear: str, others: Sequence[SeasonLog]) -> Calibration:
    towed, water = log.boat.gears[gear], log.boat.water
    alike = [other for other in others if other.boat.gears.get(gear) == towed]
    every = [_trials_of(one, gear, named=one is not log) for one in (log, *alike)]
    trials = pd.concat([some for some in every if len(some)] or every[:1])
    trials = trials.fillna({"speed_mps": USUAL_SPEED_MPS})
    usual_mps = float(trials["speed_mps"].median()) if len(trials) else USUAL_SPEED_MPS
    columns: dict[str, Any] = {each.name: trials[each.name].to_numpy() for each in fields(Columns)}
    return calibrate(
        towed,
        **columns,
        depth_m=trials["depth_m"].to_numpy(),
        day=pd.factorize(trials["day"])[0],
        water=water,
        uses=uses_of(towed, usual_mps, dial_of(log, gear)),
        names=trials["called"].tolist(),
        unit_m=float(to_si(1.0, "length", log.boat.units.length)),
    )


def _trials_of(log: SeasonLog, gear: str, *, named: bool) -> pd.DataFrame:
    """Return the soaks of a gear, what was towed, what the notes call each, and its day.

    Soaks without a date count as made on one day of their season.
    """
    soaks = blank_table("soaks") if log.soaks is None else log.soaks
    mine = soaks.loc[soaks["gear"] == gear]
    season = f" of {log.folder.name}" if named else ""
    called = [
        f"the trial of line {line}{season}{f' ({note})' if note else ''}"
        for line, note in zip(mine["line"], mine["note"], strict=True)
    ]
    day = [
        f"{log.folder} {date}" for date in mine["date"].astype(object).where(mine["date"].notna())
    ]
    towed = towed_in(mine, log.boat.lures, tip_height_m(log))
    return mine.assign(**vars(towed), called=called, day=day)
