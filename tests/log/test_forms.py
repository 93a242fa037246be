"""Owns the test of the page on logs in other forms: each example is read, and is what it says."""

import re
from pathlib import Path

from season_files import PLAIN_BOAT

import analysis.log
from analysis.log.read import read_log
from analysis.log.wording.wide import MARKS

PAGE = (Path(analysis.log.__file__).parent / "FORMS.md").read_text(encoding="utf-8")
TRIPS = "trip,date,start,end\n1,2026-07-04,05:10,11:30\n"
STRIKES = "trip,time,rod\n1,06:10,P1\n2,07:00,P1\n"


def example(heading):
    """Return the files that a section of the page shows, and its text."""
    section = PAGE.split(f"## {heading}\n")[1].split("\n## ")[0]
    blocks = re.findall(r"^```(csv|toml)\n(.*?)^```$", section, flags=re.MULTILINE | re.DOTALL)
    return dict(blocks), section


def read(folder, boat, **tables):
    folder.mkdir()
    (folder / "boat.toml").write_text(PLAIN_BOAT + boat)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return read_log(folder)


def test_one_column_a_rod(tmp_path):
    shown, text = example("One column a rod")
    log = read(tmp_path / "log", shown["toml"], trips=TRIPS, rods=shown["csv"])
    rows = log.rows.set_index("table")
    said = re.search(r"These are (\d) changes and (\d) strikes; one mark says nothing", text)
    assert rows.loc["changes"].tolist() == [int(said[1]), int(said[1]), 0]
    assert rows.loc["strikes"].tolist() == [int(said[2]), int(said[2]), 0]
    assert any("1 mark of nothing" in note for note in log.notes)
    assert log.strikes[["rod", "outcome"]].to_numpy().tolist() == [["P2", ""], ["S1", "landed"]]
    fished = {
        (row.rod, round(row.line_out_m / 0.3048), row.gear, row.side)
        for row in log.stretches.itertuples()
    }
    assert fished == {
        ("P1", 120, "diver", "port"),
        ("P1", 140, "diver", "port"),
        ("P2", 150, "diver", "port"),
        ("R1", 60, "rigger", "port"),
        ("R1", 70, "rigger", "port"),
        ("S1", 140, "diver", "starboard"),
    }


def test_one_row_a_trip(tmp_path):
    shown, text = example("One row a trip, with a column a rod")
    log = read(tmp_path / "log", shown["toml"], trips=shown["csv"], strikes=STRIKES)
    rows = log.rows.set_index("table")
    said = re.search(r"These are (\d) trips and (\d) rods", text)
    assert rows.loc["trips"].tolist() == [int(said[1]), int(said[1]), 0]
    assert rows.loc["spreads"].tolist() == [int(said[2]), int(said[2]), 0]
    assert set(log.stretches["source"]) == {"spread"}


def test_the_date_on_the_first_row(tmp_path):
    shown, _ = example("The date on the first row of a day only")
    strikes = "trip,time,rod\n1,06:10,P1\n,07:00,P1\n"
    log = read(tmp_path / "log", shown["toml"], trips=TRIPS, strikes=strikes)
    assert log.strikes["trip"].tolist() == ["1", "1"]


def test_what_the_page_says_of_marks_is_what_is_known():
    _, text = example("One column a rod")
    item = text.split("- `marks` says")[1].split("A cell that is no mark")[0]
    assert set(re.findall(r"`([a-z]+)`", item)) == set(MARKS["changes"])
