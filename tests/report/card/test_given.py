"""Owns the tests of what a person gives for a day: each fault names its place and remedy."""

from dataclasses import replace
from datetime import date

import pytest

from analysis.errors import LogError, UsageError
from analysis.report.card.given import (
    FEWEST_STRIKES,
    boat_of,
    read_cast,
    read_date,
    read_surface,
    season_for,
)
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)


def cast(tmp_path, text):
    file = tmp_path / "cast.csv"
    file.write_text(text, encoding="utf-8")
    return read_cast(file, FEET)


@pytest.mark.parametrize(
    "text", ["12/07/2026", "tomorrow", "2026-13-01", "2026-W28", "2026-W28-7", ""]
)
def test_no_day(text):
    with pytest.raises(UsageError, match=r"Remedy: write it as year-month-day: 2026-07-12"):
        read_date(text)


@pytest.mark.parametrize("text", ["64", "64°", "17,5"])
def test_a_surface_without_its_unit_is_asked(text):
    with pytest.raises(UsageError, match=r"needs its unit\. Remedy: write '.+ F' or '.+ C'"):
        read_surface(text)


@pytest.mark.parametrize("text", ["", "warm", "F"])
def test_a_surface_without_a_number_is_not_asked_for_its_unit(text):
    with pytest.raises(
        UsageError, match=r"is no temperature\. Remedy: write it as '64 F' or '18 C'"
    ):
        read_surface(text)


@pytest.mark.parametrize(("text", "asked"), [("64 C", "64 F"), ("18 F", "18 C")])
def test_a_surface_in_the_other_unit_is_asked(text, asked):
    with pytest.raises(UsageError, match=rf"no open water\. Remedy: was it {asked}\?"):
        read_surface(text)


def test_a_cast_is_read_in_the_boats_units_or_its_own(tmp_path):
    own = cast(tmp_path, "depth,temp\n0,68\n30,59\n100,41\n")
    assert own.depth_m == pytest.approx([0.0, 9.144, 30.48])  # the foot of 1959, NIST SP 811
    assert own.temp_c == pytest.approx([20.0, 15.0, 5.0])
    named = cast(tmp_path, "Depth (m);Temp °C\n0;20,0\n10;15,5\n30;5,0\n")
    assert named.depth_m == pytest.approx([0.0, 10.0, 30.0])
    assert named.temp_c == pytest.approx([20.0, 15.5, 5.0])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "this cast is empty"),
        ("deep,cold\n1,2\n", "line 1: there is no column depth"),
        ("depth,temp\n0,68\n30,warm\n60,40\n", "line 3, column temp: this temp is no number"),
        ("depth,temp\n0,20\n30,15\n60,5\n", r"line 2, column temp: .* name its unit .* temp \(C\)"),
        ("depth,temp\n0,68\n-30,50\n60,41\n", "line 3, column depth: no water has a depth of -30"),
        ("depth,temp\n0,68\n60,41\n", "this cast has 2 depths, and three are the least"),
        ("depth,temp\n0,41\n30,50\n100,68\n", "line 4: this cast is upside down: 41 °F at 0 ft"),
    ],
)
def test_a_bad_cast_is_refused_with_its_place(tmp_path, text, says):
    with pytest.raises(LogError, match=rf"cast\.csv.*{says}"):
        cast(tmp_path, text)


def test_water_that_is_coldest_on_top_in_spring_is_no_fault(tmp_path):
    found = cast(tmp_path, "depth,temp\n0,36\n30,38\n100,39\n")
    assert found.temp_c[0] < found.temp_c[-1]


def test_the_boat_is_asked_where_several_could_be_meant(basis):
    two = (basis, replace(basis, boat="Petrel"))
    with pytest.raises(UsageError, match=r"whose card\?.*Petrel\. Remedy: add --boat NAME"):
        boat_of(two, None)
    with pytest.raises(UsageError, match=r"no boat 'Grebe'.*Petrel\. Remedy: name one"):
        boat_of(two, "Grebe")
    assert boat_of(two, " petrel ") == "Petrel"
    with pytest.raises(UsageError, match=r"no log has set records"):
        boat_of((), None)


def test_first_weeks_rest_on_the_season_before(two_years):
    now, before = two_years
    day = date(now.season, 7, 1)
    assert season_for(two_years, now.boat, day) is before
    later = replace(now, strikes=FEWEST_STRIKES)
    assert season_for((later, before), now.boat, day) is later
    # alone it stands for itself
    assert season_for((now,), now.boat, day) is now


@pytest.mark.parametrize(("years", "month"), [(0, 1), (3, 7), (-2, 7)])
def test_a_day_outside_all_seasons_is_refused(basis, years, month):
    with pytest.raises(UsageError, match=r"outside all seasons given.*Remedy: name such a day"):
        season_for((basis,), basis.boat, date(basis.season + years, month, 10))
