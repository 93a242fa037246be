"""Owns the tests of numbers with decimal commas, thousands marks and units."""

import pytest

from analysis.errors import LogError
from analysis.log.reading.numbers import read_amount

FOOT = 0.3048  # exact, international yard and pound agreement of 1959


@pytest.mark.parametrize(
    ("text", "quantity", "unit", "value"),
    [
        ("120 ft", "length", "ft", 120),
        ("8ft", "length", "ft", 8),
        ("120'", "length", "ft", 120),
        ("5 ft 6 in", "length", "ft", 5.5),
        ("72 in", "length", "ft", 6),
        ("30 m", "length", "ft", 30 / FOOT),
        ("7 lb 8 oz", "fish_weight", "lb", 7.5),
        ("7lb8oz", "fish_weight", "lb", 7.5),
        ("3.2 kg", "fish_weight", "kg", 3.2),
        ("2.4 kn", "speed", "kn", 2.4),
        ("4 km/h", "speed", "m/s", 4 / 3.6),
        ("58°F", "temperature", "F", 58),
        ("58 F", "temperature", "C", 130 / 9),  # (58 - 32) * 5 / 9
        ('24"', "fish_length", "in", 24),
    ],
)
def test_a_number_with_its_unit(text, quantity, unit, value):
    assert read_amount(text, quantity, unit).value == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("120 lb", "length"),
        ("7 8", "fish_weight"),
        ("7 lb 8", "fish_weight"),
        ("7 oz 8 lb", "fish_weight"),
        ("5 m 6 ft", "length"),
        ("1 ft 2 ft 3 ft", "length"),
        ("ft", "length"),
        ("", "length"),
    ],
)
def test_what_is_no_certain_amount(text, quantity):
    unit = {"length": "ft", "fish_weight": "lb"}[quantity]
    assert read_amount(text, quantity, unit) is None


def sets(*line_outs, heading="line_out"):
    rows = "".join(
        f'T1,P{i},diver,1,"{out}",06:00,07:00\n' for i, out in enumerate(line_outs, start=1)
    )
    return f"trip,rod,gear,setting,{heading},time_in,time_out\n" + rows


def lengths(read, *line_outs, **changes):
    log = read(sets=sets(*line_outs), **changes)
    return log, (log.sets.sort_values("line")["line_out_m"] / FOOT).tolist()


def test_units_typed_with_numbers_are_read_and_listed(read):
    log, found = lengths(read, "120 ft", "8ft", "90")
    assert found == pytest.approx([120, 8, 90])
    assert log.set_aside.empty
    assert log.changed["reason"].tolist() == ["the unit is typed with the number"] * 2


def test_a_column_all_in_another_unit_says_so_itself(read):
    log, found = lengths(read, "30 m", "36 m")
    assert found == pytest.approx([30 / FOOT, 36 / FOOT])
    assert set(log.changed["reason"]) == {"the unit is typed with the number, and brought into ft"}


def test_numbers_without_a_unit_beside_those_of_another_are_asked(read, season_files):
    message = (
        r"sets\.csv, column line_out: 1 numbers are typed with m \(line 2\) and 2 without a unit "
        r"\(line 3, 4\), which boat\.toml takes for ft .*units\.sets"
    )
    with pytest.raises(LogError, match=message):
        read(sets=sets("30 m", "36", "40"))
    boat = season_files.BOAT + '[units.sets]\nline_out = "m"\n'
    _, found = lengths(read, "30 m", "36", "40", boat=boat)
    assert found == pytest.approx([30 / FOOT, 36 / FOOT, 40 / FOOT])


@pytest.mark.parametrize(
    "units", ['[units.line_out]\nunit = "m"\n', '[units.line_out]\nsets = "m"\n', "inside"]
)
def test_a_unit_of_one_column(read, season_files, units):
    boat = season_files.BOAT + units
    if units == "inside":
        boat = season_files.BOAT.replace("[rods]", 'line_out = "m"\n[rods]')
    log, found = lengths(read, "30", "36,5", boat=boat)
    assert found == pytest.approx([30 / FOOT, 36.5 / FOOT])
    assert "sets.line_out: read in m, for boat.toml says so" in log.notes


def test_a_unit_in_a_heading_is_that_of_its_column(read):
    log = read(sets=sets("30", "36", heading="Line-out (m)"))
    assert log.sets["line_out_m"].tolist() == pytest.approx([30, 36])
    assert 'sets.csv: "Line-out (m)" is read as the column line_out' in log.notes
    assert "sets.line_out: read in m, for its heading says so" in log.notes


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        (("82,5", "1,250"), [82.5, 1.25]),  # the first says what a comma is here
        (("82.5", "1,250.5"), [82.5, 1250.5]),
        (("82,5", "1.250,5"), [82.5, 1250.5]),
    ],
)
def test_marks_are_read_by_the_column_as_a_whole(read, typed, found):
    assert lengths(read, *typed)[1] == pytest.approx(found)


def test_a_mark_that_says_two_things_is_set_aside(read):
    log, _ = lengths(read, "1,250", "80")
    assert log.set_aside["reason"].tolist() == ["a decimal comma or a thousands mark?"]


def test_reading_of_numbers_can_be_turned_off(read, season_files):
    boat = season_files.BOAT + '[reading]\nnumbers = "off"\n'
    log, _ = lengths(read, "80 ft", "90", boat=boat)
    assert log.set_aside["value"].tolist() == ["80 ft"]


def test_an_unknown_unit_of_a_column_is_refused(read, season_files):
    boat = season_files.BOAT + '[units.sets]\nline_out = "fathoms"\n'
    with pytest.raises(LogError, match=r"key units\.sets\.line_out: this is not a unit of line_"):
        read(boat=boat)
