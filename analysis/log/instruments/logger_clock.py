"""Owns how far a logger's clock is off: its depths are laid over the times the rod was down.

At every shift of the clock, the sum of depths is parted into what one depth a set explains and
the rest (as squares of their roots), and what lies outside the sets counts against it. Sets that
begin, end, or change their depth make one shift fit and the others not; where nothing does, the
clock cannot be told. Roots of depths, for a line sinks in minutes: its time in is nearer to when
the logger left the surface than to when it was half-way down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Instants = NDArray[np.int64]
Stretch = tuple[int, int]
"""Beginning and end, microseconds since 1970, UTC."""

GRID_US = 30_000_000
FURTHEST_H = 14.0
"""A clock may be off by a time zone and a half; what is off by more is another day's."""
NEARLY = 0.01
"""Shifts that explain so little less than the best fit as well: a minute at each end of a set of
an hour and a half, about what a log written to the minute can tell."""
CERTAIN_MIN = 10.0
"""Shifts further apart than this, of which each fits, leave the clock unknown."""
RIGHT_MIN = 2.0
"""A clock off by no more is right: the log's own times are no better."""
LEAST_EXPLAINED = 0.8
"""Share of the squared depths within the sets' hours that must be explained."""
LEAST_DOWN = 0.7
"""Share of the sets' time in which the logger must have been well down."""
_SILENT_US = 600_000_000
_DOWN_SHARE = 0.25


@dataclass(frozen=True, kw_only=True)
class Clock:
    """What a logger's depths say of its clock.

    Parameters
    ----------
    offset_us : int or None
        To be added to the logger's times; None where nothing tells.
    least_us, most_us : int
        The shifts that fit nearly as well.
    fits : bool
        Whether the depths go down and come up with the sets at all.
    """

    offset_us: int | None
    least_us: int
    most_us: int
    fits: bool


def clock_of(
    time: Instants, depth_m: Array, sets: Sequence[Stretch], window: Sequence[Stretch]
) -> Clock:
    """Find the shift of a logger's clock.

    Parameters
    ----------
    time : (samples,) int array
        Microseconds by the logger's clock, ascending.
    depth_m : (samples,) array
    sets : sequence of (int, int)
        When the rod was down.
    window : sequence of (int, int)
        When the logger hung on it; outside the sets but within these it was not down.

    Returns
    -------
    Clock
    """
    depth, first = _gridded(time, depth_m)
    shifts = np.arange(-int(FURTHEST_H * 3.6e9), int(FURTHEST_H * 3.6e9) + 1, GRID_US)
    sums = np.concatenate([[0.0], np.cumsum(depth)])
    squares = np.concatenate([[0.0], np.cumsum(depth**2)])

    def over(total: Array, stretch: Stretch) -> Array:
        low, high = (_place(edge - shifts, first, len(depth)) for edge in stretch)
        return np.asarray(total[high] - total[low])

    cells = [max((b - a) / GRID_US, 1.0) for a, b in sets]
    within = sum(over(squares, stretch) for stretch in sets)
    every = np.maximum(sum(over(squares, stretch) for stretch in window), within)
    explained = sum(
        over(sums, stretch) ** 2 / n for stretch, n in zip(sets, cells, strict=True)
    ) - (every - within)
    best = float(np.max(explained))
    if not best > 0.0:
        return Clock(offset_us=None, least_us=0, most_us=0, fits=False)
    near = shifts[explained >= (1.0 - NEARLY) * best]
    least, most = int(near[0]), int(near[-1])
    right = np.abs(near) <= RIGHT_MIN * 6e7
    offset: int | None = int((least + most) // 2)
    if right.any():
        offset = 0
    elif most - least > CERTAIN_MIN * 6e7:
        offset = None
    chosen = int(np.searchsorted(shifts, 0 if offset is None else offset))
    total = float(np.asarray(every)[chosen])
    share = float(explained[chosen]) / total if total else 0.0
    fits = share >= LEAST_EXPLAINED and _down(depth, first, sets, shifts[chosen]) >= LEAST_DOWN
    return Clock(offset_us=offset, least_us=least, most_us=most, fits=bool(fits))


def _place(edge: Instants, first: int, count: int) -> NDArray[np.intp]:
    return np.clip(np.rint((edge - first) / GRID_US), 0, count).astype(np.intp)


def _gridded(time: Instants, depth_m: Array) -> tuple[Array, int]:
    """Return the root of the depth at every `GRID_US` from the first sample, 0 in silences."""
    first = int(time[0])
    at = np.arange(first, int(time[-1]) + 1, GRID_US)
    depth = np.sqrt(np.interp(at, time, np.maximum(depth_m, 0.0)))
    after = np.clip(np.searchsorted(time, at), 1, max(len(time) - 1, 1))
    gap = time[np.minimum(after, len(time) - 1)] - time[after - 1]
    return np.where(gap > _SILENT_US, 0.0, depth), first


def _down(depth: Array, first: int, sets: Sequence[Stretch], shift: int) -> float:
    """Return the share of the sets' time in which the logger was well down."""
    parts = [
        depth[slice(*(int(_place(np.array([e - shift]), first, len(depth))[0]) for e in stretch))]
        for stretch in sets
    ]
    inside = np.concatenate(parts)
    if not len(inside):
        return 0.0
    down = inside > np.sqrt(_DOWN_SHARE) * np.median(inside)
    return float(down.sum() * GRID_US / sum(b - a for a, b in sets))
