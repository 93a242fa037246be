"""Owns the tests of the trip that is drawn as a strip: the one with most strikes, whole."""

import pytest

from analysis.review.course.strip import busiest_trip


def test_the_trip_with_most_strikes_is_there_with_all_its_rod_hours(warm) -> None:
    table = warm.answer.exposure.table
    found = busiest_trip(table, warm.seasons)
    strikes = table.groupby("trip")["strikes"].sum()
    (trip,) = set(found["trip"])
    assert strikes[trip] == strikes.max()
    hours = (found["end"] - found["start"]).dt.total_seconds().sum() / 3600
    assert hours == pytest.approx(table.loc[table["trip"] == trip, "hours"].sum())
    assert set(found["utc_offset_h"]) <= {1.0, 2.0}  # Oslo's winter and summer time


def test_without_a_strike_there_is_no_trip_to_draw(warm) -> None:
    nothing = warm.answer.exposure.table.assign(strikes=0)
    assert busiest_trip(nothing, warm.seasons).empty
