"""Owns the tests of the wording of errors."""

from analysis.errors import GearError, LogError


def test_log_error_names_place_value_and_remedy():
    error = LogError(
        "this is not a date.",
        file="Dunlin/trips.csv",
        row=12,
        column="date",
        value="31 Feb",
        remedy="write it as 2026-02-28.",
    )
    assert str(error) == (
        "Dunlin/trips.csv, line 12, column date: this is not a date (found '31 Feb'). "
        "Remedy: write it as 2026-02-28."
    )


def test_log_error_without_a_place_in_the_file():
    error = LogError("the folder is empty", file="Dunlin", remedy="put the log there")
    assert str(error) == "Dunlin: the folder is empty. Remedy: put the log there."


def test_gear_error_names_the_key():
    error = GearError("unknown key", key="gear.diver.rol_deg", remedy="did you mean roll_deg?")
    assert str(error) == "key gear.diver.rol_deg: unknown key. Remedy: did you mean roll_deg?"
