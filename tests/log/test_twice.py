"""Owns the tests of a season given twice: refused where logs are read for any report."""

import re
import shutil

import pytest

from analysis.cli import main
from analysis.errors import LogError
from analysis.season import read_seasons


@pytest.fixture
def dunlin(tmp_path, season_files):
    """Write the usual season."""
    return season_files.write(tmp_path / "dunlin-2026")


def copied(dunlin, name):
    return shutil.copytree(dunlin, dunlin.with_name(name))


def named(folder, boat):
    file = folder / "boat.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(re.sub('boat = ".*"', f'boat = "{boat}"', text), encoding="utf-8")
    return folder


@pytest.mark.parametrize("boat", ["Dunlin", "Petrel"])
def test_a_copy_is_refused_whatever_its_boat_is_called(dunlin, boat):
    copy = named(copied(dunlin, "backup"), boat)
    trips = copy / "trips.csv"
    trips.write_text(trips.read_text().replace("\n", "\r\n"), newline="")  # another byte, no word
    message = r"backup: this season folder holds the same trips and strikes as .*dunlin-2026"
    with pytest.raises(LogError, match=message):
        read_seasons([dunlin, copy])


@pytest.mark.parametrize(
    ("one", "other"), [("Dunlin", " dunlin "), ("\u00c5se", "A\u030ase"), ("Blue Jay", "blue  jay")]
)
def test_a_fuller_copy_is_refused_too(dunlin, season_files, one, other):
    copy = copied(dunlin, "later")
    more = season_files.add("trips", "T3,2026-07-12,06:00,12:00,,,").replace("T1", "T9")
    season_files.write(copy, trips=more)
    message = (
        r"later: this season folder and .*dunlin-2026 are both of .*, and 2 of its 3 trips overlap"
        r" with trips there; the first is T9\. Remedy: give only the fuller of the two"
    )
    with pytest.raises(LogError, match=message):
        read_seasons([named(dunlin, one), named(copy, other)])


def test_two_boats_may_fish_at_the_same_time(dunlin, season_files):
    copy = named(copied(dunlin, "other"), "Petrel")
    season_files.write(copy, boat=(copy / "boat.toml").read_text(), strikes="trip,time,rod\n")
    assert len(read_seasons([dunlin, copy])) == 2


def test_a_season_in_two_parts_is_no_copy(dunlin, season_files):
    late = copied(dunlin, "autumn")
    for file in late.glob("*.csv"):
        file.write_text(file.read_text().replace("2026-07", "2026-09"))
    assert len(read_seasons([dunlin, late])) == 2


@pytest.mark.parametrize("command", ["review --tables-only", "weekly --week 2026-W27"])
def test_review_and_weekly_say_so_and_end_with_1(dunlin, tmp_path, capsys, command):
    name, *options = command.split()
    logs = [str(dunlin), str(copied(dunlin, "backup"))]
    assert main([name, *logs, *options, "--out", str(tmp_path / "out")]) == 1
    assert "backup: this season folder holds the same trips" in capsys.readouterr().err
