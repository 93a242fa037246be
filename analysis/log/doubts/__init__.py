"""Owns the doubts of a log: rows that are kept although they are unlikely, and what to look at."""

import pandas as pd

from analysis.log.doubts.clocks import an_hour_off
from analysis.log.doubts.habits import out_of_habit
from analysis.log.doubts.probes import probes_apart
from analysis.log.doubts.record import Doubts
from analysis.log.doubts.trips import trips_in_doubt
from analysis.log.read import SeasonLog

__all__ = ["doubts_of"]


def doubts_of(log: SeasonLog) -> pd.DataFrame:
    """Find rows that can be read and yet are unlikely to be so.

    Nothing is changed and nothing set aside: a boat may have done what it never does.

    Parameters
    ----------
    log : SeasonLog

    Returns
    -------
    pandas.DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`, ``becomes``: what the cell would say if the doubt is
        right, empty where nobody can tell; and ``rod``: the one rod of the row that is in doubt,
        empty where all are.
    """
    doubts = Doubts()
    out_of_habit(log, doubts)
    probes_apart(log, doubts)
    an_hour_off(log, doubts)
    trips_in_doubt(log, doubts)
    return doubts.frame()
