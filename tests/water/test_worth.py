"""Owns the tests of what one more thermometer would buy."""

import made_water as made
import numpy as np
import pytest

from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import DAY_US
from analysis.water.prior import Prior
from analysis.water.worth import worth, worth_by_month

DAYS = made.trip_days(1, 30)
TRIPS = (DAYS * DAY_US).astype(np.int64)


def water_with(casts):
    told = made.thermometers(made.made_water("tanh", 1), DAYS, 1, casts=casts)
    return Water(fit=fit_water(told, Prior()))


def test_more_thermometers_leave_less_doubt():
    found = worth(water_with(()), TRIPS)
    assert found.each_trip_m < found.fortnight_m < found.now_m
    assert found.probe_m < found.now_m
    # on its way down a logger measures what a probe does, and the water above
    assert found.each_trip_m < found.logger_m < found.probe_m


def test_what_casts_are_said_to_buy_is_what_they_buy():
    """Against the doubt that is left once such casts have been made and fitted."""
    told = worth(water_with(()), TRIPS).each_trip_m
    _, sd_m = water_with(range(30)).middle(TRIPS)
    assert told == pytest.approx(np.sqrt(np.mean(sd_m**2)), rel=0.6)


def test_months_are_told_apart_and_together_make_the_season():
    water = water_with(range(15))  # casts on the first half of the trips
    month = ["a"] * 15 + ["b"] * 15
    rows = worth_by_month(water, TRIPS, month)
    assert [row["period"] for row in rows] == ["a", "b"]
    assert rows[0]["now_m"] < rows[1]["now_m"]
    whole = np.sqrt(np.mean([row["now_m"] ** 2 for row in rows]))
    assert worth(water, TRIPS).now_m == pytest.approx(whole)
    turned = worth_by_month(water, TRIPS[::-1], month[::-1])
    assert turned[1]["logger_m"] == pytest.approx(rows[1]["logger_m"])


def test_where_each_trip_has_a_cast_one_more_buys_little():
    found = worth(water_with(range(30)), TRIPS)
    assert found.now_m - found.each_trip_m < 0.6


def test_casts_on_days_that_nothing_was_measured_on_are_not_lost():
    """All readings on the first trip: what casts on the others would buy is what they buy."""
    first = made.thermometers(made.made_water("tanh", 1), DAYS[:1], 1, casts=range(1))
    found = worth(Water(fit=fit_water(first, Prior())), TRIPS)
    _, sd_m = water_with(range(30)).middle(TRIPS)
    assert found.each_trip_m == pytest.approx(np.sqrt(np.mean(sd_m**2)), rel=0.6)
    assert found.each_trip_m < found.logger_m < found.probe_m < found.now_m
    assert found.each_trip_m < found.fortnight_m < found.now_m
