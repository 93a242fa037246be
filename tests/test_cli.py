"""Owns the tests of the command line: exit codes, what is printed, what is left alone."""

import csv
import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import pytest
from made_instruments import positions_in, with_tracks

from analysis import season
from analysis.cli import main
from analysis.places import DEMO, PROJECT, demo_logs

TABLES = ("trips", "sets", "strikes", "readings", "casts", "soaks")
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


def test_linear_algebra_of_a_command_keeps_to_one_core_unless_more_are_asked_for() -> None:
    asks = "from analysis.cli import main; main([]); import numpy, scipy.linalg, threadpoolctl as t"
    tell = "print(max(pool['num_threads'] for pool in t.threadpool_info()))"
    found = {}
    for wish in ("", "2"):
        given = {name: to for name, to in os.environ.items() if not name.endswith("_NUM_THREADS")}
        given |= {"OPENBLAS_NUM_THREADS": wish} if wish else {}
        command = [sys.executable, "-c", f"{asks}; {tell}"]
        done = subprocess.run(command, cwd=PROJECT, env=given, capture_output=True, check=True)
        found[wish] = int(done.stdout.split()[-1])
    assert found == {"": 1, "2": min(2, os.cpu_count() or 1)}


def test_demo_is_used_without_a_log() -> None:
    assert {path.name for path in demo_logs()} >= {"dunlin-2025", "dunlin-2026", "petrel-2026"}


def test_check_lists_rows_problems_and_gaps(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(DEMO / "whimbrel-2026")]) == 0
    text = capsys.readouterr().out
    assert "It can be analysed." in text
    for part in (
        "Rows kept",
        "Findings (",
        "those that matter most first",
        "did you mean",
        "What the log lacks",
    ):
        assert part in text


def test_a_reader_who_has_seen_enough_is_no_error() -> None:
    """As of ``rodhours check | head``: the reader closes the pipe, and nothing complains."""
    command = [sys.executable, "-m", "analysis.cli", "check", str(DEMO / "whimbrel-2026")]
    with subprocess.Popen(
        command, cwd=PROJECT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait() == 0


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


def test_check_of_a_log_without_sets_says_what_that_costs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = DEMO / "whimbrel-2026"
    for name in ("boat.toml", "trips.csv", "strikes.csv"):
        (tmp_path / name).write_bytes((source / name).read_bytes())
    assert main(["check", str(tmp_path)]) == 0
    assert "in part: it has no rod-hours" in " ".join(capsys.readouterr().out.split())


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


@pytest.fixture
def small(season_files: ModuleType, tmp_path: Path) -> Path:
    """A season of two trips and three strikes."""
    folder: Path = season_files.write(tmp_path / "small-2026")
    return folder


def test_review_writes_page_notebook_and_tables_and_says_where(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with_tracks(small, [datetime(2026, 7, 4, 4, tzinfo=UTC), datetime(2026, 7, 10, 18, tzinfo=UTC)])
    out = tmp_path / "out"
    assert main(["review", str(small), "--out", str(out)]) == 0
    captured = capsys.readouterr()
    assert captured.out.splitlines()[-1] == f"The season review is {out / 'season-review.html'}"
    assert "100 %" in captured.err
    page = (out / "season-review.html").read_text(encoding="utf-8")
    assert "Dunlin, 2026: 2 trips" in page
    assert (out / "season-review.ipynb").is_file()
    assert (out / "tables" / "bands.csv").is_file()
    assert "tracks/t0.nmea" in (out / "tables" / "rows.csv").read_text(encoding="utf-8-sig")
    assert positions_in(out) == []


def test_tables_only_renders_nothing(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["review", str(small), "--out", str(out), "--tables-only"]) == 0
    assert capsys.readouterr().out == f"The result tables are in {out / 'tables'}\n"
    assert {path.name for path in out.iterdir()} == {"tables", ".season-fit.npz"}
    names = {path.name for path in (out / "tables").iterdir()}
    assert names >= {"exposure.parquet", "bands.csv", "effects.csv", "spread.csv", "set_aside.csv"}
    summary = json.loads((out / "tables" / "summary.json").read_text(encoding="utf-8"))
    assert set(summary["hashes"]) == {
        f"small-2026/{name}" for name in ("boat.toml", *(f"{table}.csv" for table in TABLES))
    }


def test_band_is_an_option_with_its_unit(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["review", str(small), "--tables-only", "--out"]
    assert main([*arguments, str(tmp_path / "five"), "--band", "5 m"]) == 0
    with (tmp_path / "five" / "tables" / "bands.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    heights = {float(row["band_high_m"]) - float(row["band_low_m"]) for row in rows}
    assert heights == {5.0}


@pytest.fixture
def no_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fit, which can take minutes, is none of what a mistyped option should cost."""
    monkeypatch.setattr(season, "season_answer", lambda *_, **__: pytest.fail("it was fitted"))


@pytest.mark.usefixtures("no_fit")
@pytest.mark.parametrize(
    ("option", "problem"),
    [
        (["--band", "5 fathoms"], "such as '10 ft'"),
        (["--band", "0.1 m"], "from 0.5 to 30 m"),
        (["--rods", "0"], "0 rods: give a number from 1 to 20"),
        (["--rods", "99"], "99 rods: give a number from 1 to 20"),
        (["--gears", "diver,kite"], "kite"),
        (["--plan-for", "December"], "Choose one of season, 2026-07"),
    ],
)
def test_wish_for_next_season_that_cannot_be_is_refused(
    option: list[str],
    problem: str,
    small: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out"
    assert main(["review", str(small), "--tables-only", "--out", str(out), *option]) == 2
    assert problem in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.usefixtures("no_fit")
@pytest.mark.parametrize(
    ("option", "problem"),
    [(["--band", "10 fathoms"], "such as '10 ft'"), (["--units", "ft,knots"], "no unit 'knots'")],
)
def test_wish_for_a_week_that_cannot_be_is_refused(
    option: list[str],
    problem: str,
    small: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out"
    assert main(["weekly", str(small), "--week", "2026-W27", "--out", str(out), *option]) == 2
    assert problem in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize("kind", ["empty folder", "no folder", "header only", "bad boat"])
def test_review_of_what_is_no_season_writes_nothing(
    kind: str,
    small: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "log"
    if kind != "no folder":
        folder.mkdir()
    if kind in ("header only", "bad boat"):
        for path in small.iterdir():
            (folder / path.name).write_bytes(path.read_bytes())
    if kind == "header only":
        header = (folder / "trips.csv").read_text().splitlines()[0]
        (folder / "trips.csv").write_text(header + "\n")
    if kind == "bad boat":
        (folder / "boat.toml").write_text("boat = ")
    out = tmp_path / "out"
    assert main(["review", str(folder), "--out", str(out)]) == 1
    message = capsys.readouterr().err
    assert "rodhours: " in message
    assert str(folder) in message
    assert "Remedy: " in message
    assert not out.exists()


def test_review_into_a_place_that_cannot_be_written_says_so(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    out = tmp_path / "file" / "out"
    assert main(["review", str(small), "--out", str(out), "--tables-only"]) == 1
    assert f"cannot write into {out}" in capsys.readouterr().err
