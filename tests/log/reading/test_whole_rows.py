"""Owns the tests of cells left empty for as above, of trips told again, and of a row of units."""

import pytest

from analysis.errors import LogError
from analysis.log.read import read_log

TOML = """
boat = "Plover"
time_zone = "Europe/Oslo"
[units]
length = "m"
depth = "m"
speed = "kn"
temperature = "C"
[gear.diver]
kind = "diver"
"""
TRIPS = "trip,date,start,end\nA,2026-06-14,05:40,11:30\nB,2026-06-15,05:30,11:45\n"


def write(folder, toml="", **tables):
    folder.mkdir(exist_ok=True)
    (folder / "boat.toml").write_text(TOML + toml)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def test_an_empty_cell_is_the_one_above_only_where_boat_toml_says_so(tmp_path):
    strikes = "trip,time,rod\nA,07:05,P2\n,08:10,P1\nB,06:10,P1\n,,\n,09:00,S1\n"
    plain = read_log(write(tmp_path / "plain", trips=TRIPS, strikes=strikes))
    assert plain.rows.set_index("table").loc["strikes"].tolist() == [4, 2, 2]
    toml = '[reading]\nas_above = ["strikes.trip"]\n'
    log = read_log(write(tmp_path / "told", toml, trips=TRIPS, strikes=strikes))
    assert log.rows.set_index("table").loc["strikes"].tolist() == [4, 4, 0]
    assert log.strikes["trip"].tolist() == ["A", "A", "B", "B"]
    assert any("2 empty cells of trip are read as the one above" in note for note in log.notes)


def test_above_the_first_filled_cell_nothing_is_taken(tmp_path):
    strikes = "trip,time,rod\n,07:05,P2\nA,08:10,P1\n"
    toml = '[reading]\nas_above = ["strikes.trip"]\n'
    log = read_log(write(tmp_path / "log", toml, trips=TRIPS, strikes=strikes))
    assert log.set_aside[["row", "column", "reason"]].to_numpy().tolist() == [
        [2, "trip", "missing"]
    ]


@pytest.mark.parametrize("value", ['"strikes.lake"', '["trip"]', "[3]"])
def test_as_above_names_table_and_column(tmp_path, value):
    with pytest.raises(LogError, match=r"key reading\.as_above: this is no column of ours"):
        read_log(write(tmp_path / "log", f"[reading]\nas_above = {value}\n", trips=TRIPS))


ONE_LIST = """date,start,end,area,time,rod,note
2026-06-14,05:40,11:30,bay,07:05,P2,rain
2026-06-14,05:40,11:30,bay,08:10,P1,
2026-06-15,05:30,11:45,bay,06:10,P1,
2026-06-15,05:30,11:45,cape,09:00,S1,
"""
SHARED = """
[tables]
trips = "fish.csv"
strikes = "fish.csv"
[columns.strikes]
date = "trip"
[patterns]
trips.date = '(?=(?P<trip>.*))(?P<date>.*)'
"""


def test_trips_told_again_on_each_row_of_strikes_are_read_once(tmp_path):
    log = read_log(write(tmp_path / "log", SHARED, fish=ONE_LIST))
    assert log.rows.set_index("table").loc["trips"].tolist() == [2, 2, 0]
    assert log.rows.set_index("table").loc["strikes"].tolist() == [4, 4, 0]
    # what the rows of one trip say differently is of none; a note is of its row
    assert log.trips[["trip", "area", "note", "line"]].to_numpy().tolist() == [
        ["2026-06-14", "bay", "", 2],
        ["2026-06-15", "", "", 4],
    ]
    assert log.strikes["note"].tolist() == ["rain", "", "", ""]


def test_rows_that_disagree_on_when_a_trip_was_are_not_made_one(tmp_path):
    other = ONE_LIST.replace("2026-06-15,05:30,11:45,cape", "2026-06-15,05:30,12:45,cape")
    log = read_log(write(tmp_path / "log", SHARED, fish=other))
    rows = log.rows.set_index("table").loc["trips"]
    assert rows["read"] == 3
    assert rows["kept"] < 3


@pytest.mark.parametrize("lines", [1, 400])
def test_a_row_of_units_below_the_header_is_no_row_and_gives_the_units(tmp_path, lines):
    strikes = "trip,time,rod,length,weight\n,,,(in),lb\n" + "".join(
        f"A,{6 + n // 100:02}:{n % 60:02},P{n},20,4\n" for n in range(lines)
    )
    log = read_log(write(tmp_path / "log", trips=TRIPS, strikes=strikes))
    assert log.rows.set_index("table").loc["strikes"].tolist() == [lines, lines, 0]
    assert log.strikes["length_m"].to_numpy() == pytest.approx(20 * 0.0254)
    assert log.strikes["weight_kg"].to_numpy() == pytest.approx(4 * 0.45359237)
    assert any("line 2 has units, and is no row" in note for note in log.notes)
