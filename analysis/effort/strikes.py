"""Owns the placing of strikes: each in the slice its rod was fishing, or nowhere, with a reason."""

from collections.abc import Collection

import numpy as np
import pandas as pd

from analysis.effort.slices import instants, ordered_key
from analysis.log.tables import nearest

NO_SETS = "the trip has no set records"
NOT_DOWN = "its rod was not down at this time"


def place(strikes: pd.DataFrame, slices: pd.DataFrame, recorded: Collection[str]) -> pd.DataFrame:
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

    Returns
    -------
    pandas.DataFrame
        The strikes, with ``slice`` (row of `slices`, -1 where not placed), ``placed`` and
        ``reason`` (empty where placed).
    """
    placed = strikes.reset_index(drop=True)
    rods = pd.MultiIndex.from_frame(slices[["trip", "rod"]]).unique()
    of_slice = rods.get_indexer(pd.MultiIndex.from_frame(slices[["trip", "rod"]]))
    of_strike = rods.get_indexer(pd.MultiIndex.from_frame(placed[["trip", "rod"]]))
    start, end = instants(slices["start"]), instants(slices["end"])
    time = instants(placed["time"])
    everything = np.concatenate([start, end, time])
    origin = int(everything.min()) if len(everything) else 0
    span = int(everything.max()) - origin if len(everything) else 0
    keys = ordered_key(of_slice.astype(np.int64), end, origin, span)
    order = np.argsort(keys, kind="stable")
    found = np.searchsorted(
        keys[order], ordered_key(of_strike.astype(np.int64), time, origin, span), side="left"
    )
    hit = np.full(len(placed), -1, dtype=np.int64)
    candidate = (found < len(order)) & (of_strike >= 0)
    index = order[found[candidate]]
    good = (of_slice[index] == of_strike[candidate]) & (start[index] <= time[candidate])
    hit[np.flatnonzero(candidate)[good]] = index[good]
    placed["slice"] = hit
    placed["placed"] = hit >= 0
    placed["reason"] = _reasons(placed, slices, recorded)
    return placed


def _reasons(placed: pd.DataFrame, slices: pd.DataFrame, recorded: Collection[str]) -> list[str]:
    """Say of each strike why it has no slice."""
    reasons = []
    rods = slices.groupby("trip")["rod"].unique()
    for trip, rod, done in zip(placed["trip"], placed["rod"], placed["placed"], strict=True):
        if done:
            reasons.append("")
        elif trip not in recorded:
            reasons.append(NO_SETS)
        elif trip not in rods.index:
            reasons.append("none of the trip's sets can be used")
        elif rod not in rods[trip]:
            like = nearest(rod, rods[trip])
            meant = f": did you mean {like}?" if like else ""
            reasons.append(f"the trip has no usable set of this rod{meant}")
        else:
            reasons.append(NOT_DOWN)
    return reasons
