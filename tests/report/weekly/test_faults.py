"""Owns the tests of weeks that something is wrong with: one week's fault stays that week's."""

import csv
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from analysis.cli import main
from analysis.report.weekly.run import Settings, figures_of
from analysis.weekly import week as decided

WEEKS = ["2026-W26", "2026-W27", "2026-W29"]


def figures(logs: list[Path], out: Path, weeks: list[str]) -> dict[str, Any]:
    return figures_of(logs, weeks, out, Settings(), lambda *_: None)


def without_sets(log: Path, trips: set[str]) -> None:
    """Take the set records of some trips out of a log."""
    path = log / "sets.csv"
    with path.open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([head, *(row for row in rows if row[0] not in trips)])


def test_week_without_set_records_in_a_year_with_sets_is_told_without_depths(
    club_files: ModuleType, tmp_path: Path
) -> None:
    days = club_files.WEEK_26 + club_files.WEEK_27 + club_files.WEEK_29
    log = club_files.write_boat(tmp_path / "log", "Ant", days)
    without_sets(log, {f"A{len(days)}"})
    weeks = figures([log], tmp_path, WEEKS)
    bare = weeks["2026-W29"]
    assert (bare["status"], bare["depth"], bare["water"]) == ("told", None, None)
    assert (bare["counts"]["strikes"], bare["counts"]["rod_hours"]) == (4, None)
    assert weeks["2026-W27"]["depth"] is not None


def test_fault_of_one_week_stays_its_own_and_the_exit_code_says_so(
    club_files: ModuleType,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    log = club_files.write_boat(tmp_path / "log", "Ant", club_files.WEEK_26 + club_files.WEEK_27)
    real = decided.conditions_of

    def failing(effects: Any, slices: Any, least: int) -> Any:
        if set(slices["week"]) == {"2026-W26"}:
            msg = "no such luck"
            raise ZeroDivisionError(msg)
        return real(effects, slices, least)

    monkeypatch.setattr(decided, "conditions_of", failing)
    out = tmp_path / "out"
    arguments = ["weekly", str(log), "--weeks", "2026-W26:2026-W27", "--out", str(out)]
    assert main(arguments) == 1
    printed = capsys.readouterr()
    assert "2026-W26: ZeroDivisionError: no such luck" in printed.err
    assert "1 made, 0 as they were, 1 not made" in printed.out
    assert not (out / "2026-W26.json").exists()
    assert (out / "2026-W27.json").exists()
    monkeypatch.undo()
    assert main(arguments) == 0
    assert "1 made, 1 as they were." in capsys.readouterr().out


def test_season_that_cannot_be_fitted_fails_its_own_weeks_only(
    club_files: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = club_files.write_boat(tmp_path / "log", "Ant", club_files.WEEK_27)
    before = club_files.write_boat(tmp_path / "before", "Ant", club_files.YEAR_BEFORE, seed=2)
    from analysis.report.weekly import fit as weekly_fit

    real = weekly_fit.season_answer

    def failing(seasons: Any, *others: Any, **more: Any) -> Any:
        if seasons[0].log.year == 2025:
            msg = "no such luck"
            raise ZeroDivisionError(msg)
        return real(seasons, *others, **more)

    monkeypatch.setattr(weekly_fit, "season_answer", failing)
    weeks = figures([log, before], tmp_path, ["2025-W27", "2026-W27"])
    assert weeks["2025-W27"] == {"week": "2025-W27", "problem": "ZeroDivisionError: no such luck"}
    assert weeks["2026-W27"]["last_year"]["trips"] == 2
    assert weeks["2026-W27"]["depth"] is not None
