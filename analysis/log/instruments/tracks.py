"""Owns the folder `tracks`: its files read, and what they give to trips and readings."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.depth.limits import SPEED_MPS
from analysis.errors import LogError
from analysis.log.files.content import content_of
from analysis.log.files.dialect import text_of
from analysis.log.files.told_names import told_names
from analysis.log.instruments.track import (
    MEASURED,
    BadLine,
    NoTrackError,
    Track,
    problems_of,
    samples_of,
)
from analysis.log.schema import blank_table
from analysis.log.times import to_frame_time

FOLDER = "tracks"
GPX = ".gpx"
NMEA = (".nmea", ".txt", ".log")
MOST_BYTES = 100_000_000
"""A track with more is refused: a day of every sentence a second takes a tenth of it."""
STEP_US = 600_000_000
"""Readings made of a track are ten minutes apart, each the median of what follows it."""


@dataclass(frozen=True, kw_only=True)
class Tracks:
    """What the folder gives.

    Parameters
    ----------
    samples : pandas.DataFrame
        The columns of `analysis.log.instruments.track.Track`, and ``file``; by time.
    rows : pandas.DataFrame
        ``table, read, kept, set_aside`` of each file.
    aside : tuple of dict
        What was set aside, as everywhere.
    hashes : mapping
        Name within the season folder, a position in it hidden -> SHA-256.
    """

    samples: pd.DataFrame
    rows: pd.DataFrame
    aside: tuple[dict[str, Any], ...]
    hashes: Mapping[str, str]

    def __bool__(self) -> bool:
        """Whether there is a file at all."""
        return len(self.rows) > 0


def is_track(file: Path) -> bool:
    """Whether a file of the folder is read as a track, by the ending of its name."""
    return file.suffix.casefold() in (GPX, *NMEA)


def read_tracks(files: Sequence[Path]) -> Tracks:
    """Read the files of the folder; one that is no track is set aside whole.

    Parameters
    ----------
    files : sequence of pathlib.Path
        Those of the folder that `is_track`.
    """
    frames = [samples_of([]).assign(file="")]
    rows, aside, hashes = [], list[dict[str, Any]](), {}
    for file, told in zip(files, told_names(files), strict=True):
        name = f"{FOLDER}/{told}"
        try:
            content = content_of(file, most=MOST_BYTES)
            hashes[name] = hashlib.sha256(content).hexdigest()
            track = _track(content, file)
        except LogError as error:
            problem = NoTrackError(error.problem, error.remedy, error.row or 1)
            track = _refused(problem)
        except NoTrackError as error:
            track = _refused(error)
        aside += problems_of(name, track.bad)
        rows.append((name, track.read, track.read - len(track.bad), len(track.bad)))
        frames.append(track.samples.assign(file=name))
    samples = pd.concat(frames, ignore_index=True).sort_values(["time", "file", "line"])
    return Tracks(
        samples=samples.reset_index(drop=True),
        rows=pd.DataFrame(rows, columns=["table", "read", "kept", "set_aside"]),
        aside=tuple(aside),
        hashes=hashes,
    )


def _track(content: bytes, file: Path) -> Track:
    # only a file that is a track makes the two libraries worth their loading
    text, _ = text_of(content, file)
    if file.suffix.casefold() == GPX:
        from analysis.log.instruments.gpx import read_gpx

        return read_gpx(text)
    from analysis.log.instruments.nmea import read_nmea

    return read_nmea(text)


def _refused(error: NoTrackError) -> Track:
    bad = BadLine(line=error.line, kind="", reason=error.reason, remedy=error.remedy)
    return Track(samples=samples_of([]), read=1, bad=(bad,))


def within(tracks: Tracks, trips: pd.DataFrame) -> tuple[NDArray[np.intp], Tracks]:
    """Find the trip of each sample; a file of which none lies in a trip is set aside.

    Parameters
    ----------
    tracks : Tracks
    trips : pandas.DataFrame
        Clean trips.

    Returns
    -------
    trip : (samples,) int array
        Row of the trip, -1 outside all.
    tracks : Tracks
        The same, with what is set aside.
    """
    order = trips["start"].to_numpy().argsort(kind="stable")
    start, end = (
        trips[name].astype("int64").to_numpy()[order] if len(trips) else np.zeros(0, np.int64)
        for name in ("start", "end")
    )
    time = tracks.samples["time"].to_numpy()
    place = np.searchsorted(start, time, side="right") - 1
    inside = (place >= 0) & (time <= end[np.maximum(place, 0)])
    trip = np.where(inside, order[np.maximum(place, 0)], -1)
    used = set(tracks.samples.loc[inside, "file"])
    aside = list(tracks.aside)
    idle = set()
    for name in tracks.rows["table"]:
        mine = tracks.samples.loc[tracks.samples["file"] == name]
        if name in used or mine.empty:
            continue
        first = pd.Timestamp(int(mine["time"].iloc[0]), unit="us")
        bad = BadLine(
            line=int(mine["line"].iloc[0]),
            kind="",
            reason=f"none of its times lies within a trip; the first is of {first:%Y-%m-%d} UTC",
            remedy="add the trip to trips, correct its date and times, or move the file away",
        )
        aside += problems_of(name, [bad])
        idle.add(name)
    rows, none = tracks.rows, tracks.rows["table"].isin(idle)
    rows = rows.assign(
        kept=rows["kept"].where(~none, 0), set_aside=rows["set_aside"].where(~none, rows["read"])
    )
    return trip, replace(tracks, rows=rows, aside=tuple(aside))


def courses_of_tracks(tracks: Tracks, trip: NDArray[np.intp], trips: pd.DataFrame) -> pd.DataFrame:
    """Return the courses of samples within trips, as `turning.turns_of` takes headings."""
    inside = trip >= 0
    names = trips["trip"].to_numpy()[trip[inside]]
    samples = tracks.samples.loc[inside, ["time", "course_deg"]]
    return samples.rename(columns={"course_deg": "heading_deg"}).assign(trip=names)


def readings_of_tracks(
    tracks: Tracks, trip: NDArray[np.intp], trips: pd.DataFrame, typed: pd.DataFrame | None
) -> pd.DataFrame:
    """Make readings of what the tracks tell, where the log itself does not.

    Speed through the water goes before speed over ground, and what was typed before what was
    recorded: of a trip with typed speeds only speed through the water is added, and that only
    where none is typed; of a trip with typed surface temperatures none.

    Parameters
    ----------
    tracks, trip
        As `within` returns them.
    trips : pandas.DataFrame
        Clean trips.
    typed : pandas.DataFrame or None
        Clean readings of the log.

    Returns
    -------
    pandas.DataFrame
        Rows of clean readings; their ``line`` is 0.
    """
    blank = blank_table("readings")
    inside = trip >= 0
    if not inside.any():
        return blank
    names = trips["trip"].to_numpy()[trip[inside]]
    start = trips["start"].astype("int64").to_numpy()[trip[inside]]
    samples = tracks.samples.loc[inside]
    step = (samples["time"].to_numpy() - start) // STEP_US
    of = samples.assign(trip=names, at=start + step * STEP_US)
    found = of.groupby(["trip", "at"], as_index=False)[list(MEASURED)].median()
    slow = found[["ground_mps", "water_mps"]]
    found[["ground_mps", "water_mps"]] = slow.where(slow <= SPEED_MPS.high)
    typed = blank if typed is None else typed
    with_speed = typed.loc[typed["speed_mps"].notna()]
    with_water = set(with_speed.loc[with_speed["speed_kind"] == "water", "trip"])
    with_surface = set(typed.loc[typed["surface_temp_c"].notna(), "trip"])
    recorded = set(found.loc[found["water_mps"].notna(), "trip"]) - with_water
    water = found["water_mps"].where(found["trip"].isin(recorded))
    silent = ~found["trip"].isin(set(with_speed["trip"]) | recorded)
    speed = water.where(water.notna(), found["ground_mps"].where(silent))
    readings = pd.DataFrame(
        {
            "trip": found["trip"].astype("str"),
            "time": to_frame_time(found["at"].to_numpy(dtype=np.int64), found.index),
            "speed_mps": speed,
            "speed_kind": np.select([water.notna(), speed.notna()], ["water", "ground"], ""),
            "surface_temp_c": found["surface_temp_c"].where(~found["trip"].isin(with_surface)),
            "depth_temp_c": np.nan,
            "probe_depth_m": np.nan,
            "heading_deg": np.nan,
            "line": 0,
        }
    )
    said = readings[["speed_mps", "surface_temp_c"]].notna().any(axis=1)
    return readings.loc[said, list(blank.columns)].astype(blank.dtypes.to_dict())
