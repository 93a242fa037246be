"""Owns the tests of where the best water lay: where the fish are, as sure as draws agree."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.review.course.best_water import WeekDraws, best_water_table, week_draws
from analysis.review.season_course import trips_table, week_of


@pytest.fixture(scope="module")
def trips(warm) -> pd.DataFrame:
    return trips_table(warm.seasons)


def test_most_weeks_hold_the_true_best_depth(warm, trips):
    """The truth of the generator; 90 % intervals of 20 weeks hold it in 14 at the least."""
    week = week_of(trips["date"])
    found = best_water_table(warm.answer, trips, week, week_draws(warm.answer, trips, week))
    told = found[found["told"]]
    assert len(told) >= 15
    depth_m = warm.answer.hours.depth_m[warm.answer.season.judged].ravel()
    truth, steps = warm.simulated.truth, warm.simulated.truth.steps
    of_trip = dict(zip(trips["trip"], week, strict=True))
    of_step = np.array([of_trip[truth.trips[trip]] for trip in steps["trip"]])
    inside = []
    for row in told.itertuples():
        here = steps.loc[of_step == row.week].iloc[::12]
        at = here["trip"].to_numpy()[:, None], here["minute"].to_numpy(dtype=float)[:, None]
        best = depth_m[np.argmax(truth.rate(depth_m[None, :], *at).mean(axis=0))]
        high = np.inf if np.isnan(row.depth_high_m) else row.depth_high_m
        inside.append(row.depth_low_m - 1.0 <= best <= high + 1.0)  # depths are a metre apart
    assert np.mean(inside) > 0.7


def drawn(warm, depths: list[int]) -> WeekDraws:
    """One week whose draws are best at these places among the depths, in turn."""
    bands, inner = warm.answer.hours.depth_m.shape
    rates = np.ones((bands * inner, len(depths)))
    rates[depths, range(len(depths))] = 2.0
    hours = np.ones(len(warm.answer.hours.trip), dtype=bool)
    return WeekDraws(
        names=("2026-W25",), hours=(hours,), at_depth=(rates.reshape(bands, inner, -1),)
    )


def of_one_week(warm, trips, depths: list[int]) -> pd.Series:
    week = pd.Series("2026-W25", index=trips.index)
    return best_water_table(warm.answer, trips, week, drawn(warm, depths)).iloc[0]


def test_depths_are_quantiles_of_each_draws_best(warm, trips):
    judged = np.flatnonzero(np.repeat(warm.answer.season.judged, 3))
    places = [int(judged[3])] * 10 + [int(judged[4])] * 80 + [int(judged[5])] * 10
    depth_m = warm.answer.hours.depth_m.ravel()
    row = of_one_week(warm, trips, places)
    assert row["depth_m"] == depth_m[judged[4]]
    assert row["depth_low_m"] == depth_m[judged[3]]
    assert row["depth_high_m"] == depth_m[judged[5]]
    assert row["told"]


def test_no_lower_bound_is_told_where_the_best_may_be_deeper_than_rods_were(warm, trips):
    judged = np.flatnonzero(np.repeat(warm.answer.season.judged, 3))
    row = of_one_week(warm, trips, [int(judged[-2])] * 80 + [int(judged[-1])] * 20)
    assert np.isnan(row["depth_high_m"])
    assert row["told"]


def test_draws_that_do_not_agree_tell_nothing(warm, trips):
    judged = np.flatnonzero(np.repeat(warm.answer.season.judged, 3))
    assert not of_one_week(warm, trips, [int(judged[1]), int(judged[-2])] * 20)["told"]
    few = replace(warm.answer, fit=replace(warm.answer.fit, strikes=3))
    sure = drawn(warm, [int(judged[4])] * 20)
    week = pd.Series("2026-W25", index=trips.index)
    assert not best_water_table(few, trips, week, sure)["told"].any()
