"""Owns the tests of the registry of columns."""

import pytest

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log.schema import TABLES
from analysis.names import COLUMNS, FRAMES, glossary

ENDINGS = {"_mps": "m/s", "_kg": "kg", "_c": "C", "_n": "N", "_m": "m"}


def test_every_column_of_a_frame_is_registered_and_every_registered_one_is_used():
    used = {name for names in FRAMES.values() for name in names}
    assert used <= set(COLUMNS)
    elsewhere = {"slice", "placed", "lateral_m", "setback_m", "line_pull_n", "tip_height_m"}
    assert set(COLUMNS) - used <= elsewhere


@pytest.mark.parametrize("column", COLUMNS.values(), ids=lambda column: column.name)
def test_units_are_in_the_names(column):
    for ending, unit in ENDINGS.items():
        if column.name.endswith(ending):
            assert column.unit == unit
            return
    assert column.unit not in ENDINGS.values()


@pytest.mark.parametrize("name", TABLES)
def test_clean_tables_hold_what_the_schema_makes(name):
    assert FRAMES[name] == (*(field.clean for field in TABLES[name]), "line")


def test_set_aside_columns_are_those_of_the_errors():
    assert FRAMES["set_aside"] == SET_ASIDE_COLUMNS


def test_glossary_has_a_row_for_each_column():
    rows = glossary().splitlines()
    assert len(rows) == len(COLUMNS) + 2
    assert rows[2].startswith("| `trip` | text | id of the trip, unique in a season | trips, sets")
    assert {row.count(" | ") for row in rows[2:]} == {3}
