"""Owns what rests on single rows of a log: the rod-hours and strikes that count because of them."""

import numpy as np
import pandas as pd

from analysis.effort.count import Effort
from analysis.log import SeasonLog
from analysis.log.files.words import coded
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
    sets, slices = effort.sets, effort.slices
    table, tables = coded(sets["table"])
    lines = sets["line"].max() + 1
    row = table.astype(np.intp) * lines + sets["line"].to_numpy()
    rows = pd.Series(row, index=sets["set"]).reindex(slices["set"]).to_numpy()
    amounts = slices[["hours", "strikes"]]
    by_row, by_trip = (amounts.groupby(by).sum() for by in (rows, slices["trip"]))
    places = [(str(tables[row // lines]), row % lines) for row in by_row.index.tolist()]
    line_of = log.trips.set_index("trip")["line"].reindex(by_trip.index)
    places += [("trips", line) for line in line_of.tolist()]
    sums = pd.concat([by_row, by_trip], ignore_index=True)
    strikes = dict(zip(places, sums["strikes"].tolist(), strict=True))
    strikes |= {("strikes", line): 1 for line in log.strikes["line"].tolist()}
    return dict(zip(places, sums["hours"].tolist(), strict=True)), strikes
