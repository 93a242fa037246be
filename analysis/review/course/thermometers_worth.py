"""Owns what further thermometers would buy, month by month: the table ``worth``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.effort.slices import instants
from analysis.rates.build_exposure import BoatSeason
from analysis.result_schema import RESULTS
from analysis.water.worth import worth_by_month

WORTH = RESULTS["worth"].names


def worth_table(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Tell the doubt of the thermocline's depth in each month, now and with more thermometers.

    Parameters
    ----------
    seasons : sequence of BoatSeason

    Returns
    -------
    DataFrame
        The table ``worth``; no row for a water whose layers nothing tells.
    """
    rows = []
    for water in {id(season.water): season.water for season in seasons}.values():
        own = [season for season in seasons if season.water is water and season.has_water]
        trips = [season.log.trips for season in own if len(season.log.trips)]
        if water.field is None or not trips:
            continue
        together = pd.concat(trips, ignore_index=True)
        start, end = instants(together["start"]), instants(together["end"])
        month = pd.to_datetime(together["date"]).dt.strftime("%Y-%m").tolist()
        middle = np.asarray(start + (end - start) // 2)
        rows += [{"water": water.name} | row for row in worth_by_month(water.field, middle, month)]
    return pd.DataFrame(rows, columns=list(WORTH))
