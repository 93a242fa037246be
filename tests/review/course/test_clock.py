"""Owns the tests of hours of the day: each strike and rod-hour in its own, no rate of a few."""

import numpy as np
import pytest

from analysis.review.course.clock import FEWEST_HOURS, hours_table, rates_by_hour
from analysis.stats.clustered import counted_rate


def test_hours_of_the_day_hold_all_strikes_and_rod_hours(warm) -> None:
    exposure = warm.answer.exposure
    found = hours_table(exposure, warm.seasons)
    assert found["rod_hours"].sum() == pytest.approx(exposure.table["hours"].sum())
    assert found["strikes"].sum() == exposure.table["strikes"].sum()
    zone = warm.seasons[0].log.boat.time_zone
    first = exposure.table["start"].dt.tz_convert(zone).dt.hour.min()
    assert found["hour"].tolist() == list(range(first, first + len(found)))


def test_an_hour_has_the_rate_of_its_trips_and_none_of_a_few_rod_hours() -> None:
    hour, trip = np.array([5, 5, 7]), np.array([0, 1, 1])
    hours, strikes = np.array([10.0, 12.0, FEWEST_HOURS - 0.1]), np.array([3.0, 1.0, 2.0])
    found = rates_by_hour(hour, trip, hours, strikes).set_index("hour")
    expected = counted_rate(strikes[:2], hours[:2])
    assert found.loc[5, ["raw_rate", "low", "high"]].tolist() == [
        expected.rate,
        expected.low,
        expected.high,
    ]
    assert found.loc[6, "rod_hours"] == 0
    assert np.isnan(found.loc[6, "raw_rate"])
    assert np.isnan(found.loc[7, ["low", "high"]].astype(float)).all()
    assert found.loc[7, "strikes"] == 2
