"""Owns the tests of the evening's typing: checked as typed, counted, added, taken back."""

import json
import shutil
from datetime import UTC, datetime

import pytest

from analysis.errors import LogError
from analysis.keeping.entry import Evening
from analysis.keeping.entry_form import EntryForm, evening
from analysis.keeping.plan import plan_of
from analysis.keeping.start import start_season
from analysis.places import DEMO, NOTEBOOKS
from analysis.render.notebook import run_notebook

NOW = datetime(2026, 7, 4, 21, 30, tzinfo=UTC)
ANSWERS = {
    "boat": "Dunlin",
    "club": "",
    "zone": "Europe/Oslo",
    "units": "m, km/h, C",
    "water": "",
    "rods": "P1 diver 2 28, PR rigger 15",
}
TRIP = {"trip": "T1", "date": "2026-07-04", "start": "06:00", "end": "12:00", "spread": "usual"}


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    """A new season in CSV files without a trip; its sheets take a second to draw."""
    folder = tmp_path_factory.mktemp("started") / "dunlin"
    start_season(folder, plan_of(ANSWERS), as_csv=True)
    return folder


@pytest.fixture
def season(started, tmp_path):
    return shutil.copytree(started, tmp_path / "dunlin")


@pytest.fixture
def window(season):
    return Evening.open(season, NOW)


def test_a_trip_its_changes_and_strikes_are_added_and_counted(window):
    assert window.tally("T1") == "No trip yet."
    assert window.add("trips", TRIP).refused == ()
    # P1 06:00-11:57, PR 06:03-12:00
    assert window.tally("T1") == "T1: 11.9 rod-hours, 0 strikes."
    window.add("strikes", {"trip": "T1", "time": "07:00", "rod": "P1", "outcome": "landed"})
    window.add("changes", {"trip": "T1", "time": "09:00", "rod": "PR", "what": "out"})
    told = window.tally("T1", "10:00")
    # less the reset of 8 minutes and PR's last three hours; P1 is now the last one out
    assert told == "T1: 8.8 rod-hours, 1 strike; 1 rod down at 10:00: P1."
    assert window.trips() == ["T1"]


@pytest.mark.parametrize(
    ("table", "row", "words"),
    [
        ("strikes", {"time": "05:00", "rod": "P1"}, "after its trip ended"),
        ("strikes", {"time": "7h9", "rod": "P1"}, "time '7h9': this is not a time. Remedy: write"),
        ("changes", {"rod": "P1", "line_out": "8O"}, "line_out '8O': not a number. Remedy: "),
        ("changes", {"time": "07:00", "rod": "P1", "gear": "driver 2"}, "did you mean diver?"),
        ("changes", {"time": "07:00", "rod": "X9", "what": "in"}, "nothing says the gear of X9"),
    ],
)
def test_a_row_that_check_would_set_aside_is_not_added(window, table, row, words):
    window.add("trips", TRIP)
    before = (window.folder / f"{table}.csv").read_bytes()
    judged = window.add(table, {"trip": "T1", **row})
    assert any(words in line for line in judged.refused), judged
    assert (window.folder / f"{table}.csv").read_bytes() == before


def test_a_first_trip_that_cannot_be_is_refused_too(window):
    judged = window.add("trips", TRIP | {"end": "noon"})
    assert "this is not a time" in judged.refused[0]
    assert str(window.folder) not in judged.refused[0]
    assert "T1" not in (window.folder / "trips.csv").read_text()


def test_what_check_reads_otherwise_is_told_and_added(window):
    window.add("trips", TRIP)
    out = window.add("changes", {"trip": "T1", "time": "07:00", "rod": "P1", "what": "out"})
    assert out == type(out)(refused=(), told=())
    strike = window.add("strikes", {"trip": "T1", "time": "08:00", "rod": "P1", "length": "6,5"})
    assert any("decimal comma, read as a decimal point" in line for line in strike.told)
    assert any("its rod was not down" in line for line in strike.told)
    assert len(window.log().strikes) == 1


def test_undo_takes_back_one_row_after_the_other_and_no_others(season, window):
    window.add("trips", TRIP)
    window.add("strikes", {"trip": "T1", "time": "07:00", "rod": "P1"})
    other = Evening.open(season, NOW)
    other.add("strikes", {"trip": "T1", "time": "08:00", "rod": "PR"})
    assert window.undo().startswith("Taken back from strikes.csv: T1, 07:00, P1")
    assert window.log().strikes["rod"].tolist() == ["PR"]
    assert window.undo().startswith("Taken back from trips.csv: T1, 2026-07-04")
    assert window.undo() == "Nothing to take back."


