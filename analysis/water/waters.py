"""From season folders to waters: who shares one, what is not believed, what is measured there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.stats.threads import one_thread
from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import CAST, KINDS, LOGGER, PROBE, SURFACE, Measured, measured
from analysis.water.prior import Prior
from analysis.water.vet import Doubt, believed
from analysis.water.ways import Ways, main_ways

if TYPE_CHECKING:
    from analysis.log import SeasonLog

Array = NDArray[np.float64]

_WRITTEN = {
    CAST: ("casts", "temp"),
    LOGGER: ("loggers", "file"),
    PROBE: ("readings", "depth_temp"),
    SURFACE: ("readings", "surface_temp"),
}
"""Table and column in which a temperature stands."""


@dataclass(frozen=True, kw_only=True)
class KnownWater:
    """A water as far as its thermometers tell it.

    Attributes
    ----------
    name : str
        As boat.toml has it; the boat's name where it names no water.
    years : frozenset of int
        In which it was measured below the surface.
    surface_years : frozenset of int
        In which it was measured at all.
    field : Water or None
        Nothing where no temperature at all was measured.
    doubts : DataFrame
        What was not believed: the columns of ``set_aside``, and ``folder``.
    """

    name: str
    years: frozenset[int]
    surface_years: frozenset[int]
    field: Water | None
    doubts: pd.DataFrame

    def knows(self, year: int) -> bool:
        """Whether the water was measured below its surface in a year."""
        return self.field is not None and year in self.years

    def guesses(self, year: int) -> bool:
        """Whether in a year the water was measured at its surface alone."""
        return self.field is not None and year in self.surface_years - self.years

    @cached_property
    def ways(self) -> dict[int, Ways]:
        """Main ways in which the water of each year may differ from the likeliest."""
        if self.field is None:
            return {}
        return {year: main_ways(self.field, year) for year in sorted(self.surface_years)}

    def doubts_of(self, log: SeasonLog) -> pd.DataFrame:
        """Return what was not believed of one of its logs."""
        return self.doubts.loc[self.doubts["folder"] == str(log.folder), list(SET_ASIDE_COLUMNS)]

    def doubt_m(self, time: NDArray[np.int64]) -> Array:
        """Return the sd of the thermocline's depth at some times; 0 where nothing tells."""
        return np.zeros(len(time)) if self.field is None else self.field.middle(time)[1]


def name_of(log: SeasonLog) -> str:
    """Name of the water that a log was fished on; its boat's where it names none."""
    return log.boat.water_name or log.boat.name


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
    keys = [(log.boat.water_name is not None, name_of(log).casefold()) for log in logs]
    found = {
        key: water_of([log for log, own in zip(logs, keys, strict=True) if own == key])
        for key in dict.fromkeys(keys)
    }
    return [found[key] for key in keys]


@one_thread
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
    depths = [log.boat.water_max_depth_m for log in logs if log.boat.water_max_depth_m]
    prior = Prior(
        density_kg_m3=logs[0].boat.water.density_kg_m3,
        max_depth_m=max(depths) if depths else None,
    )
    everything = measured(logs)
    first, doubts = believed(everything, prior)
    return KnownWater(
        name=name_of(logs[0]),
        years=_years(first.measured.where(first.measured.below_surface)) if first else frozenset(),
        surface_years=_years(first.measured) if first else frozenset(),
        field=None if first is None else Water(fit=fit_water(first.measured, prior, first)),
        doubts=_table(everything, doubts, logs),
    )


def _years(rows: Measured) -> frozenset[int]:
    """Return the calendar years of some temperatures."""
    return frozenset(pd.DatetimeIndex(pd.to_datetime(rows.time, unit="us")).year.tolist())


def _table(rows: Measured, doubts: Sequence[Doubt], logs: Sequence[SeasonLog]) -> pd.DataFrame:
    """List each doubt once, at its first line."""
    found = []
    for doubt in doubts:
        first = int(np.flatnonzero(doubt.rows)[0])
        table, column = _WRITTEN[KINDS[rows.kind[first]]]
        found.append(
            {
                "table": table if rows.line[first] else "tracks",
                "row": int(rows.line[first]),
                "column": column,
                "value": f"{rows.temp_c[first]:.1f} C",
                "reason": doubt.reason,
                "remedy": doubt.remedy,
                "folder": str(logs[rows.boat[first]].folder),
            }
        )
    # A frame without rows would make text of the lines of files that it is put under.
    return pd.DataFrame(found, columns=[*SET_ASIDE_COLUMNS, "folder"]).astype({"row": "int64"})
