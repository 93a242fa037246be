"""Owns the test of what further thermometers would buy, month by month."""

import pytest

from analysis.review.course.thermometers_worth import worth_table


def test_every_month_fished_is_told_and_more_thermometers_leave_less(warm) -> None:
    found = worth_table(warm.seasons)
    months = warm.seasons[0].log.trips["date"].dt.strftime("%Y-%m").unique()
    assert found["period"].tolist() == sorted(months)
    assert (found["each_trip_m"] < found["now_m"]).all()
    assert (found["logger_m"] <= found["now_m"]).all()
    noon = warm.seasons[0].log.trips.iloc[:1]
    middle = noon["start"] + (noon["end"] - noon["start"]) / 2
    _, sd_m = warm.seasons[0].water.field.middle(middle.astype("int64").to_numpy())
    assert found.loc[0, "now_m"] == pytest.approx(float(sd_m[0]), rel=1.0)
