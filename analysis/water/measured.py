"""Owns what was measured of a water: casts, probes and surface readings of all its boats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

if TYPE_CHECKING:
    from analysis.log import SeasonLog


Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

DAY_US = 86_400_000_000
KNOT_H = 3.0
"""Temperatures within so many hours share one state of the water."""

CAST, LOGGER, PROBE, SURFACE = "cast", "logger", "probe", "surface"
KINDS = (CAST, LOGGER, PROBE, SURFACE)
ERROR_C = {CAST: 0.2, LOGGER: 0.2, PROBE: 0.25, SURFACE: 0.3}
"""Standard deviation of one temperature by its kind (assumed: a hand thermometer or a probe is good
to 0.2-0.3 C, and the sounder measures a skin that the sun warms)."""
ERROR_M = {CAST: 0.25, LOGGER: 0.3, PROBE: 0.6, SURFACE: 0.0}
"""Standard deviation of the depth at which it was taken (assumed: line angle, waves, blow-back)."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """Temperatures measured in one water, one entry each.

    Attributes
    ----------
    time : (n,) int array
        Microseconds since 1970, UTC.
    depth_m, temp_c : (n,) arrays
    kind : (n,) int array
        Number in `KINDS`.
    boat : (n,) int array
        Season folder, as sensors err in their own way.
    group : (n,) int array
        One cast, one trip's probe, one trip's surface readings, one stretch of a logger: what is
        believed or not as a whole.
    line : (n,) int array
        Line of the file; of a mean of several, the first. 0 is a reading from tracks.
    """

    time: NDArray[np.int64]
    depth_m: Array
    temp_c: Array
    kind: Index
    boat: Index
    group: Index
    line: NDArray[np.int64]

    def __len__(self) -> int:
        """Count the temperatures."""
        return len(self.time)

    @property
    def day(self) -> Array:
        """Days since 1970, UTC."""
        return np.asarray(self.time / DAY_US)

    @property
    def error_c(self) -> Array:
        """Standard deviation of each temperature."""
        return np.array([ERROR_C[kind] for kind in KINDS])[self.kind]

    @property
    def error_m(self) -> Array:
        """Standard deviation of each depth."""
        return np.array([ERROR_M[kind] for kind in KINDS])[self.kind]

    def of_kind(self, *kinds: str) -> Mask:
        """Entries of some kinds."""
        return np.isin(self.kind, [KINDS.index(kind) for kind in kinds])

    @property
    def below_surface(self) -> Mask:
        """Entries that tell more than the surface."""
        return ~self.of_kind(SURFACE)

    def where(self, chosen: Mask) -> Measured:
        """Only some of the temperatures."""
        names = ("time", "depth_m", "temp_c", "kind", "boat", "group", "line")
        return replace(self, **{name: getattr(self, name)[chosen] for name in names})


def measured(logs: Sequence[SeasonLog]) -> Measured:
    """Gather the temperatures of some boats and seasons on one water.

    Readings of one sensor within `KNOT_H` hours of a trip (and, of a probe, within a metre) are
    averaged: ten-minute readings of a sounder are hardly more than one.

    Parameters
    ----------
    logs : sequence of SeasonLog

    Returns
    -------
    Measured
    """
    frames = [frame for boat, log in enumerate(logs) for frame in _of_boat(log, boat)]
    if not frames:
        frames = [_rows(pd.DataFrame(columns=["trip", "time", "depth_m", "temp_c", "line"]), 0, 0)]
    rows = pd.concat(frames, ignore_index=True)
    group = rows.groupby(["boat", "kind", "trip", "cast"]).ngroup()
    return Measured(
        time=rows["time"].to_numpy(dtype=np.int64),
        depth_m=rows["depth_m"].to_numpy(dtype=float),
        temp_c=rows["temp_c"].to_numpy(dtype=float),
        kind=rows["kind"].to_numpy(dtype=np.intp),
        boat=rows["boat"].to_numpy(dtype=np.intp),
        group=np.asarray(group, dtype=np.intp),
        line=rows["line"].to_numpy(dtype=np.int64),
    )


def knot(time: NDArray[np.int64]) -> NDArray[np.int64]:
    """Middle of the stretch of `KNOT_H` hours that each time falls in."""
    step = int(KNOT_H * 3.6e9)
    return np.asarray(time // step * step + step // 2)


def _of_boat(log: SeasonLog, boat: int) -> list[pd.DataFrame]:
    found = []
    if log.casts is not None and len(log.casts):
        rows = log.casts.groupby(["trip", "time", "depth_m"], as_index=False)
        mean = rows.agg({"temp_c": "mean", "line": "first"})
        found.append(_rows(mean, boat, KINDS.index(CAST)))
    if log.readings is not None:
        probe = log.readings.dropna(subset=["depth_temp_c", "probe_depth_m"])
        probe = probe.rename(columns={"depth_temp_c": "temp_c", "probe_depth_m": "depth_m"})
        found.append(_averaged(probe, boat, PROBE))
        surface = log.readings.dropna(subset=["surface_temp_c"])
        surface = surface.assign(depth_m=0.0, temp_c=surface["surface_temp_c"])
        found.append(_averaged(surface, boat, SURFACE))
    found.append(_averaged(log.logged, boat, LOGGER, ["line"]))
    return [rows for rows in found if len(rows)]


def _averaged(rows: pd.DataFrame, boat: int, kind: str, apart: Sequence[str] = ()) -> pd.DataFrame:
    """Average a sensor's readings by trip, stretch of time and metre of depth.

    `apart` are columns that tell sensors of one kind apart.
    """
    time = rows["time"].astype("int64") if len(rows) else pd.Series(dtype="int64")
    keyed = rows.assign(
        time_us=time, knot=knot(np.asarray(time, dtype=np.int64)), metre=rows["depth_m"].round()
    )
    means = {"time_us": "mean", "depth_m": "mean", "temp_c": "mean"}
    if "line" not in apart:
        means["line"] = "first"
    mean = keyed.groupby(["trip", "knot", "metre", *apart], as_index=False).agg(means)
    return _rows(mean.assign(time=mean["time_us"].round()), boat, KINDS.index(kind))


def _rows(rows: pd.DataFrame, boat: int, kind: int) -> pd.DataFrame:
    """Columns of every kind; a cast is told by its time, a logger by its line of loggers."""
    time = rows["time"]
    stamps = time.astype("int64")
    cast = {CAST: stamps, LOGGER: rows["line"]}.get(KINDS[kind], 0)
    return pd.DataFrame(
        {
            "time": stamps,
            "depth_m": rows["depth_m"],
            "temp_c": rows["temp_c"],
            "kind": kind,
            "boat": boat,
            "trip": rows["trip"],
            "cast": cast,
            "line": rows["line"],
        }
    )
