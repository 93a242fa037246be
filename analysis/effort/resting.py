"""Owns what rests on single rows of a log: the rod-hours and strikes that count because of them."""

import numpy as np
import pandas as pd

from analysis.effort.count import Effort
from analysis.log import SeasonLog
from analysis.log.files.words import coded
from analysis.log.findings import Cell


def resting(log: SeasonLog, effort: Effort) -> tuple[dict[Cell, float], dict[Cell, int]]:
    """Return what rests on each row of trips and strikes, and on what a row says of a rod.

    Returns
    -------
    rod_hours : dict
        Table, line and rod -> rod-hours of the sets that the row says; of a trip, without a rod.
    strikes : dict
        The same -> strikes placed in those sets; a strike rests on itself.
    """
    sets, slices = effort.sets, effort.slices
    table, tables = coded(sets["table"])
    rod, rods = coded(sets["rod"])
    lines = sets["line"].max() + 1
    row = table.astype(np.intp) * lines + sets["line"].to_numpy()
    cell = pd.Series(row * len(rods) + rod, index=sets["set"])
    cells = cell.reindex(slices["set"]).to_numpy()
    amounts = slices[["hours", "strikes"]]
    by_cell, by_trip = (amounts.groupby(by).sum() for by in (cells, slices["trip"]))
    places: list[Cell] = []
    for at in by_cell.index.tolist():
        row_at, rod_at = divmod(at, len(rods))
        places.append((str(tables[row_at // lines]), row_at % lines, str(rods[rod_at])))
    line_of = log.trips.set_index("trip")["line"].reindex(by_trip.index)
    places += [("trips", line, "") for line in line_of.tolist()]
    sums = pd.concat([by_cell, by_trip], ignore_index=True)
    strikes = dict(zip(places, sums["strikes"].tolist(), strict=True))
    strikes |= {("strikes", line, ""): 1 for line in log.strikes["line"].tolist()}
    return dict(zip(places, sums["hours"].tolist(), strict=True)), strikes
