"""Owns the tests of moments written in two columns, and of dates that both orders fit."""

import pytest

from analysis.errors import LogError

HEAD = "trip,date,time,rod,outcome\n"


def struck(log):
    return dict(zip(log.strikes["line"], log.strikes["time"].astype(str), strict=True))


def test_a_date_beside_a_time_is_read_with_it(read):
    rows = "T1,2026-07-04,08:00,P1,landed\nT2,2026-07-11,00:30,P1,lost\n"
    log = read(strikes=HEAD + rows)
    assert struck(log) == {2: "2026-07-04 06:00:00+00:00", 3: "2026-07-10 22:30:00+00:00"}
    assert "strikes: the columns date and time are read together" in log.notes


def test_the_trips_date_repeated_in_each_row_holds_past_midnight(read):
    """Half past midnight of a trip that began on the 10th is of the 11th."""
    log = read(strikes=HEAD + "T2,2026-07-10,00:30,P1,lost\n")
    assert struck(log) == {2: "2026-07-10 22:30:00+00:00"}


def test_a_date_of_another_day_is_not_passed_over(read):
    log = read(strikes=HEAD + "T1,2026-07-05,08:00,P1,landed\nT1,,08:00,P1,landed\n")
    assert list(struck(log)) == [3]
    assert log.set_aside["reason"].tolist() == ["after its trip ended"]


def test_a_time_with_its_own_date_keeps_it(read):
    log = read(strikes=HEAD + "T1,2026-07-09,2026-07-04 08:00,P1,landed\n")
    assert struck(log) == {2: "2026-07-04 06:00:00+00:00"}


def test_dates_in_the_boats_own_order_are_joined_and_decided(read, season_files):
    trips = season_files.TRIPS.replace("2026-07-04,2026-07-04 06:00", "04.07.2026,06:00")
    trips = trips.replace("2026-07-10,2026-07-10 20:00", "10.07.2026,20:00")
    trips += "T3,25.07.2026,06:00,12:00,,,\n"
    log = read(trips=trips, strikes=HEAD + "T2,11.07.2026,00:30,P1,lost\n")
    assert struck(log) == {2: "2026-07-10 22:30:00+00:00"}


def test_dates_that_both_orders_fit_are_refused_with_rows_that_would_decide(read, season_files):
    trips = season_files.TRIPS.replace("2026-07-04,2026-07-04 06:00", "04/07/2026,06:00")
    trips = trips.replace("2026-07-10,2026-07-10 20:00", "06/07/2026,20:00")
    with pytest.raises(LogError, match=r"trips\.csv.*date") as caught:
        read(trips=trips, strikes="trip,time,rod,outcome\nT1,08:00,P1,landed\n")
    assert "day-month" in str(caught.value)
    assert "month-day" in str(caught.value)
