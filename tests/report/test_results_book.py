"""Owns the tests of the workbook of results: units, meanings, and no cell that runs."""

import re
import zipfile
from datetime import date
from pathlib import Path
from types import ModuleType

import numpy as np
import openpyxl
import pandas as pd
import pytest

from analysis.names import COLUMNS
from analysis.report.results import write_results
from analysis.report.results_book import FILE, MOST_ROWS, quantity_of, write_book
from analysis.result_schema import RESULTS
from analysis.units import Units

FEET = Units(
    length="ft", depth="m", speed="kn", temperature="F", fish_length="in", fish_weight="lb"
)
RUNS = ["=1+1", "+1", "-x", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x")', "{=1}", "spoon"]


@pytest.fixture
def sheets(tmp_path):
    """Write tables and return a function: name of a sheet -> its rows."""

    def write(tables, units=FEET):
        write_book(tables, units, tmp_path / FILE)
        book = openpyxl.load_workbook(tmp_path / FILE)
        return {sheet.title: [list(row) for row in sheet.iter_rows()] for sheet in book}

    return write


def values(rows):
    return [[cell.value for cell in row] for row in rows]


def test_numbers_are_in_the_boats_units(sheets):
    """25.4 mm, 0.3048 m, 1852 m and 0.45359237 kg: the definitions of in, ft, nmi and lb."""
    trips = pd.DataFrame(
        {"trip": ["T1"], "speed_mps": [1852 / 3600], "surface_temp_c": [10.0], "rod_hours": [2.5]}
    )
    fish = pd.DataFrame(
        {"species": ["pike"], "biggest_length_m": [0.254], "biggest_weight_kg": [0.90718474]}
    )
    spread = pd.DataFrame({"line_out_m": [30.48], "depth_m": [7.0], "depth_sd_m": [0.5]})
    water = pd.DataFrame({"temp_c": [20.0], "temp_sd_c": [1.0]})
    book = sheets({"trips": trips, "species": fish, "spread": spread, "water": water})
    assert values(book["trips"]) == [
        ["trip", "speed (kn)", "surface temp (F)", "rod hours (h)"],
        ["T1", pytest.approx(1.0), pytest.approx(50.0), 2.5],
    ]
    assert values(book["species"])[0][1:] == ["biggest length (in)", "biggest weight (lb)"]
    assert values(book["species"])[1][1:] == pytest.approx([10.0, 2.0])
    assert values(book["spread"])[0] == ["line out (ft)", "depth (m)", "depth sd (m)"]
    assert values(book["spread"])[1] == pytest.approx([100.0, 7.0, 0.5])
    # a degree of doubt is 1.8 F, not 33.8
    assert values(book["water"])[1] == pytest.approx([68.0, 1.8])


def test_effects_are_in_the_unit_of_their_term(sheets):
    effects = pd.DataFrame(
        {"term": ["lure_temp_c", "speed_mps", "leader_length_m"], "at": [10.0, 1852 / 3600, 3.048]}
    ).assign(ratio=1.0, reference=[0.0, 0.0, 0.0], step=[5.0, 0.0, 0.0])
    head, *rows = values(sheets({"effects": effects})["effects"])
    assert head == ["term", "at", "unit", "ratio", "reference", "step"]
    assert [row[1:3] for row in rows] == [
        [pytest.approx(50.0), "F"],
        [pytest.approx(1.0), "kn"],
        [pytest.approx(10.0), "ft"],
    ]
    assert rows[0][4:] == [pytest.approx(32.0), pytest.approx(9.0)]


def test_every_number_with_a_unit_of_the_log_has_a_quantity():
    boats_own = {"m": ("depth", "length", "fish_length"), "kg": ("fish_weight",)}
    boats_own |= {"m/s": ("speed",), "C": ("temperature",)}
    for table in RESULTS.values():
        for column in table.columns:
            assert quantity_of(column) in boats_own.get(column.unit, (None,)), column
    assert quantity_of(COLUMNS["line_out_m"]) == "length"
    assert quantity_of(COLUMNS["band_low_m"]) == "depth"


def test_no_cell_is_a_formula_and_each_keeps_its_text(sheets, tmp_path):
    frame = pd.DataFrame({"boat": RUNS, "trip": RUNS, "date": date(2026, 7, 4).isoformat()})
    rows = sheets({"trips": frame})["trips"]
    assert [row[0].value for row in rows[1:]] == RUNS
    assert {cell.data_type for row in rows for cell in row} == {"s"}
    with zipfile.ZipFile(tmp_path / FILE) as packed:
        names = [name for name in packed.namelist() if "sheet" in name]
        assert not any(re.search(rb"<f[ >]|hyperlink", packed.read(name)) for name in names)


def test_numbers_are_numbers_and_what_is_unknown_is_empty(sheets):
    frame = pd.DataFrame(
        {"named": [True, False], "p_best": [0.25, np.nan], "rate": [np.inf, 1], "strikes": [3, 0]}
    )
    rows = sheets({"bands": frame})["bands"]
    assert values(rows)[1:] == [[True, 0.25, None, 3], [False, None, 1, 0]]
    assert [cell.data_type for cell in rows[1]] == ["b", "n", "n", "n"]


def test_columns_without_any_value_and_dates_among_texts(sheets):
    frame = pd.DataFrame({"best_low_m": [np.nan, np.nan], "week": [None, date(2026, 7, 4)]})
    rows = values(sheets({"weeks": frame, "before": pd.DataFrame(columns=["what"])})["weeks"])
    assert rows == [["best low (m)", "week"], [None, None], [None, "2026-07-04"]]


def test_the_first_sheet_says_what_each_column_is(sheets):
    frame = pd.DataFrame({"band_low_m": [0.0], "rate": [0.1]})
    book = sheets({"bands": frame})
    assert list(book) == ["meanings", "bands"]
    assert values(book["meanings"]) == [
        ["sheet", "column", "unit", "meaning", "name in the other files"],
        ["bands", None, None, "each row: a depth band in one period", None],
        ["bands", "band low (m)", "m", COLUMNS["band_low_m"].meaning, "band_low_m"],
        ["bands", "rate (1/h)", "1/h", COLUMNS["rate"].meaning, "rate"],
    ]


def test_a_long_table_is_told_of_and_left_out(sheets):
    long = pd.DataFrame({"trip": ["T1"] * (MOST_ROWS + 1)})
    book = sheets({"exposure": long, "trips": long.iloc[:1]})
    assert list(book) == ["meanings", "trips"]
    assert "too long for a sheet" in values(book["meanings"])[-1][3]


def test_times_are_times(sheets):
    start = pd.to_datetime(["2026-07-04 04:00"], utc=True)
    frame = pd.DataFrame({"trip": ["T1"], "start": start.as_unit("us"), "rod": ["P1"]})
    head, row = sheets({"exposure": frame})["exposure"]
    assert head[1].value == "start (UTC)"
    assert row[1].value == pd.Timestamp("2026-07-04 04:00").to_pydatetime()


def test_it_lies_beside_the_other_tables_and_is_the_same_again(
    made_up_season, made_up: ModuleType, tmp_path: Path
):
    for name in ("one", "two"):
        write_results(made_up_season, tmp_path / name)
    one, two = (tmp_path / name / "tables" / FILE for name in ("one", "two"))
    assert one.read_bytes() == two.read_bytes()
    book = openpyxl.load_workbook(one, read_only=True)
    assert set(book.sheetnames) == {"meanings", *made_up_season.tables}
