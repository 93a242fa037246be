"""Owns the reading of GPX 1.1: speed, course and water temperature by time, positions dropped.

A point's own speed and water temperature stand in its extensions, as ``speed`` (m/s) and ``wtemp``
(C) of whichever namespace. The course is that of the way from point to point, and so is the speed
where no point has one.
"""

import math
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import gpxpy
import numpy as np
from gpxpy.gpx import GPXException
from numpy.typing import NDArray

from analysis.log.instruments.track import (
    DRIFTING_MPS,
    FASTEST_MPS,
    BadLine,
    NoTrackError,
    OddValueError,
    Track,
    known_speed,
    known_temperature,
    samples_of,
)

STEP_S = 60.0
"""Speed from positions is that of so long a way: between points a second apart it would be the
receiver's own jitter (a few metres, from memory), not the boat's."""
LONGEST_STEP_S = 300.0
EARTH_M = 6_371_008.8
"""Mean radius of the earth (IUGG; Moritz 2000, *Geodetic Reference System 1980*)."""

_POINT = re.compile(r"<(?:\w+:)?trkpt\b")
_OTHER_FILE = "move it away, or export the track again as GPX 1.1"


def read_gpx(text: str) -> Track:
    """Read a track.

    Parameters
    ----------
    text : str

    Returns
    -------
    Track

    Raises
    ------
    NoTrackError
        Where it is no GPX, or has no point with a time.
    """
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        msg = "this file defines parts of its own, which no track does"
        raise NoTrackError(msg, _OTHER_FILE)
    try:
        gpx = gpxpy.parse(text)
    # a parser's own words may repeat what stands there
    except (GPXException, ValueError, TypeError, RecursionError) as error:
        row = re.search(r"line (\d+)", str(error))
        msg = "this file cannot be read as GPX"
        raise NoTrackError(msg, _OTHER_FILE, int(row[1]) if row else 1) from None
    lines = _lines(text)
    bad: list[BadLine] = []
    rows: list[tuple[float, ...]] = []
    ways: list[tuple[float, ...]] = []
    read = 0
    for points in (segment.points for track in gpx.tracks for segment in track.segments):
        timed = []
        for point in points:
            read += 1
            line = next(lines, 1)
            if point.time is None:
                reason, remedy = "this point has no time", "export the track with times"
                bad.append(BadLine(line=line, kind="trkpt", reason=reason, remedy=remedy))
                continue
            time = _seconds(point.time)
            try:
                told = _extensions(point)
            except OddValueError as error:
                remedy = "check the track"
                bad.append(BadLine(line=line, kind="trkpt", reason=str(error), remedy=remedy))
                continue
            rows.append((time * 1e6, told["speed"], math.nan, told["wtemp"], math.nan, line))
            timed.append((time, point.latitude, point.longitude, line))
        ways += _ways(np.array(timed, dtype=float).reshape(-1, 4))
    if not rows:
        msg = "this file has no track point with a time"
        raise NoTrackError(msg, "export the track with times, as GPX 1.1")
    if any(not math.isnan(row[1]) for row in rows):
        ways = [(way[0], math.nan, *way[2:]) for way in ways if not math.isnan(way[4])]
    rows += ways
    return Track(samples=samples_of(rows), read=read, bad=tuple(bad))


def _lines(text: str) -> Iterator[int]:
    """Yield the line of each point of the file."""
    line, at = 1, 0
    for found in _POINT.finditer(text):
        line += text.count("\n", at, found.start())
        at = found.start()
        yield line


def _seconds(time: datetime) -> float:
    """Return seconds since 1970; a time without a zone is UTC, as GPX 1.1 has it."""
    return (time if time.tzinfo else time.replace(tzinfo=UTC)).timestamp()


def _extensions(point: Any) -> dict[str, float]:
    """Return the speed and water temperature that a point has of its own, NaN for none."""
    found = {"speed": math.nan, "wtemp": math.nan}
    if point.speed is not None:
        found["speed"] = known_speed(float(point.speed))
    for extension in point.extensions:
        for element in extension.iter():
            name = str(element.tag).rpartition("}")[2].casefold()
            if name not in found or not (element.text or "").strip():
                continue
            try:
                value = float(element.text)
            except ValueError:
                msg = f"its {name} is not a number"
                raise OddValueError(msg) from None
            found[name] = known_speed(value) if name == "speed" else known_temperature(value)
    return found


def _ways(points: NDArray[np.float64]) -> list[tuple[float, ...]]:
    """Return speed and course over ground from point to point, `STEP_S` apart, mid-way in time.

    Parameters
    ----------
    points : (points, 4) array
        Seconds, degrees north, degrees east, line.
    """
    if len(points) < 2:
        return []
    points = points[np.argsort(points[:, 0], kind="stable")]
    _, first = np.unique(points[:, 0] // STEP_S, return_index=True)
    picked = points[first]
    seconds = np.diff(picked[:, 0])
    ends = (*picked[:-1, 1:3].T, *picked[1:, 1:3].T)
    speed = distance_m(*ends) / np.maximum(seconds, 1e-9)
    course = np.where((speed >= DRIFTING_MPS) & (speed <= FASTEST_MPS), course_deg(*ends), np.nan)
    good = (seconds >= STEP_S / 2) & (seconds <= LONGEST_STEP_S)
    middle = (picked[:-1, 0] + picked[1:, 0]) / 2.0
    return [
        (middle[i] * 1e6, speed[i], math.nan, math.nan, course[i], picked[i, 3])
        for i in np.flatnonzero(good).tolist()
    ]


def distance_m(
    north: NDArray[np.float64],
    east: NDArray[np.float64],
    to_north: NDArray[np.float64],
    to_east: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the great-circle distance between positions in degrees, by the haversine formula.

    ``2 R asin sqrt(sin^2(dn/2) + cos n1 cos n2 sin^2(de/2))`` (R. W. Sinnott, "Virtues of the
    Haversine", Sky and Telescope 68(2), 1984, p. 159, from memory).

    Examples
    --------
    >>> distance_m(*(np.array([v]) for v in (0.0, 0.0, 0.0, 1.0)))
    array([111195.1])
    """
    n, e, to_n, to_e = (np.radians(value) for value in (north, east, to_north, to_east))
    half = np.sin((to_n - n) / 2) ** 2 + np.cos(n) * np.cos(to_n) * np.sin((to_e - e) / 2) ** 2
    return np.asarray(2.0 * EARTH_M * np.arcsin(np.sqrt(half)))


def course_deg(
    north: NDArray[np.float64],
    east: NDArray[np.float64],
    to_north: NDArray[np.float64],
    to_east: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the course from true north at which a great circle sets out, positions in degrees.

    ``tan c = sin de cos n2 / (cos n1 sin n2 - sin n1 cos n2 cos de)`` (any text on navigation; from
    memory).

    Examples
    --------
    >>> zero = np.zeros(2)
    >>> course_deg(zero, zero, np.array([0.0, -1.0]), np.array([1.0, 0.0]))
    array([ 90., 180.])
    """
    n, e, to_n, to_e = (np.radians(value) for value in (north, east, to_north, to_east))
    across = np.sin(to_e - e) * np.cos(to_n)
    ahead = np.cos(n) * np.sin(to_n) - np.sin(n) * np.cos(to_n) * np.cos(to_e - e)
    return np.asarray(np.degrees(np.arctan2(across, ahead)) % 360.0)
