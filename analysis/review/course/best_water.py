"""Owns where the best water lay, week by week: the depth of the highest rate, and how sure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.rates.effects import BOUNDS
from analysis.rates.standardised import depth_draws
from analysis.result_schema import RESULTS

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

BEST_WATER = RESULTS["best_water"].names
MOST_SPAN = 0.5
"""Share of the depths judged that a week's interval may span before the log cannot tell."""


@dataclass(frozen=True, kw_only=True)
class WeekDraws:
    """Rates at depth of some weeks.

    Attributes
    ----------
    names : tuple of str
        ISO weeks, in order.
    hours : tuple of (hours,) bool arrays
        The boat hours of each, among those of the answer.
    at_depth : tuple of (bands, inner, draws) arrays
        Strikes per rod-hour at the depths within the bands; see
        `analysis.rates.standardised.depth_draws`.
    """

    names: tuple[str, ...]
    hours: tuple[Mask, ...]
    at_depth: tuple[Array, ...]


def week_draws(answer: Answer, trips: pd.DataFrame, week: pd.Series) -> WeekDraws:
    """Draw the rates at depth of every week.

    Parameters
    ----------
    answer : Answer
    trips : DataFrame
        `analysis.review.season_course.trips_table`.
    week : Series
        ISO week of each of its rows.

    Returns
    -------
    WeekDraws
    """
    dates = trips.assign(week=week).set_index(["log_number", "trip"])["week"]
    keys = pd.MultiIndex.from_frame(answer.exposure.table[["log_number", "trip"]])
    of_trip = dict(zip(answer.exposure.trip, dates.reindex(keys).to_numpy(), strict=True))
    of_hour = np.array([of_trip[trip] for trip in answer.hours.trip], dtype=object)
    names = tuple(sorted(set(week)))
    hours = tuple(np.asarray(of_hour == name) for name in names)
    found = depth_draws(answer.fit, answer.levels, answer.hours, hours)
    return WeekDraws(names=names, hours=hours, at_depth=tuple(found))


def best_water_table(
    answer: Answer, trips: pd.DataFrame, week: pd.Series, draws: WeekDraws
) -> pd.DataFrame:
    """Return the depth of each week's highest rate, with what is known of it.

    Each draw of the fit, in its own water, has one depth at which its rate is highest, among the
    bands judged in the season; the quantiles of these depths are told. Where the lower bound is
    the deepest of them, it is left empty: nobody knows what lay deeper.

    Parameters
    ----------
    answer : Answer
    trips, week
        As in `week_draws`.
    draws : WeekDraws
        Of the same.

    Returns
    -------
    DataFrame
        The table ``best_water``: no row for a week without rod-hours. ``told`` is false where
        the log cannot tell, for too few strikes or too wide an interval.
    """
    judged = answer.season.judged
    if judged.sum() < 2:
        return pd.DataFrame(columns=list(BEST_WATER))
    depth_m = answer.hours.depth_m[judged].ravel()
    span_m = float(np.ptp(answer.hours.edges_m[:-1][judged])) + np.diff(answer.hours.edges_m)[0]
    rows = []
    for name, hours, at_depth in zip(draws.names, draws.hours, draws.at_depth, strict=True):
        rates = at_depth[judged].reshape(len(depth_m), -1)
        if not hours.any() or not np.isfinite(rates).all():
            continue
        best = depth_m[np.argmax(rates, axis=0)]
        middle, low, high = np.quantile(best, (0.5, *BOUNDS))
        days = pd.to_datetime(trips.loc[(week == name).to_numpy(), "date"])
        temp = answer.hours.temp_c[hours][:, judged].reshape(int(hours.sum()), -1)
        rows.append(
            {
                "week": name,
                "day": days.mean().strftime("%Y-%m-%d"),
                "depth_m": middle,
                "depth_low_m": low,
                "depth_high_m": high if high < depth_m[-1] else np.nan,
                "temp_c": np.interp(middle, depth_m, temp.mean(axis=0)),
                "told": answer.told and high - low <= MOST_SPAN * span_m,
            }
        )
    return pd.DataFrame(rows, columns=list(BEST_WATER))
