"""Owns the placing of strikes: each in the slice its rod was fishing, or nowhere, with a reason."""

from collections.abc import Collection

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.effort.slices import instants, ordered_key
from analysis.log.files.words import coded

NO_SETS = "the trip has no set records"
NOT_DOWN = "its rod was not down at this time"


def place(
    strikes: pd.DataFrame, slices: pd.DataFrame, recorded: Collection[str], lost_sets: pd.DataFrame
) -> pd.DataFrame:
    """Find the slice in which each strike fell.

    A slice covers the time after its start up to and with its end, so a strike that ends a set
    belongs to that set. A strike at the very start of a set belongs to it when no other set of
    the rod ends there.

    Parameters
    ----------
    strikes : pandas.DataFrame
        Clean strikes.
    slices : pandas.DataFrame
        From `analysis.effort.slices.cut`: those of one rod never overlap.
    recorded : collection of str
        Trips that have set records, used or not.
    lost_sets : pandas.DataFrame
        ``trip, rod, line, time_in, time_out`` of the sets that do not count, times as written.

    Returns
    -------
    pandas.DataFrame
        The strikes, with ``slice`` (row of `slices`, -1 where not placed), ``placed`` and
        ``reason`` (empty where placed) and ``lost_set`` (line of the set that does not count but
        held it, -1 for none).
    """
    placed = strikes.reset_index(drop=True)
    of_slice, of_strike = _rods(slices, placed)
    start, end = instants(slices["start"]), instants(slices["end"])
    time = instants(placed["time"])
    everything = np.concatenate([start, end, time])
    origin = int(everything.min()) if len(everything) else 0
    span = int(everything.max()) - origin if len(everything) else 0
    keys = ordered_key(of_slice, end, origin, span)
    order = np.argsort(keys, kind="stable")
    found = np.searchsorted(keys[order], ordered_key(of_strike, time, origin, span), side="left")
    hit = np.full(len(placed), -1, dtype=np.int64)
    candidate = found < len(order)
    index = order[found[candidate]]
    good = (of_slice[index] == of_strike[candidate]) & (start[index] <= time[candidate])
    hit[np.flatnonzero(candidate)[good]] = index[good]
    placed["slice"] = hit
    placed["placed"] = hit >= 0
    placed["lost_set"] = _lost_set(placed, lost_sets)
    placed["reason"] = _reasons(placed, slices, recorded)
    return placed


def _rods(
    slices: pd.DataFrame, strikes: pd.DataFrame
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return the number of each slice's trip and rod, and of each strike's; one without is last."""
    of_slice, of_strike = np.zeros(len(slices), np.int64), np.zeros(len(strikes), np.int64)
    for name in ("trip", "rod"):
        codes, words = coded(slices[name])
        place = pd.Index(words).get_indexer(pd.Index(strikes[name]))
        of_slice = of_slice * (len(words) + 1) + codes
        of_strike = of_strike * (len(words) + 1) + np.where(place < 0, len(words), place)
    return of_slice, of_strike


def _lost_set(placed: pd.DataFrame, lost_sets: pd.DataFrame) -> "pd.Series[int]":
    """Return the line of the first set that does not count but held each strike, -1 for none.

    A time that is not known may have been any.
    """
    time_in, time_out = lost_sets["time_in"], lost_sets["time_out"]
    swapped = (time_out < time_in).to_numpy()
    begin, end = time_in.where(~swapped, time_out), time_out.where(~swapped, time_in)
    found = pd.Series(-1, index=placed.index, dtype="int64")
    strayed = placed.loc[~placed["placed"]]
    for row, trip, rod, time in zip(
        strayed.index, strayed["trip"], strayed["rod"], strayed["time"], strict=True
    ):
        held = (lost_sets["trip"] == trip) & (lost_sets["rod"] == rod)
        held &= (begin.isna() | (begin <= time)) & (end.isna() | (time <= end))
        if held.any():
            found.loc[row] = int(lost_sets.loc[held, "line"].min())
    return found


def _reasons(
    placed: pd.DataFrame, slices: pd.DataFrame, recorded: Collection[str]
) -> "pd.Series[str]":
    """Say of each strike why it has no slice."""
    reasons = pd.Series("", index=placed.index, dtype="str")
    if placed["placed"].all():
        return reasons
    rods = slices.groupby("trip")["rod"].unique()
    lost = placed.loc[~placed["placed"], ["trip", "rod", "lost_set"]]
    for row, trip, rod, line in zip(
        lost.index, lost["trip"], lost["rod"], lost["lost_set"], strict=True
    ):
        if trip not in recorded:
            reason = NO_SETS
        elif line > 0:
            reason = f"its set was set aside (sets line {line})"
        elif trip not in rods.index:
            reason = "none of the trip's sets can be used"
        elif rod not in rods[trip]:
            reason = f"the trip has usable sets of {', '.join(rods[trip])}, not of this rod"
        else:
            reason = NOT_DOWN
        reasons.loc[row] = reason
    return reasons
