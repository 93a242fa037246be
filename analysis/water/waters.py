"""From season folders to waters: who shares one, what is not believed, what is measured there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log import SeasonLog
from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import CAST, KINDS, Measured, measured
from analysis.water.prior import Prior
from analysis.water.vet import Doubt, believed


@dataclass(frozen=True, kw_only=True)
class KnownWater:
    """A water as far as its thermometers tell it.

    Attributes
    ----------
    name : str
        As boat.toml has it; the boat's name where it names no water.
    years : frozenset of int
        In which it was measured below the surface.
    field : Water or None
        Nothing where no temperature at all was measured.
    doubts : DataFrame
        What was not believed: the columns of ``set_aside`` and ``folder``, the season's number.
    """

    name: str
    years: frozenset[int]
    field: Water | None
    doubts: pd.DataFrame


def name_of(log: SeasonLog) -> str:
    """Name of the water that a log was fished on; its boat's where it names none."""
    return log.boat.water.name or log.boat.name


def waters_of(logs: Sequence[SeasonLog]) -> list[KnownWater]:
    """Fit each water once, from all boats and seasons that name it.

    Parameters
    ----------
    logs : sequence of SeasonLog

    Returns
    -------
    list of KnownWater
        One for each log; logs of one water have the same.
    """
    keys = [(bool(log.boat.water.name), name_of(log).casefold()) for log in logs]
    found = {
        key: water_of([log for log, own in zip(logs, keys, strict=True) if own == key])
        for key in dict.fromkeys(keys)
    }
    return [found[key] for key in keys]


def water_of(logs: Sequence[SeasonLog]) -> KnownWater:
    """Fit one water from the logs of it.

    Parameters
    ----------
    logs : sequence of SeasonLog
        At least one.

    Returns
    -------
    KnownWater
    """
    depths = [log.boat.water.max_depth_m for log in logs if log.boat.water.max_depth_m]
    prior = Prior(
        density_kg_m3=logs[0].boat.water.density_kg_m3,
        max_depth_m=max(depths) if depths else None,
    )
    everything = measured(logs)
    first, doubts = believed(everything, prior)
    years: set[int] = set()
    if first is not None:
        below = first.measured.time[first.measured.below_surface]
        years = set(pd.DatetimeIndex(pd.to_datetime(below, unit="us")).year)
    return KnownWater(
        name=name_of(logs[0]),
        years=frozenset(int(year) for year in years),
        field=None if first is None else Water(fit=fit_water(first.measured, prior, first)),
        doubts=_table(everything, doubts, logs),
    )


def _table(rows: Measured, doubts: Sequence[Doubt], logs: Sequence[SeasonLog]) -> pd.DataFrame:
    """List each doubt once, at its first line."""
    found = []
    for doubt in doubts:
        first = int(np.flatnonzero(doubt.rows)[0])
        kind = KINDS[rows.kind[first]]
        found.append(
            {
                "table": "casts" if kind == CAST else "readings",
                "row": int(rows.line[first]),
                "column": "temp" if kind == CAST else "surface_temp",
                "value": f"{rows.temp_c[first]:.1f} C",
                "reason": doubt.reason,
                "remedy": doubt.remedy,
                "folder": str(logs[rows.boat[first]].folder),
            }
        )
    return pd.DataFrame(found, columns=[*SET_ASIDE_COLUMNS, "folder"])
