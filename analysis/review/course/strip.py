"""Owns the tracks of one trip's rods: that with most strikes, to be drawn as a strip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import pandas as pd

from analysis.log.files.words import plain
from analysis.rates.build_exposure import BoatSeason
from analysis.result_schema import RESULTS
from analysis.review.course.section import with_day_and_water

TRIP_TRACKS = RESULTS["trip_tracks"].names


def busiest_trip(slices: pd.DataFrame, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return when and how deep each rod fished on the trip with most strikes.

    Parameters
    ----------
    slices : DataFrame
        The exposure's table.
    seasons : sequence of BoatSeason
        In the exposure's order.

    Returns
    -------
    DataFrame
        The table ``trip_tracks``; without rows where no strike was placed on a rod.
    """
    struck = slices.groupby(["log_number", "trip"], sort=True)["strikes"].sum()
    if struck.empty or not struck.max():
        return pd.DataFrame(columns=list(TRIP_TRACKS))
    number, trip = cast("tuple[int, str]", struck.idxmax())
    rows = plain(slices.loc[(slices["log_number"] == number) & (slices["trip"] == trip)])
    first = rows["start"].min().tz_convert(seasons[number].log.boat.time_zone)
    offset = first.utcoffset().total_seconds() / 3600
    found = with_day_and_water(rows, seasons).assign(utc_offset_h=offset)
    return found.sort_values(["rod", "start"], ignore_index=True)[list(TRIP_TRACKS)]
