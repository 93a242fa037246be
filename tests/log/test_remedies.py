"""Owns the tests of remedies: none tells a person to write what is not so."""

import pytest

from analysis.errors import LogError


def test_a_missing_column_is_not_said_to_be_another_of_ours(read, season_files):
    header, rest = season_files.SETS.split("\n", 1)
    with pytest.raises(LogError, match=r"column time_out: this column is missing") as caught:
        read(sets=header.replace(",time_out", ",ended") + "\n" + rest)
    assert "line_out" not in caught.value.remedy
    assert '"your heading" = "time_out"' in caught.value.remedy


@pytest.mark.parametrize("zone", ["CEST", "PDT", "BST", "Central"])
def test_an_abbreviation_is_no_time_zone_and_like_none(read, season_files, zone):
    with pytest.raises(LogError, match=r"key time_zone: this time zone is not known") as caught:
        read(boat=season_files.BOAT.replace("Europe/Oslo", zone))
    assert caught.value.remedy == 'write a zone such as "Europe/Oslo"'


@pytest.mark.parametrize("zone", ["Oslo", "Europe/Olso"])
def test_a_place_without_its_continent_or_misspelt_is_told_its_zone(read, season_files, zone):
    with pytest.raises(LogError, match=r'did you mean "Europe/Oslo"\?'):
        read(boat=season_files.BOAT.replace("Europe/Oslo", zone))


@pytest.mark.parametrize(
    ("trip", "time", "remedy"),
    [
        # D0O7 looks like D007, which was under way on another day
        ("D0O7", "2026-07-04 08:30", "add the trip, or did you mean T1?"),
        ("D0O7", "2026-07-05 08:30", "add the trip"),
        ("D0O7", "08:30", "add the trip"),
        ("t1", "08:30", "add the trip, or did you mean T1?"),
    ],
)
def test_an_unknown_trip_is_told_the_one_under_way_or_none(read, season_files, trip, time, remedy):
    trips = season_files.add("trips", "D007,2026-07-20,06:00,12:00,,,")
    log = read(trips=trips, strikes=season_files.add("strikes", f"{trip},{time},P1,,landed,,,"))
    assert log.set_aside["remedy"].tolist() == [remedy]


def test_a_long_cell_is_not_a_missing_quotation_mark(read, season_files):
    strikes = season_files.add("strikes", f'T1,08:30,P1,,landed,,,"{"x" * 140_000}"')
    message = r"strikes\.csv, line 5: a cell of this row is longer than 131072 characters"
    with pytest.raises(LogError, match=message) as caught:
        read(strikes=strikes)
    assert "quotation" not in str(caught.value)


def test_a_quotation_mark_that_swallows_a_long_file_is_still_one(read, season_files):
    rows = ["T1,08:30,P1,,landed,,,note"] * 10_000
    strikes = season_files.add("strikes", 'T1,08:30,P1,,landed,,,"big', *rows)
    with pytest.raises(LogError, match=r"line 5: .*Remedy: look for a quotation mark"):
        read(strikes=strikes)
