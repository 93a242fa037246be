"""Owns the tests that typed rows and the schema of the result files say the same."""

from dataclasses import fields
from typing import get_type_hints

import pandas as pd
import pytest

from analysis.result_rows import SHOWN, Gap, records
from analysis.result_schema import RESULTS, SchemaError

OF_UNIT = {"text": (str,), "true/false": (bool,), "-": (float, int)}
OF_UNIT["local date"] = (pd.Timestamp,)


@pytest.mark.parametrize("table", sorted(SHOWN))
def test_rows_have_columns_of_the_schema_in_its_types(table: str) -> None:
    units = {column.name: column.unit for column in RESULTS[table].columns}
    for kind in SHOWN[table]:
        for name, told in get_type_hints(kind).items():
            assert name in units, f"{kind.__name__}.{name} is in no {table}.csv"
            assert told in OF_UNIT.get(units[name], (float,)), f"{kind.__name__}.{name}"


def test_every_kind_of_row_is_of_a_table() -> None:
    assert set(SHOWN) <= set(RESULTS)
    assert all(fields(kind) for kinds in SHOWN.values() for kind in kinds)


def test_rows_come_as_they_stand_and_a_missing_column_is_named() -> None:
    frame = pd.DataFrame({"log": ["a"], "what": ["casts"], "cost": ["some"], "remedy": ["cast"]})
    assert records(Gap, frame) == [Gap(log="a", what="casts", cost="some", remedy="cast")]
    assert records(Gap, pd.DataFrame()) == []
    with pytest.raises(SchemaError, match="Gap is without cost, remedy: write the results anew"):
        records(Gap, frame[["log", "what"]])
