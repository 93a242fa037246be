"""Which rods were fishing when a strike came: the sets of rods a conditional fit compares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Index = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class RiskSets:
    """Rods down at the moment of each strike, in long form and sorted by moment.

    Attributes
    ----------
    row : (pairs,) int array
        Slice (row of the exposure table) of each rod that was fishing.
    moment : (pairs,) int array
        Which strike it was fishing at.
    hit : (pairs,) float array
        1 for the rod that took it, else 0.
    """

    row: Index
    moment: Index
    hit: NDArray[np.float64]


def rods_at_strikes(
    trip: Index,
    start: NDArray[np.int64],
    end: NDArray[np.int64],
    strike_row: Index,
    strike_time: NDArray[np.int64],
) -> RiskSets:
    """Find the slices that cover each strike's moment in its trip.

    The finest stratum there is: what all rods of a boat share at one time (the day, the bite, the
    reason the captain went there) drops out, and a captain who moves rods after a strike does not
    bias the answer, since only the rods down at that moment are compared. This is the risk set of
    Cox's partial likelihood (Cox 1972, *J. R. Statist. Soc. B* 34, 187-220, from memory).

    Parameters
    ----------
    trip : (slices,) int array
        Trip of each slice, unique over boats and seasons.
    start, end : (slices,) int arrays
        A slice covers ``start < t <= end``; any unit of time.
    strike_row : (strikes,) int array
        Slice that took each strike.
    strike_time : (strikes,) int array

    Returns
    -------
    RiskSets
        The slice that took the strike is always among its moment's rods.
    """
    order = np.argsort(trip, kind="stable")
    trips_sorted = trip[order]
    rows: list[Index] = []
    moments: list[Index] = []
    for moment_trip in np.unique(trip[strike_row]):
        low, high = np.searchsorted(trips_sorted, [moment_trip, moment_trip + 1])
        slices = order[low:high]
        strikes = np.flatnonzero(trip[strike_row] == moment_trip)
        at = strike_time[strikes][:, None]
        down = (start[slices] < at) & (at <= end[slices])
        down |= slices == strike_row[strikes][:, None]
        which, place = np.nonzero(down)
        rows.append(slices[place])
        moments.append(strikes[which])
    row = np.concatenate(rows) if rows else np.empty(0, dtype=np.intp)
    moment = np.concatenate(moments) if moments else np.empty(0, dtype=np.intp)
    by_moment = np.argsort(moment, kind="stable")
    row, moment = row[by_moment], moment[by_moment]
    return RiskSets(row=row, moment=moment, hit=(strike_row[moment] == row).astype(float))
