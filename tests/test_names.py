"""Owns the tests of the registry of columns."""

import pytest

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log.schema import TABLES
from analysis.names import COLUMNS, FRAMES
from analysis.result_schema import RESULTS, glossary

ENDINGS = {"_mps": "m/s", "_kg": "kg", "_c": "C", "_n": "N", "_m": "m"}


def test_every_column_of_a_frame_is_registered_and_every_registered_one_is_used():
    used = {name for names in FRAMES.values() for name in names}
    assert used <= set(COLUMNS)
    written = {name for table in RESULTS.values() for name in table.names}
    assert written <= set(COLUMNS)
    assert set(COLUMNS) - used - written <= {"slice", "placed", "tip_height_m"}


OWN = {column for table in RESULTS.values() for column in table.columns} - set(COLUMNS.values())


@pytest.mark.parametrize(
    "column", [*COLUMNS.values(), *sorted(OWN, key=str)], ids=lambda column: column.name
)
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
    for name in ("set_aside", "changed"):
        assert RESULTS[name].names == (*SET_ASIDE_COLUMNS, "log")


def test_glossary_has_a_row_for_each_meaning():
    rows = glossary().splitlines()
    assert len(rows) == len(COLUMNS) + len(OWN) + 2
    assert rows[2].startswith("| `trip` | text | id of the trip, unique in a season | trips, sets")
    assert {row.count(" | ") for row in rows[2:]} == {3}


def test_one_word_of_the_log_is_a_name_and_another_a_number():
    for name, table in RESULTS.items():
        units = {column.name: column.unit for column in table.columns}
        assert units.get("log", "text") == "text", name
        assert units.get("log_number", "-") == "-", name
