"""Owns the tests of what cells alone say, where no heading is a word of any language we know."""

import pytest

from analysis.log.suggest.content import by_clock, header_row, shared_keys
from analysis.log.suggest.proposal import suggest

NONSENSE = [a + b for a in ("qua", "zor", "fli") for b in ("bex", "wun", "drop", "kis")]


@pytest.fixture
def nonsense(tmp_path, log_habits):
    """Write the metric season under headings that mean nothing; units stand in them."""
    habits = log_habits
    columns = dict.fromkeys(c for rows in habits.season().values() for c in rows[0])
    own = {column: NONSENSE[n % 12] + NONSENSE[n // 12] for n, column in enumerate(columns)}
    files = {name: f"{NONSENSE[n]}" for n, name in enumerate(habits.season())}
    habit = habits.Habit("nonsense", headings=own, units=habits.METRIC, files=files)
    return habits.write(habit, tmp_path / "log"), suggest(tmp_path / "log")


def test_units_clocks_and_ids_tell_columns_under_headings_without_a_meaning(nonsense):
    truth, found = nonsense
    known = {name for columns in truth.values() for name in columns}
    assert known  # headings differ from table to table only by their unit
    for one in found.matches:
        for at, (column, _) in one.columns.items():
            assert truth[one.table][one.source.header[at]] == column
    tables = {one.table: {column for column, _ in one.columns.values()} for one in found.matches}
    assert {"trip", "date", "start", "end"} <= tables["trips"]
    assert {"trip", "rod", "time", "length", "weight"} <= tables["strikes"]
    assert {"trip", "rod", "time_in", "time_out", "line_out"} <= tables["sets"]


def test_no_unit_is_told_that_is_wrong(nonsense):
    _, found = nonsense
    units = {line.key: line.value for line in found.lines if line.table == "units"}
    sure = {line.key for line in found.lines if line.table == "units" and not line.question}
    right = {"length": '"m"', "depth": '"m"', "speed": '"km/h"', "temperature": '"C"'}
    assert {key: units[key] for key in sure & set(right)} == {
        key: right[key] for key in sure & set(right)
    }


def test_where_columns_have_no_known_meaning_no_unit_is_said_to_be_without_one(tmp_path):
    (tmp_path / "trips.csv").write_text("trip,date,start,end,quab\nA,2026-07-04,05:00,09:00,17\n")
    (tmp_path / "strikes.csv").write_text("trip,time,rod,zorn\nA,06:00,P1,80\n")
    lines = [line for line in suggest(tmp_path).lines if line.table == "units"]
    assert lines
    assert all(line.question for line in lines)


def test_numbers_that_could_be_clocks_are_none():
    assert by_clock([["120", "150", "230"]], "strikes") == {}
    assert by_clock([["0620", "1150", "1230"]], "strikes") == {0: "time"}
    assert by_clock([["06:20", "11:50"], ["07:00", "12:10"]], "strikes") == {}  # which of the two?


def test_sides_are_no_rods():
    tables = {0: [["P", "S", "P"]], 1: [["S", "P", "P"]]}
    assert shared_keys(tables) == {}


def test_a_header_is_found_below_titles():
    rows = [["Season 2026", "", ""], ["a", "b", "c"], ["1", "x", "y"], ["2", "x", "y"]]
    assert header_row(rows) == 1
    assert header_row(rows[1:]) == 0
