"""Owns what rests on single rows of a log: the rod-hours and strikes that count because of them."""

import pandas as pd

from analysis.effort.count import Effort
from analysis.log import SeasonLog
from analysis.log.findings import Place


def resting(log: SeasonLog, effort: Effort) -> tuple[dict[Place, float], dict[Place, int]]:
    """Return what rests on each row of trips, of strikes and of what says the rods' sets.

    Returns
    -------
    rod_hours : dict
        Table and line -> rod-hours of the sets that the row says, or of the trip.
    strikes : dict
        Table and line -> strikes placed in those sets; a strike rests on itself.
    """
    of_row = effort.sets[["set", "table", "line"]]
    of_trip = log.trips[["trip", "line"]].assign(table="trips")
    slices = effort.slices[["trip", "set", "hours", "strikes"]]
    both = pd.concat([slices.merge(of_row, on="set"), slices.merge(of_trip, on="trip")])
    sums = both.groupby(["table", "line"])[["hours", "strikes"]].sum()
    places = [(str(table), int(line)) for table, line in sums.index.to_list()]
    strikes = dict(zip(places, sums["strikes"].astype(int).tolist(), strict=True))
    strikes |= {("strikes", line): 1 for line in log.strikes["line"].tolist()}
    return dict(zip(places, sums["hours"].tolist(), strict=True)), strikes
