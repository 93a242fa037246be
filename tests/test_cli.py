"""Owns the tests of the command line: exit codes, what is printed, what is left alone."""

import csv
from pathlib import Path

import pytest

from analysis.cli import DEMO, demo_logs, main

BOAT = DEMO / "whimbrel-2026" / "boat.toml"


def test_without_arguments_it_says_what_to_type_next(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    assert "rodhours review " in capsys.readouterr().out


@pytest.mark.parametrize("command", ["check", "review", "depth"])
def test_help_of_each_command_names_its_options(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="0"):
        main([command, "--help"])
    text = capsys.readouterr().out
    wanted = {"check": "LOG", "review": "--tables-only", "depth": "--gear BOAT_TOML"}
    assert wanted[command] in text


@pytest.mark.parametrize(
    "arguments",
    [["fish"], ["review", "--moon"], ["depth", "table.csv"], ["depth"], ["review", "--out"]],
)
def test_wrong_use_exits_with_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(arguments)
    assert "usage: rodhours" in capsys.readouterr().err


def test_demo_is_used_without_a_log() -> None:
    assert {path.name for path in demo_logs()} >= {"dunlin-2025", "dunlin-2026", "petrel-2026"}


def test_check_lists_rows_problems_and_gaps(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(DEMO / "whimbrel-2026")]) == 0
    text = capsys.readouterr().out
    assert "It can be analysed." in text
    for part in ("Rows read", "Set aside (", "riigger", "did you mean", "What the log lacks"):
        assert part in text


def test_check_of_a_folder_without_a_log_exits_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path)]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert str(tmp_path) in captured.err
    assert "Remedy: " in captured.err
    assert list(tmp_path.iterdir()) == []


def test_check_goes_on_after_a_bad_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path), str(DEMO / "whimbrel-2026")]) == 1
    assert "It can be analysed." in capsys.readouterr().out


def test_check_of_a_log_without_rod_hours_exits_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = DEMO / "whimbrel-2026"
    for name in ("boat.toml", "trips.csv", "strikes.csv"):
        (tmp_path / name).write_bytes((source / name).read_bytes())
    assert main(["check", str(tmp_path)]) == 1
    assert "cannot be analysed: it has no rod-hours" in capsys.readouterr().out


def test_depth_writes_the_table_and_says_how_many_rows_have_no_depth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "table.csv"
    table.write_text("gear,setting,line_out,speed\ndiver,1,100,2\ndiver,9,100,2\n")
    out = tmp_path / "depths.csv"
    assert main(["depth", str(table), "--gear", str(BOAT), "--out", str(out)]) == 0
    assert "2 rows written" in capsys.readouterr().out
    with out.open(newline="") as file:
        notes = [row["depth_note"] for row in csv.DictReader(file)]
    assert notes[0] == ""
    assert notes[1].startswith("setting 9 is off the dial")


def test_depth_leaves_an_older_table_when_it_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "depths.csv"
    out.write_text("old")
    table = tmp_path / "table.csv"
    table.write_text("gear,setting\n")
    assert main(["depth", str(table), "--gear", str(BOAT), "--out", str(out)]) == 1
    assert "no column line_out, speed" in capsys.readouterr().err
    assert out.read_text() == "old"


def test_depth_with_a_bad_boat_names_file_and_key(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    boat = tmp_path / "boat.toml"
    boat.write_text(BOAT.read_text().replace('kind = "diver"', 'kind = "dover"', 1))
    table = tmp_path / "table.csv"
    table.write_text("gear,setting,line_out,speed\n")
    assert main(["depth", str(table), "--gear", str(boat), "--out", str(tmp_path / "o.csv")]) == 1
    message = capsys.readouterr().err
    assert str(boat) in message
    assert "kind" in message
    assert not (tmp_path / "o.csv").exists()
