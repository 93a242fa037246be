"""The table ``water.csv``: temperature by local day and metre of depth, and what tells it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.result_schema import RESULTS
from analysis.water.field import Water
from analysis.water.measured import DAY_US, KINDS, knot
from analysis.water.waters import KnownWater

if TYPE_CHECKING:
    from analysis.log import SeasonLog

Array = NDArray[np.float64]

SEASON = "season"
TOLD = 0.5
"""Share of the variance before any thermometer, above which nothing near in time tells."""


def water_table(
    waters: Sequence[KnownWater], logs: Sequence[SeasonLog], deepest_m: float
) -> pd.DataFrame:
    """Write down each water over the days fished, from the first to the last.

    Parameters
    ----------
    waters : sequence of KnownWater
        One for each log.
    logs : sequence of SeasonLog
        Of one season.
    deepest_m : float
        Greatest depth to write down where no cast went deeper.

    Returns
    -------
    DataFrame
        The columns of ``water.csv``: noon of each day, whole metres; ``source`` is the kind of
        thermometer that weighs most there, or ``season``.
    """
    frames = []
    for water in {id(water): water for water in waters}.values():
        own = [log for other, log in zip(waters, logs, strict=True) if other is water]
        if water.field is None or all(log.trips.empty for log in own):
            continue
        days = pd.date_range(
            min(log.trips["date"].min() for log in own), max(log.trips["date"].max() for log in own)
        )
        measured = water.field.fit.measured
        depth = max(deepest_m, float(measured.depth_m.max()))
        if (bottom := water.field.fit.prior.max_depth_m) is not None:
            depth = min(depth, bottom)
        frames.append(
            _one(water.field, water.name, days, np.arange(np.floor(depth) + 1), _zone(own))
        )
    if not frames:
        return pd.DataFrame(columns=RESULTS["water"].unworded)
    return pd.concat(frames, ignore_index=True)


def _zone(logs: Sequence[SeasonLog]) -> ZoneInfo:
    return logs[0].boat.time_zone


def _one(
    field: Water, name: str, days: pd.DatetimeIndex, depth: Array, zone: ZoneInfo
) -> pd.DataFrame:
    noon = (days + pd.Timedelta(hours=12)).tz_localize(zone).tz_convert("UTC")
    time = np.asarray(noon.as_unit("us").asi8, dtype=np.int64)
    at, wanted = np.repeat(time, len(depth)), np.tile(depth, len(time))
    temp, sd = field.at(at, wanted)
    return pd.DataFrame(
        {
            "water": name,
            "day": np.repeat(days.strftime("%Y-%m-%d").to_numpy(), len(depth)),
            "depth_m": wanted,
            "temp_c": temp,
            "temp_sd_c": sd,
            "source": sources(field, at, wanted),
        }
    )


def sources(field: Water, time: NDArray[np.int64], depth_m: Array) -> NDArray[np.object_]:
    """Tell which kind of thermometer weighs most in each temperature.

    The variance that is left splits without rest into what each kind's information and what the
    prior hold of it, ``C = C (K + sum of informations) C`` with the prior precision ``K``; the
    largest part of a thermometer names the source, unless hardly anything was told at all.
    """
    fit = field.fit
    moments, place = field.moments(time)
    days = np.unique(knot(time)) / DAY_US
    before = field.before(days)
    here = moments.take(place)
    _, design, _ = here.design(here.profile(here.mean), depth_m)
    parts = []
    for told in fit.told:
        weighed = field.projected(fit.covariance @ told @ fit.covariance, days)
        parts.append(_squares(design, weighed, place))
    untold = _squares(design, before, place)
    left = _squares(design, moments.covariance, place)
    found = np.array(KINDS, dtype=object)[np.argmax(parts, axis=0)]
    silent = (left > TOLD * untold) | (np.max(parts, axis=0) <= 0.0)
    return np.where(silent, SEASON, found)


def _squares(design: Array, matrix: Array, place: NDArray[np.intp]) -> Array:
    """Quadratic form of each row of a design with the matrix of its time."""
    return np.asarray(np.sum((design[:, None, :] @ matrix[place])[:, 0] * design, axis=1))
