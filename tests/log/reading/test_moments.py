"""Owns the tests of dates and clocks as people type them."""

from datetime import date

import pytest

from analysis.errors import LogError
from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date

CLOCKS = {
    "05:20": "5:20 AM|5:20am|5.20 a.m.|05.20|0520|520|5h20|kl. 05:20|05:20 Uhr|5:20:00",
    "17:20": "5:20 PM|05:20 pm|5.20 p.m.|17.20|1720|17h20|kl 17.20|17:20",
    "00:05": "12:05 AM|0005|0.05|00:05",
    "12:05": "12:05 PM|1205|12.05",
    "06:00": "6 AM|6 a.m.|6am|6h|6 Uhr|0.25000",
}


@pytest.mark.parametrize(("ours", "typed"), CLOCKS.items())
def test_clocks(ours, typed):
    for text in typed.split("|"):
        assert read_clock(text)[0] == ours, text


@pytest.mark.parametrize("text", ["", "noon", "25:00", "17:20 AM", "5.2", "05:75", "13", "0:5"])
def test_what_is_no_clock_that_is_certain(text):
    assert read_clock(text)[0] == ""


DATES = (
    "4 July 2026|July 4, 2026|4. juli 2026|Sat 4 July 2026|4-Jul-26|2026/07/04|2026.7.4|20260704"
    "|46207|4 juillet 2026|4. Juli 2026|4 de julio 2026|lør. 4. juli 2026|4th of July 2026"
)


def test_dates_that_say_one_thing():
    # day 46207 after 1899-12-30 is 4 July 2026, by Python's own calendar
    for text in DATES.split("|"):
        found = read_date(text)
        assert found is not None, text
        assert set(found.days.values()) == {date(2026, 7, 4)}, text


def test_every_month_of_python_in_english():
    for month in range(1, 13):
        day = date(2026, month, 9)
        for form in ("%d %B %Y", "%b %d, %Y", "%d-%b-%Y", "%a %d %b %Y"):
            assert set(read_date(day.strftime(form)).days.values()) == {day}


@pytest.mark.parametrize("text", ["", "soon", "2026-13-40", "31 June 2026", "July", "4", "12:30"])
def test_what_is_no_date(text):
    assert read_date(text) is None


def trips(*dates):
    rows = "".join(f"T{i},{day},06:00,12:00\n" for i, day in enumerate(dates, start=1))
    return "trip,date,start,end\n" + rows


def read_trips(read, season_files, *dates, reading=""):
    boat = season_files.BOAT + (f"[reading]\n{reading}\n" if reading else "")
    empty = {name: None for name in ("sets", "readings", "casts", "soaks")}
    strikes = "trip,time,rod\nT1,07:00,P1\n"
    return read(boat=boat, trips=trips(*dates), strikes=strikes, **empty)


@pytest.mark.parametrize(
    ("dates", "order", "day"),
    [
        (("04/07/2026", "13/07/2026"), "day first", "2026-07-04"),
        (("07/04/2026", "07/13/2026"), "month first", "2026-07-04"),
        (("4.7.26", "13.7.26"), "day first", "2026-07-04"),
        (("26-07-04", "26-07-15"), "year first", "2026-07-04"),
    ],
)
def test_one_row_decides_its_column_and_is_shown(read, season_files, dates, order, day):
    log = read_trips(read, season_files, *dates)
    assert str(log.trips["date"].iloc[0].date()) == day
    assert set(log.changed["reason"]) == {f"read as a date, {order}"}
    assert any(note.startswith(f"trips.date: dates read {order}") for note in log.notes)


def test_dates_that_fit_both_are_asked_with_the_rows_that_would_decide(read, season_files):
    message = (
        r"trips\.csv, column date: its dates can be read in two ways: line 2: 04/07/2026 is "
        r"2026-07-04 or 2026-04-07; line 3: 05/07/2026.*"
        r'write dates = "day-month" or dates = "month-day" under \[reading\]'
    )
    with pytest.raises(LogError, match=message):
        read_trips(read, season_files, "04/07/2026", "05/07/2026")
    log = read_trips(read, season_files, "04/07/2026", "05/07/2026", reading='dates = "month-day"')
    assert log.trips["date"].dt.month.tolist() == [4, 5]


def test_rows_that_contradict_each_other_are_asked(read, season_files):
    message = r"two ways: day first for line 2: 13/07/2026; month first for line 3: 07/14/2026"
    with pytest.raises(LogError, match=message):
        read_trips(read, season_files, "13/07/2026", "07/14/2026")


def test_a_day_of_the_months_own_number_needs_no_decision(read, season_files):
    assert len(read_trips(read, season_files, "07/07/2026").trips) == 1


def test_a_column_that_fits_both_follows_the_logs_other_dates(read, season_files):
    log = read(
        trips=trips("04/07/2026", "13/07/2026").replace("06:00", "06.00"),
        strikes="trip,time,rod\nT1,04/07/2026 07:00,P1\n",
        sets=None,
        readings=None,
        casts=None,
    )
    assert log.strikes["time"].dt.strftime("%m-%d").tolist() == ["07-04"]
    assert any("strikes.time: dates read day first, as the other" in note for note in log.notes)


def test_dates_without_a_year_are_asked_for_it(read, season_files):
    with pytest.raises(LogError, match=r"2 dates have no year.*year = 2026"):
        read_trips(read, season_files, "4 July", "13 July")
    log = read_trips(read, season_files, "4 July", "13 July", reading="year = 2026")
    assert log.trips["date"].dt.strftime("%m-%d").tolist() == ["07-04", "07-13"]


def test_a_time_without_am_or_pm_in_a_column_that_has_them_is_set_aside(read):
    log = read(strikes="trip,time,rod\nT1,7:00 AM,P1\nT1,8:00,P1\nT1,11:00 am,P1\n")
    assert log.strikes["line"].tolist() == [2, 4]
    (problem,) = log.set_aside.to_dict("records")
    assert problem["row"] == 3
    assert problem["value"] == "8:00"
    assert problem["reason"].startswith("morning or afternoon?")


def test_readings_can_be_turned_off(read, season_files):
    boat = season_files.BOAT + '[reading]\nclocks = "off"\n'
    log = read(boat=boat, strikes="trip,time,rod\nT1,7:00 AM,P1\nT1,08:00,P1\n")
    assert log.strikes["line"].tolist() == [3]
    assert log.set_aside["value"].tolist() == ["7:00 AM"]
    boat = boat.replace("clocks", "dates")
    log = read(boat=boat, trips=trips("2026-07-04", "4 July 2026"))
    assert log.trips["trip"].tolist() == ["T1"]


def test_a_changed_cell_is_listed_as_it_was_written(read):
    log = read(strikes="trip,time,rod\nT1,7:00 AM,P1\n")
    (change,) = log.changed.to_dict("records")
    assert change["value"] == "7:00 AM"
    assert change["remedy"] == "write 07:00"


def test_a_clock_of_twelve_hours_may_stand_behind_a_date_of_ours(read):
    log = read(strikes="trip,time,rod\nT1,2026-07-04 7:00 AM,P1\nT1,2026-07-04 9:30 am,P1\n")
    assert log.strikes["time"].dt.strftime("%H:%M").tolist() == ["05:00", "07:30"]  # UTC
