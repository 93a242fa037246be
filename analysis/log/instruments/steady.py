"""Owns the soaks in a logger's record: stretches in which depth and speed held still in one set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.depth.model import solve_columns
from analysis.log.boat import Boat
from analysis.log.soaks import towed_in

Array = NDArray[np.float64]
Instants = NDArray[np.int64]

SETTLING_US = 180_000_000
"""After it goes in and before it comes out a line sinks, and a log is a minute off."""
BLOCK_US = 240_000_000
LEAST_BLOCKS = 2
"""A stretch is steady over eight minutes at least: a line needs two or three to settle."""
STEADY_M, STEADY_SHARE = 0.6, 0.05
"""How far depths of a block may lie apart, and medians of a stretch: the greater of the two."""
SPEED_APART_MPS = 0.15
"""Speeds nearer than this are one trial: counter and line-out of a set err alike, and a second
soak of it would tell nothing new."""
FITTING = (0.5, 2.0)
"""Logged over modelled depth that can be the gear's own; feet for metres is 3.3 (a rule of ours:
the least known gear, a diver, is known to 20 %)."""


@dataclass(frozen=True, kw_only=True)
class Soak:
    """A steady stretch of one set."""

    time_in: int
    time_out: int
    depth_m: float
    speed_mps: float
    speed_kind: str


def soaks_of(
    time: Instants, depth_m: Array, set_in: int, set_out: int, speeds: pd.DataFrame
) -> list[Soak]:
    """Return the steady stretches of one set, one for each speed.

    Parameters
    ----------
    time : (samples,) int array
        Microseconds, UTC, by the log's clock, ascending.
    depth_m : (samples,) array
    set_in, set_out : int
        When the rod went in and came out.
    speeds : pandas.DataFrame
        ``time`` (microseconds, UTC), ``speed_mps`` and ``speed_kind`` of the trip, by time.
    """
    found: list[Soak] = []
    first, last = set_in + SETTLING_US, set_out - SETTLING_US
    for begin, end in _steady(time, depth_m, first, last):
        inside = (time >= begin) & (time < end)
        speed = _speed(speeds, begin, end)
        if speed is None:
            continue
        depth = float(np.median(depth_m[inside]))
        found.append(
            Soak(
                time_in=begin,
                time_out=end,
                depth_m=depth,
                speed_mps=speed[0],
                speed_kind=speed[1],
            )
        )
    longest = sorted(found, key=lambda soak: (soak.time_in - soak.time_out, soak.time_in))
    kept: list[Soak] = []
    for soak in longest:
        if all(abs(soak.speed_mps - other.speed_mps) >= SPEED_APART_MPS for other in kept):
            kept.append(soak)
    return sorted(kept, key=lambda soak: soak.time_in)


def _steady(time: Instants, depth_m: Array, first: int, last: int) -> Iterator[tuple[int, int]]:
    """Yield beginning and end of each steady stretch between two times."""
    inside = (time >= first) & (time < last)
    block = (time[inside] - first) // BLOCK_US
    # the last block is whole, or is none
    groups = pd.Series(depth_m[inside]).groupby(block)
    table = pd.DataFrame({"median": groups.median(), "apart": groups.max() - groups.min()})
    table = table.loc[(table.index + 1) * BLOCK_US + first <= last]
    steady = table.loc[table["apart"] <= _allowed(table["median"])]
    run: list[int] = []
    for number, median in steady["median"].items():
        near = run and abs(median - steady["median"][run[0]]) <= _allowed(median)
        if run and (number != run[-1] + 1 or not near):
            yield from _stretch(run, first)
            run = []
        run.append(int(number))
    yield from _stretch(run, first)


def _allowed(depth_m: Any) -> Any:
    return np.maximum(STEADY_M, STEADY_SHARE * depth_m)


def _stretch(run: list[int], first: int) -> Iterator[tuple[int, int]]:
    if len(run) >= LEAST_BLOCKS:
        yield first + run[0] * BLOCK_US, first + (run[-1] + 1) * BLOCK_US


def _speed(speeds: pd.DataFrame, begin: int, end: int) -> tuple[float, str] | None:
    """Return the mean speed of a stretch: through the water where it is known so.

    A reading holds until the next one, the first also before it, as for rod-hours.
    """
    water = speeds.loc[speeds["speed_kind"] == "water"]
    for kind, rows in (("water", water), ("ground", speeds)):
        if rows.empty:
            continue
        time = rows["time"].to_numpy()
        last = max(int(np.searchsorted(time, begin, side="right")) - 1, 0)
        until = max(int(np.searchsorted(time, end)), last + 1)
        edges = np.concatenate([[begin], time[last + 1 : until], [end]])
        mean = np.average(rows["speed_mps"].to_numpy()[last:until], weights=np.diff(edges))
        return float(mean), kind
    return None


def misfit(soaks: pd.DataFrame, boat: Boat) -> float:
    """Return by how much logged depths are off what the gears can do; NaN where they fit.

    Parameters
    ----------
    soaks : pandas.DataFrame
        Clean soaks, all of one logger.
    boat : analysis.log.boat.Boat

    Returns
    -------
    float
        Median of logged over modelled depth, where it is beyond `FITTING`.
    """
    ratios = [
        rows["depth_m"].to_numpy() / _modelled(rows, boat, str(gear))
        for gear, rows in soaks.groupby("gear")
    ]
    known = np.concatenate(ratios) if ratios else np.zeros(0)
    known = known[np.isfinite(known)]
    if not len(known):
        return float("nan")
    ratio = float(np.median(known))
    return ratio if not FITTING[0] <= ratio <= FITTING[1] else float("nan")


def _modelled(rows: pd.DataFrame, boat: Boat, gear: str) -> Array:
    towed = boat.gears[gear]
    found = solve_columns(towed, towed_in(rows, boat.lures).for_gear(towed), boat.water)
    return np.asarray(found.depth_m, dtype=float)