def test_a_workbook_and_the_demo_are_not_written_to(tmp_path, season):
    start_season(tmp_path / "book", plan_of(ANSWERS))
    with pytest.raises(LogError, match=r"stands in season\.xlsx, and a workbook is never written"):
        Evening.open(tmp_path / "book", NOW)
    with pytest.raises(LogError, match=r"this is the demo"):
        Evening.open(DEMO / "dunlin-2026", NOW)
    assert "stands in season.xlsx" in evening(tmp_path / "book").value
    (season / "strikes.csv").unlink()
    with pytest.raises(LogError, match=r"there is no strikes\.csv to add rows to"):
        Evening.open(season, NOW)


def press(form, table, late=None):
    """Send what a browser sends when Add is pressed: the press first, each field behind its own."""
    form.add_buttons[table].set_state({"value": True, "disabled": True})
    for name, box in (form.fields[table] | {"": form.trip}).items():
        box.set_state((late or {}).get(name, {}) | {"disabled": True})


def type_into(form, table, **cells):
    for name, cell in cells.items():
        form.fields[table][name].value = cell
    press(form, table)


def test_the_form_takes_an_evening_in_few_keystrokes(season):
    form = EntryForm(Evening.open(season, NOW))
    assert form.tabs.selected_index == 0
    type_into(form, "trips", **(TRIP | {"start": "600", "end": "1200"}))
    assert form.trip.value == "T1"
    assert form.fields["changes"]["rod"].options == ("P1", "PR", "all")
    type_into(form, "changes", time="740", rod="P1", line_out="40")
    assert "Added to changes.csv: T1, 07:40, P1, 40." in form.message.value
    assert "2 rods down at 07:40: P1, PR" in form.tally.value
    assert form.fields["changes"]["time"].value == ""
    form.fields["strikes"]["rod"].value = "P1"
    form.fields["strikes"]["time"].value = "25:00"
    assert "this is not a time" in form.message.value  # before anything is added
    press(form, "strikes")
    assert "Not added." in form.message.value
    form.fields["strikes"]["time"].value = "0815"
    press(form, "strikes")
    assert "1 strike" in form.tally.value
    form.undo.click()
    assert "Taken back from strikes.csv" in form.message.value
    assert "0 strikes" in form.tally.value
    press(form, "strikes")
    assert "Write at least: time, rod" in form.message.value


def test_a_row_is_what_stood_in_its_fields_however_late_they_are_heard_of(season):
    form = EntryForm(Evening.open(season, NOW))
    type_into(form, "trips", **TRIP)
    boxes = form.fields["changes"]
    boxes["time"].set_state({"value": "700"})
    boxes["rod"].set_state({"value": "PR"})
    late = {"time": {"value": "740"}, "rod": {"value": "P1"}, "line_out": {"value": "40"}}
    press(form, "changes", late)
    last = (season / "changes.csv").read_text().splitlines()[-1]
    assert last.startswith("T1,07:40,P1,,,,,40,")
    assert [box.value for box in boxes.values()] == [""] * len(boxes)
    assert not any(box.disabled for box in (*boxes.values(), form.trip, form.undo))
    assert not form.add_buttons["changes"].value

    form.add_buttons["changes"].set_state({"value": True, "disabled": True})
    for box in list(boxes.values())[:-1]:
        box.set_state({"disabled": True})
    assert "Added" in form.message.value  # of the row before: one field has not been heard of


def test_an_empty_field_says_its_unit_and_taking_back_names_the_row(season):
    form = EntryForm(Evening.open(season, NOW))
    hints = {
        name: made.placeholder
        for name, made in form.fields["changes"].items()
        if hasattr(made, "placeholder")
    }
    assert [hints[name] for name in ("time", "line_out", "leader_length", "lead", "lure")] == [
        *("0740", "m", "m", "m", ""),
    ]
    strikes = form.fields["strikes"]
    assert (strikes["length"].placeholder, strikes["weight"].placeholder) == ("cm", "kg")
    type_into(form, "trips", **TRIP)
    type_into(form, "changes", time="740", rod="P1", line_out="40")
    form.undo.click()
    assert "Taken back from changes.csv: T1, 07:40, P1, 40." in form.message.value


def test_what_was_typed_is_shown_and_not_obeyed(season):
    form = EntryForm(Evening.open(season, NOW))
    type_into(form, "trips", **(TRIP | {"trip": "<b>T1</b>"}))
    assert "<b>" not in form.message.value + form.tally.value
    assert "&lt;b&gt;T1" in form.message.value
    assert form.message.value.startswith("<ul")
    assert form.tally.value.startswith("<p>")


def test_log_entry_runs_as_it_lies():
    done = run_notebook(NOTEBOOKS / "log_entry.ipynb", {}, folder=NOTEBOOKS, progress=False)
    assert "this is the demo" in json.dumps(done)
