"""Owns the course of a season: its trips, its weeks, and how the water lay in them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.decision.bands import MOST_ON_SPREAD, judge, spread_share
from analysis.effort.slices import instants
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.standardised import TemperatureAt
from analysis.review.course.best_water import WeekDraws

Array = NDArray[np.float64]

TRIPS = (
    *("boat", "trip", "date", "area", "rod_hours", "hours_from", "strikes", "landed"),
    *("speed_mps", "surface_temp_c", "log_number"),
)
WEEKS = (
    *("week", "trips", "rod_hours", "strikes", "thermocline_m"),
    *("best_low_m", "best_high_m", "p_near", "verdict"),
)
PROFILE = ("week", "depth_m", "temp_c")

FROM_SETS = "sets"
FROM_RODS = "rods usually down"

PROFILE_STEP_M = 1.0
TIMES_A_TRIP = 3
"""A trip's water is looked up at so many moments, evenly spread over it."""
WINDOW_M = 3.0
"""The fall of temperature is taken over so much depth: a single reading's error is no step."""
LEAST_FALL_C_PER_M = 0.3
"""A weaker fall is no thermocline: mixed water, as in spring (common sense, no source)."""


def trips_table(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return every trip with its fishing.

    Parameters
    ----------
    seasons : sequence of BoatSeason

    Returns
    -------
    DataFrame
        ``boat, trip, date, area, rod_hours, hours_from, strikes, landed``, the means
        ``speed_mps`` and ``surface_temp_c``, and ``log`` (number of the season folder). A trip
        without set records gets its hours times the rods usually down, for the calendar only:
        ``hours_from`` says so, and no rate uses them.
    """
    frames = []
    for number, season in enumerate(seasons):
        trips = season.log.trips.set_index("trip")
        strikes = season.effort.strikes
        slices = season.effort.slices
        length = (trips["end"] - trips["start"]).dt.total_seconds() / 3600.0
        hours = slices.groupby("trip")["hours"].sum().reindex(trips.index)
        frames.append(
            pd.DataFrame(
                {
                    "boat": season.log.boat.name,
                    "date": trips["date"],
                    "area": trips["area"],
                    "rod_hours": hours.fillna(length * trips["rods"]),
                    "hours_from": np.where(hours.isna(), FROM_RODS, FROM_SETS),
                    "strikes": _count(strikes["trip"], trips.index),
                    "landed": _count(
                        strikes.loc[strikes["outcome"] == "landed", "trip"], trips.index
                    ),
                    "speed_mps": _mean(slices, "speed_mps").reindex(trips.index),
                    "surface_temp_c": _mean(slices, "surface_temp_c").reindex(trips.index),
                    "log_number": number,
                }
            ).rename_axis("trip")
        )
    table = pd.concat(frames).reset_index()
    return table.sort_values(["date", "boat", "trip"], ignore_index=True)[list(TRIPS)]


def _count(trip: pd.Series, index: pd.Index) -> pd.Series:
    return trip.value_counts().reindex(index, fill_value=0).astype(int)


def _mean(slices: pd.DataFrame, column: str) -> pd.Series:
    """Mean of a reading over a trip's rod-hours, where it is known."""
    known = slices.loc[slices[column].notna()]
    weighted = (known[column] * known["hours"]).groupby(known["trip"]).sum()
    return pd.Series(weighted / known.groupby("trip")["hours"].sum())


def week_of(dates: pd.Series) -> pd.Series:
    """ISO week of local dates, such as ``2026-W27``.

    Examples
    --------
    >>> week_of(pd.Series(pd.to_datetime(["2026-07-05", "2026-07-06", "2027-01-01"]))).tolist()
    ['2026-W27', '2026-W28', '2026-W53']
    """
    iso = dates.dt.isocalendar()
    return pd.Series(iso["year"].astype(str) + "-W" + iso["week"].astype(str).str.zfill(2))


def weeks_table(
    answer: Answer, trips: pd.DataFrame, profile: pd.DataFrame, drawn: WeekDraws
) -> pd.DataFrame:
    """Return every week with its fishing, its thermocline and its best band.

    A trip counts in the ISO week of the local date it began. A week's best band is what the
    season's model says of the week's boat hours, among the bands judged in the season: no week is
    fitted by itself, for it has too few strikes.

    Parameters
    ----------
    answer : Answer
    trips : DataFrame
        `trips_table`.
    profile : DataFrame
        `profile_table`.
    drawn : WeekDraws
        Rates of the same weeks.

    Returns
    -------
    DataFrame
        ``week, trips, rod_hours, strikes, thermocline_m, best_low_m, best_high_m, p_near,
        verdict``; no best band where the verdict is ``open``, no thermocline where casts show none.
    """
    week = week_of(trips["date"])
    table = trips.assign(week=week).groupby("week", as_index=False)
    weeks = table.agg(
        trips=("trip", "size"), rod_hours=("rod_hours", "sum"), strikes=("strikes", "sum")
    )
    found = thermoclines(profile)
    weeks["thermocline_m"] = weeks["week"].map(found).astype(float)
    dates = trips.assign(week=week).set_index(["log_number", "trip"])["week"]
    slices = answer.exposure.table
    of_slice = dates.reindex(pd.MultiIndex.from_frame(slices[["log_number", "trip"]])).to_numpy()
    rows = []
    edges = answer.hours.edges_m
    may_name = answer.season.judged & (answer.fit.strikes > 0)
    for name, hours, at_depth in zip(drawn.names, drawn.hours, drawn.at_depth, strict=True):
        on_spread = spread_share(slices.loc[of_slice == name])
        judgement = judge(
            at_depth.mean(axis=1),
            may_name & hours.any(),
            may_be_clear=not answer.caps_of_less and on_spread <= MOST_ON_SPREAD,
        )
        verdict = "open" if answer.season.judgement.verdict == "open" else judgement.verdict
        named = np.flatnonzero(judgement.named & (verdict != "open"))
        rows.append(
            {
                "best_low_m": edges[named[0]] if len(named) else np.nan,
                "best_high_m": edges[named[-1] + 1] if len(named) else np.nan,
                "p_near": judgement.p_near,
                "verdict": verdict,
            }
        )
    columns = ["best_low_m", "best_high_m", "p_near", "verdict"]
    return pd.concat([weeks, pd.DataFrame(rows, columns=columns)], axis=1)[list(WEEKS)]


def profile_table(
    seasons: Sequence[BoatSeason], trips: pd.DataFrame, temperature_at: TemperatureAt
) -> pd.DataFrame:
    """Return the mean temperature of each week at each depth that casts reach.

    Parameters
    ----------
    seasons : sequence of BoatSeason
    trips : DataFrame
        `trips_table`.
    temperature_at : callable
        See `analysis.rates.standardised.TemperatureAt`.

    Returns
    -------
    DataFrame
        ``week, depth_m, temp_c``: means over trips, so a long trip counts no more than a short
        one. No row where fewer than half of the week's trips know the temperature.
    """
    week = trips.assign(week=week_of(trips["date"])).set_index(["log_number", "trip"])["week"]
    frames = []
    for log, season in enumerate(seasons):
        casts = season.log.casts
        if casts is None or casts.empty:
            continue
        own = season.log.trips
        depth = np.arange(0.0, casts["depth_m"].max() + PROFILE_STEP_M, PROFILE_STEP_M)
        start, end = instants(own["start"]), instants(own["end"])
        share = (np.arange(TIMES_A_TRIP) + 0.5) / TIMES_A_TRIP
        times = (start[:, None] + share * (end - start)[:, None]).astype(np.int64)
        ids = np.repeat(own["trip"].to_numpy(dtype=object), TIMES_A_TRIP)
        wanted = np.broadcast_to(depth[:, None], (len(depth), len(ids)))
        found = temperature_at(log, ids, times.ravel(), wanted)
        found = found.reshape(len(depth), len(own), TIMES_A_TRIP).mean(axis=2)
        key = pd.MultiIndex.from_product([[log], own["trip"]])
        frames.append(
            pd.DataFrame(
                {
                    "week": np.tile(week.reindex(key).to_numpy(dtype=object), len(depth)),
                    "depth_m": np.repeat(depth, len(own)),
                    "temp_c": found.ravel(),
                }
            )
        )
    if not frames:
        return pd.DataFrame(columns=list(PROFILE))
    grouped = pd.concat(frames).groupby(["week", "depth_m"])["temp_c"]
    table = grouped.agg(temp_c="mean", known="count").reset_index()
    trips_of = week.value_counts()
    enough = table["known"] >= 0.5 * table["week"].map(trips_of)
    return table.loc[enough, list(PROFILE)].reset_index(drop=True)


def thermoclines(profile: pd.DataFrame) -> dict[str, float]:
    """Return the depth at which each week's temperature falls fastest.

    Parameters
    ----------
    profile : DataFrame
        `profile_table`.

    Returns
    -------
    dict
        Week to depth in metres; a week whose water is mixed has none.
    """
    found = {}
    for week, rows in profile.groupby("week"):
        depth = rows["depth_m"].to_numpy()
        temp = rows["temp_c"].to_numpy()
        upper = np.arange(depth[0], depth[-1] - WINDOW_M + 1e-9, PROFILE_STEP_M / 2)
        if not len(upper):
            continue
        fall = np.interp(upper, depth, temp) - np.interp(upper + WINDOW_M, depth, temp)
        steepest = int(np.argmax(fall))
        if fall[steepest] / WINDOW_M >= LEAST_FALL_C_PER_M:
            found[str(week)] = float(upper[steepest] + WINDOW_M / 2)
    return found
