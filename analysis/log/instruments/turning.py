"""Owns how fast the boat turned: of the headings that were logged, or the course of its tracks.

A turn is what many headings say together. A compass read by eye is off by 5 degrees and a receiver
by a few metres, and a line takes about as long to follow as the boat takes to go its length: so the
rate is that of whole minutes, and only minutes in a row that turn the same way, and together by
`LEAST_TURN_RAD`, are a turn. All else is straight ahead, and what lies between headings too far
apart is not known: the boat may have gone about.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.log.times import to_frame_time

Array = NDArray[np.float64]

COLUMNS = ("trip", "time", "turn_rad_s")
BIN_S = 20.0
"""Headings of so long are one, their directions averaged: a turn of 20 m radius at 1.1 m/s goes 63
degrees meanwhile."""
AGREED = 0.3
"""Length of the mean of unit vectors below which the headings of a bin point nowhere: at rest."""
SMOOTH_S = 60.0
"""The rate is that of so long."""
LONGEST_GAP_S = 100.0
"""Between headings further apart the boat may have turned either way round: at 1.1 m/s one of 35 m
radius turns by half a circle."""
STRAIGHT_RAD_S = 0.004
"""A boat that turns no faster goes straight ahead: at 1.1 m/s a radius of 275 m, which moves the
depth of lead core by 3 % (`tests/depth/test_streams.py` has how)."""
LEAST_TURN_RAD = np.pi / 6.0
"""A turn goes at least so far: less is steering, or a compass that swings."""
_DECIMALS = 3  # of rad/s, so that turns alike are alike
_US = 1_000_000


def headings_of(readings: pd.DataFrame | None) -> pd.DataFrame:
    """Return the headings of clean readings as `turns_of` takes them."""
    if readings is None:
        return pd.DataFrame({"trip": [], "time": [], "heading_deg": []})
    time_us = readings["time"].astype("int64")
    return readings[["trip", "heading_deg"]].assign(time=time_us)


def turns_of(headings: pd.DataFrame) -> pd.DataFrame:
    """Return how fast a boat turned, from when on.

    Parameters
    ----------
    headings : pandas.DataFrame
        ``trip, time`` (microseconds since 1970, UTC) and ``heading_deg``, in any order; headings
        of one trip from one zero, true or magnetic.

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`, sorted: a rate (positive to starboard, 0 straight ahead, NaN not known) holds
        until the next row of its trip. Of a trip whose headings tell nothing there is no row; the
        first row of any other is NaN, since nothing is known before it.
    """
    rows = [
        (trip, time_us, rate)
        for trip, part in headings.dropna(subset=["heading_deg"]).groupby("trip", sort=True)
        for time_us, rate in _changes(
            part["time"].to_numpy(dtype=np.int64), np.radians(part["heading_deg"].to_numpy())
        )
    ]
    found = pd.DataFrame(rows, columns=list(COLUMNS))
    times = to_frame_time(found["time"].to_numpy(dtype=np.int64), found.index)
    return found.assign(time=times).astype({"trip": "str", "turn_rad_s": "float64"})


def _changes(time_us: NDArray[np.int64], heading_rad: Array) -> Iterator[tuple[int, float]]:
    """Yield from when on a trip's boat turned how fast."""
    origin = int(time_us.min()) // (int(SMOOTH_S) * _US) * int(SMOOTH_S) * _US
    minute, rate = _by_minute((time_us - origin) / _US, heading_rad)
    if not len(minute):
        return
    until = -1  # the minute at which the last run ended
    for run in np.split(np.arange(len(minute)), _breaks(minute, np.sign(rate)) + 1):
        begins = int(minute[run[0]])
        if begins != until:
            gap_from = until if until >= 0 else begins - 1
            yield origin + gap_from * int(SMOOTH_S) * _US, np.nan
        yield origin + begins * int(SMOOTH_S) * _US, round(float(rate[run].mean()), _DECIMALS)
        until = int(minute[run[-1]]) + 1
    yield origin + until * int(SMOOTH_S) * _US, np.nan


def _by_minute(time_s: Array, heading_rad: Array) -> tuple[NDArray[np.int64], Array]:
    """Return the minutes in which the boat's turning is known, and its rate; 0 straight ahead."""
    time_s, turned = _smoothed(time_s, heading_rad)
    minutes, rates = [np.zeros(0, dtype=np.int64)], [np.zeros(0)]
    for part in np.split(
        np.arange(len(time_s)), np.flatnonzero(np.diff(time_s) > LONGEST_GAP_S) + 1
    ):
        if not len(part):
            continue
        # each stretch by itself is turned by less than half a circle from heading to heading
        whole = np.unwrap(turned[part])
        first, last = np.ceil(time_s[part[0]] / SMOOTH_S), np.floor(time_s[part[-1]] / SMOOTH_S)
        edges = np.arange(first, last + 1.0)
        if len(edges) < 2:
            continue
        rate = np.diff(np.interp(edges * SMOOTH_S, time_s[part], whole)) / SMOOTH_S
        minutes.append(edges[:-1].astype(np.int64))
        rates.append(_turns_alone(rate))
    return np.concatenate(minutes), np.concatenate(rates)


def _smoothed(time_s: Array, heading_rad: Array) -> tuple[Array, Array]:
    """Average times and directions of headings `BIN_S` apart."""
    _, place = np.unique(time_s // BIN_S, return_inverse=True)
    count = np.bincount(place)
    mean = np.bincount(place, np.cos(heading_rad)) + 1j * np.bincount(place, np.sin(heading_rad))
    agreed = np.abs(mean) > AGREED * count
    return (np.bincount(place, time_s) / count)[agreed], np.angle(mean)[agreed]


def _turns_alone(rate: Array) -> Array:
    """Return rates of minutes in a row, 0 in all that are part of no turn."""
    rate = np.where(np.abs(rate) < STRAIGHT_RAD_S, 0.0, rate)
    for run in np.split(np.arange(len(rate)), np.flatnonzero(np.diff(np.sign(rate))) + 1):
        if abs(rate[run].sum()) * SMOOTH_S < LEAST_TURN_RAD:
            rate[run] = 0.0
    return rate


def _breaks(minute: NDArray[np.int64], way: Array) -> NDArray[np.intp]:
    """Return after which minutes the boat goes another way, or is lost from sight."""
    return np.flatnonzero((np.diff(minute) > 1) | (np.diff(way) != 0))
