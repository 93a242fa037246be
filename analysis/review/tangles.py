"""Owns what goes wrong on the lines: false releases, tangles, and which rods tangled together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import pdtrc

from analysis.effort.slices import instants
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import weighted_quantile
from analysis.stats.intervals import rate_interval
from analysis.units import Units, to_si

Array = NDArray[np.float64]

TROUBLES = (
    *("gear", "setting", "line_out_low_m", "line_out_high_m", "rod_hours"),
    *("false_releases", "tangles", "per_100_rod_hours", "low", "high"),
)
PAIRS = (
    *("boat", "rod_a", "rod_b", "tangles", "by_chance", "hours_together"),
    *("per_100_hours", "low", "high", "beyond_chance"),
)
FALSE_RELEASE = "false release"
TANGLE = "tangle"
STEP = {"ft": 50.0, "m": 15.0}
"""A class of line-out ends at a whole multiple of this."""
CLASS_HOURS = 20.0
"""Rod-hours that either class of line-out needs, for a gear to be split in two."""
PAIR_MINUTES = 5.0
"""Tangles on two rods of a trip within so many minutes are one tangle of the two."""
FEWEST_PAIRS = 3
RARE = 0.01
"""A pair tangled beyond chance where chance gives as many with less than this probability."""


def troubles_table(seasons: Sequence[BoatSeason], units: Units) -> pd.DataFrame:
    """Count false releases and tangles by gear, setting and line-out.

    Parameters
    ----------
    seasons : sequence of BoatSeason
    units : Units
        Line-outs are parted in two, where both get ``CLASS_HOURS``, at a whole multiple of 50 ft
        or 15 m near the middle of the rod-hours.

    Returns
    -------
    DataFrame
        ``gear, setting, line_out_low_m, line_out_high_m, rod_hours, false_releases, tangles,
        per_100_rod_hours`` (both together), ``low``, ``high`` (exact 90 % interval). Empty where
        no log says how sets ended.
    """
    sets = _sets(seasons)
    sets = sets.loc[(sets["hours"] > 0) & np.isfinite(sets["line_out_m"])]
    if sets.empty or not (sets["ended_by"] != "").any():
        return pd.DataFrame(columns=list(TROUBLES))
    rows = []
    for (gear, setting), group in sets.groupby(["gear", "setting"], dropna=False):
        line_out = group["line_out_m"].to_numpy()
        edges = _edges(line_out, group["hours"].to_numpy(), units)
        for low, high in pairwise(edges):
            here = group.loc[(line_out >= low) & (line_out < high)]
            false = int((here["ended_by"] == FALSE_RELEASE).sum())
            tangles = int((here["ended_by"] == TANGLE).sum())
            hours = float(here["hours"].sum())
            bounds = rate_interval(false + tangles, hours)
            rows.append(
                {
                    "gear": gear,
                    "setting": setting,
                    "line_out_low_m": low,
                    "line_out_high_m": high,
                    "rod_hours": hours,
                    "false_releases": false,
                    "tangles": tangles,
                    "per_100_rod_hours": 100.0 * (false + tangles) / hours,
                    "low": 100.0 * bounds[0],
                    "high": 100.0 * bounds[1],
                }
            )
    return pd.DataFrame(rows, columns=list(TROUBLES))


def _sets(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    frames = [
        season.effort.sets.assign(log_number=log, boat=season.log.boat.name)
        for log, season in enumerate(seasons)
    ]
    table = pd.concat(frames, ignore_index=True)
    return table.assign(ended_by=table["ended_by"].fillna("").astype(str))


def _edges(line_out_m: Array, hours: Array, units: Units) -> Array:
    """Edges of one or two classes that hold every line-out."""
    step = float(to_si(STEP[units.length], "length", units.length))
    first = step * np.floor(line_out_m.min() / step + 1e-9)
    last = step * (np.floor(line_out_m.max() / step + 1e-9) + 1.0)
    middle = step * np.round(weighted_quantile(line_out_m, hours, 0.5) / step)
    for cut in (middle, middle + step, middle - step):
        below = hours[line_out_m < cut].sum()
        if min(below, hours.sum() - below) >= CLASS_HOURS:
            return np.array([first, cut, last])
    return np.array([first, last])


def tangled_pairs(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Find the pairs of rods that tangled with each other.

    Parameters
    ----------
    seasons : sequence of BoatSeason

    Returns
    -------
    DataFrame
        ``boat, rod_a, rod_b, tangles`` (times that a tangle ended a set on both within
        ``PAIR_MINUTES``), ``by_chance`` (how often that happens if the rods' tangles have nothing
        to do with each other), ``hours_together`` (both down), ``per_100_hours`` of those with
        its exact 90 % interval ``low``, ``high``, and ``beyond_chance``; most tangles first, pairs
        without any left out.
    """
    sets = _sets(seasons)
    sets = sets.assign(down=instants(sets["time_in"]), up=instants(sets["time_out"]))
    rows = []
    for _, of_boat in sets.groupby("log_number", sort=False):
        tangled = of_boat.loc[of_boat["ended_by"] == TANGLE]
        for one, other in combinations(sorted(tangled["rod"].unique()), 2):
            first, second = (tangled.loc[tangled["rod"] == rod] for rod in (one, other))
            count = _together(first, second)
            if not count:
                continue
            hours = _hours_together(of_boat, one, other)
            window = 2.0 * PAIR_MINUTES / 60.0
            chance = len(first) * len(second) * window / max(hours, window)
            low, high = rate_interval(count, max(hours, window))
            rare = float(pdtrc(count - 1, chance)) < RARE
            rows.append(
                {
                    "boat": of_boat["boat"].iloc[0],
                    "rod_a": one,
                    "rod_b": other,
                    "tangles": count,
                    "by_chance": chance,
                    "hours_together": hours,
                    "per_100_hours": 100.0 * count / max(hours, window),
                    "low": 100.0 * low,
                    "high": 100.0 * high,
                    "beyond_chance": count >= FEWEST_PAIRS and rare,
                }
            )
    table = pd.DataFrame(rows, columns=list(PAIRS))
    return table.sort_values(
        ["tangles", "boat", "rod_a", "rod_b"],
        ascending=[False, True, True, True],
        ignore_index=True,
    )


def _together(first: pd.DataFrame, second: pd.DataFrame) -> int:
    """Count the tangles of one rod that another rod of the same trip shares."""
    trip, up, other_trip, other_up = (
        table[name].to_numpy() for table in (first, second) for name in ("trip", "up")
    )
    near = np.abs(np.subtract.outer(up, other_up)) / 6e7 <= PAIR_MINUTES
    return int((near & np.equal.outer(trip, other_trip)).any(axis=1).sum())


def _hours_together(sets: pd.DataFrame, one: str, other: str) -> float:
    """Hours in which two rods of a boat were down at the same time."""
    first, second = (sets.loc[sets["rod"] == rod, ["trip", "down", "up"]] for rod in (one, other))
    pairs = first.merge(second, on="trip", suffixes=("", "_other"))
    together = pairs[["up", "up_other"]].min(axis=1) - pairs[["down", "down_other"]].max(axis=1)
    return float(together.clip(lower=0).sum()) / 3.6e9
