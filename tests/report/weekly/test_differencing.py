"""Owns the tests that subtract two reports of one week from each other, to be left with one boat.

Differencing attacks are described in Hundepool et al., Statistical Disclosure Control, Wiley 2012,
chapter 4 (linked tables), and are carried out here with the reports' own files.
"""

import csv
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from analysis.cli import main
from analysis.report.weekly import pages as weekly_pages
from analysis.report.weekly.done import Done
from analysis.report.weekly.run import Settings, write_weeks
from analysis.report.weekly.store import STORE, as_json

pytestmark = pytest.mark.usefixtures("one_fit_a_club")

Figures = dict[str, Any]
W26, W27 = "2026-W26", "2026-W27"
SUMS = ("boats", "trips", "rod_hours", "strikes", "landed", "released", "placed")


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch, no_tools: None) -> None:
    """Write the figures only: rendering is not what is attacked."""

    def light(week: Figures, out_dir: Path, *_tools: object) -> Done:
        (out_dir / f"{week['week']}.json").write_text(as_json(week))
        return Done(week=week["week"])

    monkeypatch.setattr(weekly_pages, "make_week", light)


def club(club_files: ModuleType, folder: Path, boats: str = "Ant Bee Cod") -> list[Path]:
    days = club_files.WEEK_26 + club_files.WEEK_27
    return [club_files.write_boat(folder / name, name, days) for name in boats.split()]


def without_trip(logs: list[Path], folder: Path, trip: str) -> list[Path]:
    """Copy logs, one trip not yet written down."""
    copies = [Path(shutil.copytree(log, folder / log.name)) for log in logs]
    for path in (path for log in copies for path in log.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            rows = [row for row in csv.reader(file) if row[0] != trip]
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)
    return copies


def seen(out: Path) -> list[Figures]:
    """All reports of a folder, as somebody keeps them who reads each when it comes."""
    return [json.loads(path.read_text()) for path in out.glob("*.json") if path.name != STORE]


def statements(reports: list[Figures], week: str) -> Iterator[Figures]:
    """What reports tell of one week: their own, and what they compare with."""
    for report in reports:
        if report["week"] == week and report["counts"]:
            bands = (report["depth"] or {"bands": []})["bands"]
            hours = {round(band["low_m"], 2): band["rod_hours"] for band in bands}
            yield {**report["counts"], "below": hours}
        if report["week"] == W27 and week == W26 and report["last_week"]:
            yield report["last_week"]


def left_after_subtraction(reports: list[Figures], week: str) -> list[str]:
    """Return the figures of a week that two statements tell differently: their difference."""
    told = list(statements(reports, week))
    left = [
        name
        for a in told
        for b in told
        for name in SUMS
        if None not in (a[name], b[name]) and a[name] != b[name]
    ]
    bands = [a["below"] for a in told if a.get("below")]
    return left + ["bands" for a in bands for b in bands if a != b]


def test_the_attack_works_on_two_folders(club_files: ModuleType, tmp_path: Path) -> None:
    """Reports of two folders are not known to each other: so the tests below can fail."""
    logs = club(club_files, tmp_path / "logs")
    before = without_trip(logs, tmp_path / "before", "C2")
    write_weeks(before, [W26], tmp_path / "one")
    write_weeks(logs, [W26], tmp_path / "two")
    left = left_after_subtraction(seen(tmp_path / "one") + seen(tmp_path / "two"), W26)
    assert {"trips", "rod_hours", "strikes"} <= set(left)


@pytest.mark.parametrize("kept_as", ["2026-W26.json", "sent.json", "older/2026-W26.json"])
def test_a_late_trip_is_not_the_difference_of_two_reports(
    club_files: ModuleType, tmp_path: Path, kept_as: str
) -> None:
    logs, out = club(club_files, tmp_path / "logs"), tmp_path / "out"
    write_weeks(without_trip(logs, tmp_path / "before", "C2"), [W26], out)
    old = seen(out)
    (out / kept_as).parent.mkdir(exist_ok=True)
    (out / "2026-W26.json").rename(out / kept_as)
    run = write_weeks(logs, [W26], out)
    assert left_after_subtraction(old + seen(out), W26) == []
    assert f"not replaced: {kept_as} told other figures of this week" in run.problems[W26]
    stored = json.loads((out / STORE).read_text())["weeks"][W26]
    assert set(stored) == {"week", "problem", "beside"}
    assert stored["problem"] == run.problems[W26]
    # Asked again, it says so again; only the report's own file is replaced by leave.
    assert write_weeks(logs, [W26], out).problems == run.problems
    again = write_weeks(logs, [W26], out, Settings(replace=True))
    assert (again.made == [W26]) is (kept_as == "2026-W26.json")


def test_one_log_for_another_is_not_the_difference_of_two_reports(
    club_files: ModuleType, tmp_path: Path
) -> None:
    logs, out = club(club_files, tmp_path / "logs", "Ant Bee Cod Dan"), tmp_path / "out"
    write_weeks(logs[:3], [W27], out)
    old = seen(out)
    run = write_weeks([*logs[:2], logs[3]], [W27], out)
    assert left_after_subtraction(old + seen(out), W27) == []
    assert list(run.problems) == [W27]


def test_a_second_height_of_bands_is_not_laid_over_the_first(
    club_files: ModuleType, tmp_path: Path
) -> None:
    logs, out = club(club_files, tmp_path / "logs"), tmp_path / "out"
    write_weeks(logs, [W27], out)
    old = seen(out)
    assert len(old[0]["depth"]["bands"]) > 1
    run = write_weeks(logs, [W27], out, Settings(band="14 ft"))
    assert left_after_subtraction(old + seen(out), W27) == []
    assert "(depths)" in run.problems[W27]


@pytest.mark.parametrize(("first", "then"), [(W26, W27), (W27, W26)])
def test_last_week_beside_an_older_report_tells_no_late_trip(
    club_files: ModuleType, tmp_path: Path, first: str, then: str
) -> None:
    logs, out = club(club_files, tmp_path / "logs"), tmp_path / "out"
    write_weeks(without_trip(logs, tmp_path / "before", "C2"), [first], out)
    old = seen(out)
    run = write_weeks(logs, [then], out)
    assert len(list(statements(old, W26))) == 1
    assert left_after_subtraction(old + seen(out), W26) == []
    if then == W26:
        assert "2026-W27.json told other figures" in run.problems[W26]
        # Leave to replace one report is no leave to replace what another told.
        assert W26 in write_weeks(logs, [W26], out, Settings(replace=True)).problems
        assert write_weeks(logs, [W26, W27], out, Settings(replace=True)).problems == {}
    else:
        assert run.made == [W27]


def test_a_log_that_tells_the_same_is_made_anew(club_files: ModuleType, tmp_path: Path) -> None:
    logs, out = club(club_files, tmp_path / "logs"), tmp_path / "out"
    write_weeks(logs, [W26], out)
    with (logs[0] / "boat.toml").open("a") as file:
        file.write("# a remark\n")
    assert write_weeks(logs, [W26], out).made == [W26]


def test_year_that_is_in_no_log_is_wrong_use(
    club_files: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs, out = club(club_files, tmp_path / "logs"), tmp_path / "out"
    arguments = ["weekly", *map(str, logs), "--week", "2027-W10", "--out", str(out)]
    assert main(arguments) == 2
    message = capsys.readouterr().err
    assert "2027-W10: no log has a trip of 2027, only of 2026. Remedy: name a week" in message
    assert not list(out.glob("*.json"))
