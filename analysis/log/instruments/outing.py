"""Owns when a trip began and ended by the boat's track, where the log does not say."""

from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analysis.log.files.tables import Reading, TextTable
from analysis.log.instruments.tracks import Tracks
from analysis.log.times import NAT, parse, readings_of

TROLLING_MPS = (0.4, 2.2)
"""Speeds at which lines are towed (common practice, no source)."""
BLOCK_US = 300_000_000
"""The speed of so long is one: a turn or a fish fought is shorter."""
LEAST_BLOCKS = 2
"""Blocks in a row at trolling speed that are no passing through a harbour."""
NEW_OUTING_US = 3 * 3_600_000_000
"""A track silent for so long has come home."""
BEYOND_US = 3_600_000_000
"""Lines may be in so long before the boat settles at its speed, or after it left it."""
_DAY_US = 86_400_000_000


def with_outings(
    trips: TextTable, sets: TextTable | None, tracks: Tracks, zone: ZoneInfo
) -> TextTable:
    """Write the start and end of trips that have none, by the track of their date.

    A trip's lines were in from the first to the last stretch at trolling speed, and while the
    trip's own sets say so. Where a date has several trips, none is filled in: nobody can tell
    which outing is whose.

    Parameters
    ----------
    trips, sets : TextTable
        In our words.
    tracks : Tracks
    zone : zoneinfo.ZoneInfo
        The boat's.

    Returns
    -------
    TextTable
        The trips, with a note of each cell that was filled in.
    """
    frame = trips.frame.copy()
    for name in ("start", "end"):
        if name not in frame:
            frame[name] = pd.Series("", index=frame.index, dtype="str")
    date_us = parse(frame["date"])["date_us"].to_numpy()
    alone = ~pd.Series(date_us).duplicated(keep=False).to_numpy()
    lacking = {name: (frame[name] == "").to_numpy() for name in ("start", "end")}
    filled = {name: np.zeros(len(frame), dtype=bool) for name in lacking}
    some = (lacking["start"] | lacking["end"]) & alone & (date_us != NAT)
    written = {name: frame[name].to_numpy(dtype=object).copy() for name in lacking}
    for row in np.flatnonzero(some).tolist():
        found = _outing(tracks.samples, int(date_us[row]), zone)
        if found is None:
            continue
        if sets is not None:
            mine = sets.frame.loc[sets.frame["trip"] == frame["trip"].iloc[row]]
            found = _widened(found, mine, int(date_us[row]))
        for name, local in zip(("start", "end"), found, strict=True):
            if lacking[name][row]:
                written[name][row] = _written(local)
                filled[name][row] = True
    frame = frame.assign(
        **{name: pd.Series(text, index=frame.index, dtype="str") for name, text in written.items()}
    )
    readings = [
        Reading(
            column=name,
            rows=rows,
            reason="nothing is written; by its track the boat trolled "
            + {"start": "from ", "end": "until "}[name]
            + written[name],
            remedy="write the time, if it was another",
        )
        for name, rows in filled.items()
        if rows.any()
    ]
    return replace(
        trips,
        frame=frame,
        written=trips.frame if trips.written is None else trips.written,
        readings=(*trips.readings, *readings),
    )


def _outing(samples: pd.DataFrame, date_us: int, zone: ZoneInfo) -> tuple[int, int] | None:
    """Return from when to when the boat trolled, as local microseconds; None where it did not."""
    midnight = int(readings_of(np.array([date_us]), zone)[0][0])
    moving = samples.loc[samples["ground_mps"].notna() | samples["water_mps"].notna()]
    time = moving["time"].to_numpy()
    first = np.searchsorted(time, midnight)
    later = moving.iloc[first:]
    if later.empty or later["time"].iloc[0] >= midnight + _DAY_US:
        return None
    silent = np.flatnonzero(np.diff(later["time"].to_numpy()) > NEW_OUTING_US)
    if len(silent):
        later = later.iloc[: silent[0] + 1]
    speed = later["ground_mps"].fillna(later["water_mps"])
    block = later["time"] // BLOCK_US
    usual = speed.groupby(block).median()
    low, high = TROLLING_MPS
    trolled = usual.index[usual.between(low, high)].to_numpy()
    runs = np.split(trolled, np.flatnonzero(np.diff(trolled) > 1) + 1)
    runs = [run for run in runs if len(run) >= LEAST_BLOCKS]
    if not runs:
        return None
    mine = later["time"].to_numpy()[np.isin(block, np.concatenate(runs))]
    stamps = pd.DatetimeIndex(np.array([mine[0], mine[-1]]).view("datetime64[us]"))
    local: Any = stamps.tz_localize("UTC").tz_convert(zone).tz_localize(None).as_unit("us").asi8
    return int(local[0]), int(local[1])


def _widened(outing: tuple[int, int], sets: pd.DataFrame, date_us: int) -> tuple[int, int]:
    """Return an outing that holds the trip's own sets as far as they begin or end near it."""
    start, end = outing
    for name in ("time_in", "time_out"):
        if name not in sets:
            continue
        told = parse(sets[name])
        date = told["date_us"].where(told["date_us"] != NAT, date_us)
        local = (date + told["clock_us"])[told["clock_us"] != NAT]
        start = min([start, *local[(local >= start - BEYOND_US) & (local < start)]])
        end = max([end, *local[(local <= end + BEYOND_US) & (local > end)]])
    return int(start), int(end)


def _written(local_us: int) -> str:
    return f"{pd.Timestamp(local_us, unit='us'):%Y-%m-%d %H:%M}"
