"""Owns what is drawn over the water's temperature: strikes, rod-hours and thermometers by day."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.rates.build_exposure import BoatSeason
from analysis.result_schema import RESULTS
from analysis.water.measured import KINDS
from analysis.water.waters import KnownWater

STRIKE_DEPTHS = RESULTS["strike_depths"].names
FISHED_DEPTHS = RESULTS["fished_depths"].names
THERMOMETERS = RESULTS["thermometers"].names


def strike_depths(
    strikes: pd.DataFrame, slices: pd.DataFrame, seasons: Sequence[BoatSeason]
) -> pd.DataFrame:
    """Return every strike placed on a rod with the depth and temperature of its lure.

    Parameters
    ----------
    strikes : DataFrame
        `analysis.review.strikes.all_strikes`.
    slices : DataFrame
        The exposure's table.
    seasons : sequence of BoatSeason
        In the exposure's order.

    Returns
    -------
    DataFrame
        The table ``strike_depths``, in the order in which they came; depth and temperature are
        empty where they are not known.
    """
    placed = strikes.loc[strikes["row"] >= 0].reset_index(drop=True)
    held = slices.iloc[placed["row"]].reset_index(drop=True)
    found = with_day_and_water(placed, seasons).assign(
        species=placed["kind"],
        outcome=placed["outcome"].fillna(""),
        **{name: held[name] for name in ("depth_m", "depth_sd_m", "lure_temp_c")},
    )
    return found.sort_values(["time", "boat", "rod"], ignore_index=True)[list(STRIKE_DEPTHS)]


def fished_depths(slices: pd.DataFrame, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Sum the rod-hours of each day and metre of modelled depth.

    Parameters
    ----------
    slices : DataFrame
        The exposure's table.
    seasons : sequence of BoatSeason
        In the exposure's order.

    Returns
    -------
    DataFrame
        The table ``fished_depths``; rod-hours without a depth are in none of its rows.
    """
    known = slices.loc[slices["depth_m"].notna()]
    rows = with_day_and_water(known, seasons).assign(
        depth_m=np.floor(known["depth_m"].to_numpy(dtype=float)), rod_hours=known["hours"]
    )
    summed = rows.groupby(["water", "date", "depth_m"], as_index=False).agg(
        rod_hours=("rod_hours", "sum")
    )
    return summed[list(FISHED_DEPTHS)]


def thermometers(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return when and how deep the water was measured in the days that were fished.

    Parameters
    ----------
    seasons : sequence of BoatSeason

    Returns
    -------
    DataFrame
        The table ``thermometers``: a row a day and kind below the surface, of all boats and
        seasons that name the water.
    """
    frames = []
    for water in _each_water(seasons):
        if water.field is None:
            continue
        own = [season.log for season in seasons if season.water is water]
        below = water.field.fit.measured.where(water.field.fit.measured.below_surface)
        local = pd.to_datetime(below.time, unit="us", utc=True).tz_convert(own[0].boat.time_zone)
        rows = pd.DataFrame(
            {
                "day": local.strftime("%Y-%m-%d"),
                "source": np.array(KINDS, dtype=object)[below.kind],
                "depth": below.depth_m,
            }
        )
        first = min(log.trips["date"].min() for log in own)
        last = max(log.trips["date"].max() for log in own)
        rows = rows.loc[rows["day"].between(str(first)[:10], str(last)[:10])]
        found = rows.groupby(["day", "source"], as_index=False).agg(
            shallowest_m=("depth", "min"), deepest_m=("depth", "max"), count=("depth", "size")
        )
        if len(found):
            frames.append(found.assign(water=water.name)[list(THERMOMETERS)])
    if not frames:
        return pd.DataFrame(columns=list(THERMOMETERS))
    return pd.concat(frames, ignore_index=True)


def with_day_and_water(rows: pd.DataFrame, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Add ``date`` and ``water`` of each row's trip, by its ``log_number`` and ``trip``."""
    every = [season.log.trips.set_index("trip")["date"] for season in seasons]
    dates = pd.to_datetime(pd.concat(dict(enumerate(every))))
    trips = pd.MultiIndex.from_arrays([rows["log_number"], rows["trip"]])
    waters = {number: season.water.name for number, season in enumerate(seasons)}
    return rows.assign(date=dates.reindex(trips).to_numpy(), water=rows["log_number"].map(waters))


def _each_water(seasons: Sequence[BoatSeason]) -> list[KnownWater]:
    return list({id(season.water): season.water for season in seasons}.values())
