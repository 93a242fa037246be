"""Owns the tests of running the weekly reports: what is made, skipped, held back, left alone."""

import errno
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from in_process import shown

from analysis.cli import main
from analysis.render import page
from analysis.render.staging import WriteError, only_run, staging
from analysis.report.weekly import fit
from analysis.report.weekly import pages as weekly_pages
from analysis.report.weekly.done import Done
from analysis.report.weekly.run import Settings, figures_of, write_weeks
from analysis.report.weekly.store import STORE, as_json, read_week
from analysis.workbook.kept import FOLDER_VARIABLE

pytestmark = pytest.mark.usefixtures("one_fit_a_club")

FORMS = {".html", ".json", ".pdf", ".txt"}
WEEKS = ["2026-W26", "2026-W27", "2026-W28", "2026-W29"]


@pytest.fixture
def logs(club_files: ModuleType, tmp_path: Path) -> list[Path]:
    return club_files.write_club(tmp_path / "club")


@pytest.fixture(scope="module")
def fitted(
    club_files: ModuleType,
    tmp_path_factory: pytest.TempPathFactory,
    remembering: Callable[..., None],
) -> Path:
    """The figures of the club's weeks, worked out once for all tests."""
    folder = tmp_path_factory.mktemp("fitted")
    logs = club_files.write_club(folder / "club")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fit, "fit_into", remembering)
        figures_of(logs, WEEKS, folder, Settings(), lambda *_: None)
    return folder / STORE


@pytest.fixture
def out(tmp_path: Path, fitted: Path) -> Path:
    folder = tmp_path / "out"
    folder.mkdir()
    shutil.copy(fitted, folder)
    return folder


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch, no_tools: None) -> list[str]:
    """The weeks rendered, in order; rendering itself is left out and leaves four small files."""
    weeks: list[str] = []

    def light(week: dict[str, Any], out_dir: Path, *_tools: object) -> Done:
        weeks.append(week["week"])
        for form in FORMS - {".json"}:
            (out_dir / f"{week['week']}{form}").write_text(f"{form} {len(weeks)}")
        (out_dir / f"{week['week']}.json").write_text(as_json(week))
        return Done(week=week["week"])

    monkeypatch.setattr(weekly_pages, "make_week", light)
    return weeks


def files(folder: Path) -> dict[str, bytes]:
    """All files of a folder but the locks, with their contents."""
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file() and p.suffix != ".lock"}


def figures(out: Path, week: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((out / f"{week}.json").read_text(encoding="utf-8"))
    return content


def test_four_files_a_week_a_list_and_the_stored_figures(weekly: Any) -> None:
    names = {path.name for path in weekly.out.iterdir() if path.suffix != ".lock"}
    wanted = {f"{week}{form}" for week in WEEKS for form in FORMS}
    assert names == wanted | {"index.html", STORE}
    for week in WEEKS:
        assert weekly.text(week, "html").rstrip().endswith("</html>")
        assert (weekly.out / f"{week}.pdf").read_bytes().rstrip().endswith(b"%%EOF")
        assert read_week(weekly.out / f"{week}.json").week == week


def test_second_run_leaves_everything_alone_and_fits_nothing(
    logs: list[Path], out: Path, made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = write_weeks(logs, WEEKS, out)
    assert (sorted(first.made), first.skipped) == (WEEKS, [])
    before = files(out)
    monkeypatch.setattr("analysis.report.weekly.fit.read_seasons", None)  # a call would fail
    second = write_weeks(logs, WEEKS, out)
    assert (second.made, second.skipped) == ([], WEEKS)
    assert files(out) == before
    assert len(made) == len(WEEKS)


def test_order_and_place_of_the_logs_do_not_matter(
    logs: list[Path], out: Path, made: list[str], tmp_path: Path
) -> None:
    write_weeks(logs, WEEKS[:2], out)
    moved = [Path(shutil.copytree(log, tmp_path / "moved" / log.name)) for log in logs]
    assert write_weeks(moved[::-1], WEEKS[:2], out).made == []


@pytest.mark.parametrize("change", ["log", "paper", "file gone"])
def test_what_changed_is_made_anew(
    logs: list[Path], out: Path, made: list[str], change: str
) -> None:
    write_weeks(logs, WEEKS[:2], out)
    settings = Settings()
    wanted = WEEKS[:2]
    if change == "log":
        # One that changes no figure told: others are held back, see test_weekly_differencing.
        boat = logs[0] / "boat.toml"
        boat.write_text(boat.read_text() + "# a remark\n")
    elif change == "file gone":
        (out / "2026-W27.txt").unlink()
        wanted = ["2026-W27"]
    else:
        settings = Settings(paper="letter")
    assert write_weeks(logs, WEEKS[:2], out, settings).made == wanted


def test_stopped_run_goes_on_where_it_was(
    logs: list[Path], out: Path, made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    light = weekly_pages.make_week

    def stopped(week: dict[str, Any], out_dir: Path) -> Done:
        if len(made) == 2:
            raise KeyboardInterrupt
        return light(week, out_dir, None, None)

    def here(weeks: list[dict[str, Any]], out_dir: Path, *_tools: object) -> Any:
        return (stopped(week, out_dir) for week in weeks)

    with monkeypatch.context() as stopping:
        stopping.setattr("analysis.report.weekly.run.make_weeks", here)
        with pytest.raises(KeyboardInterrupt):
            write_weeks(logs, WEEKS, out)
    monkeypatch.setattr(fit, "season_answer", None)  # the fit is not done again
    run = write_weeks(logs, WEEKS, out)
    assert (run.made, run.skipped) == (WEEKS[2:], WEEKS[:2])


def failing_in(week: str) -> Callable[..., str]:
    """Return a maker of pages that fails for one week, in a way nobody foresaw."""
    real = weekly_pages.to_html

    def to_html(*args: Any, title: str, **kwargs: Any) -> str:
        if title.endswith(f"week {int(week[-2:])} of 2026"):
            msg = "no such luck"
            raise ZeroDivisionError(msg)
        return real(*args, title=title, **kwargs)

    return to_html


def test_failing_week_stops_no_other_and_the_exit_code_says_so(
    weekly: Any,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = Path(shutil.copytree(weekly.out, tmp_path / "out"))
    before = files(out)
    monkeypatch.setattr(weekly_pages, "to_html", failing_in("2026-W28"))
    arguments = ["weekly", *map(str, weekly.logs), "--weeks", "2026-W28:2026-W29"]
    code = main([*arguments, "--paper", "letter", "--out", str(out)])
    printed = capsys.readouterr()
    assert code == 1
    assert "2026-W28: ZeroDivisionError: no such luck" in printed.err
    assert "1 made, 0 as they were, 1 not made" in printed.out
    after = files(out)
    assert {name for name in before if before[name] != after[name]} >= {"2026-W29.json"}
    assert all(after[f"2026-W28{form}"] == before[f"2026-W28{form}"] for form in FORMS)
    monkeypatch.undo()
    assert main([*arguments, "--paper", "letter", "--out", str(out)]) == 0
    assert "1 made, 1 as they were." in capsys.readouterr().out


def test_failing_notebook_is_kept_for_a_look_and_goes_when_all_is_well(
    weekly: Any, tmp_path: Path, write_notebook: Callable[..., Path]
) -> None:
    from analysis.render.chromium import Printing
    from analysis.render.kernels import KeptKernel
    from analysis.render.notebook import NotebookError

    week = json.loads((weekly.out / "2026-W28.json").read_text(encoding="utf-8"))
    bad = write_notebook("raise ValueError('bad week')", parameters='season = None\nfigures = ""')
    with KeptKernel() as kernel, Printing() as printing:
        with pytest.raises(NotebookError, match="cell 3 failed with ValueError: bad week"):
            weekly_pages.make_week(week, tmp_path / "out", kernel, printing, notebook=bad)
        assert set(files(tmp_path / "out")) == {"2026-W28.failed.ipynb"}
        weekly_pages.make_week(week, tmp_path / "out", kernel, printing)
    assert set(files(tmp_path / "out")) == {f"2026-W28{form}" for form in FORMS}


def test_full_disk_is_named_and_loses_nothing(
    weekly: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = Path(shutil.copytree(weekly.out, tmp_path / "out"))
    before = files(out)

    def full(*_args: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(weekly_pages, "put_in_place", full)
    run = write_weeks(weekly.logs, ["2026-W28"], out, Settings(paper="letter"))
    assert list(run.problems) == ["2026-W28"]
    assert f"could not finish writing into {out}" in run.problems["2026-W28"]
    assert "no space left on device" in run.problems["2026-W28"]
    after = files(out)
    assert {name for name in before if before[name] != after[name]} <= {STORE, "index.html"}


def test_unwritable_folder_is_named(
    logs: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("in the way")
    out = tmp_path / "file" / "out"
    code = main(["weekly", *map(str, logs), "--week", "2026-W27", "--out", str(out)])
    assert code == 1
    assert f"cannot write into {out}" in capsys.readouterr().err


def test_two_runs_do_not_mix(logs: list[Path], out: Path) -> None:
    with (
        only_run(out, "weekly"),
        pytest.raises(WriteError, match=r"another run is writing weekly.*try again"),
    ):
        write_weeks(logs, WEEKS, out)
    assert set(files(out)) == {STORE}


def test_what_a_killed_run_left_is_swept_away_and_what_a_live_one_has_is_not(
    logs: list[Path], out: Path, made: list[str]
) -> None:
    (out / ".rodhours-killed").mkdir()
    (out / ".rodhours-killed" / "half.html").write_text("half")
    (out / ".rodhours-killed.held").touch()
    with staging(out) as live:
        write_weeks(logs, WEEKS[:1], out)
        assert [path for path in out.glob(".rodhours-*") if path.is_dir()] == [live]
    assert list(out.glob(".rodhours-*")) == []


def test_without_a_printer_the_other_files_still_come(
    weekly: Any,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = Path(shutil.copytree(weekly.out, tmp_path / "out"))

    def none() -> Any:
        msg = "no PDF: there is nothing to print with. Remedy: install one."
        raise page.PageError(msg)

    monkeypatch.setenv(page.BROWSER_SETTING, "none")
    monkeypatch.setattr(page, "_weasyprint", none)
    arguments = ["weekly", *map(str, weekly.logs), "--weeks", "2026-W28:2026-W29"]
    arguments += ["--paper", "letter", "--out", str(out)]
    assert main(arguments) == 0
    printed = capsys.readouterr()
    assert printed.err.count("no PDF: there is nothing to print with") == 1
    for week in ("2026-W28", "2026-W29"):
        assert {p.suffix for p in out.glob(f"{week}.*")} == FORMS - {".pdf"}
        assert figures(out, week)["made_with"]["parameters"]["paper"] == "letter"
    assert main(arguments) == 0
    assert "0 made, 2 as they were" in capsys.readouterr().out


def test_report_of_other_boats_is_not_replaced_unasked(
    logs: list[Path], out: Path, made: list[str]
) -> None:
    late = [log for log in logs if not log.name.startswith("bee")]
    write_weeks(late, WEEKS[:1], out)
    published = figures(out, "2026-W26")
    run = write_weeks(logs, WEEKS[:2], out)
    assert run.made == ["2026-W27"]
    assert "2026-W26.json told other figures of this week (boats, trips" in run.problems["2026-W26"]
    assert "--replace" in run.problems["2026-W26"]
    assert figures(out, "2026-W26") == published
    # The next report compares with what was handed out, not with what is known now, and the
    # stored figures, which lie beside the reports, tell no more.
    assert figures(out, "2026-W27")["last_week"] == published["counts"]
    stored = json.loads((out / STORE).read_text(encoding="utf-8"))["weeks"]
    assert set(stored["2026-W26"]) == {"week", "problem", "beside"}
    assert stored["2026-W27"]["last_week"] == published["counts"]
    assert list(write_weeks(logs, WEEKS[:2], out).problems) == ["2026-W26"]
    again = write_weeks(logs, WEEKS[:2], out, Settings(replace=True))
    assert again.made == WEEKS[:2]
    assert figures(out, "2026-W27")["last_week"] == figures(out, "2026-W26")["counts"]
    assert figures(out, "2026-W26")["counts"]["boats"] == 4
    assert write_weeks(logs, WEEKS[:2], out).skipped == WEEKS[:2]


def test_all_means_every_week_of_the_latest_season(
    logs: list[Path], out: Path, made: list[str]
) -> None:
    assert write_weeks(logs, None, out).made == WEEKS
    assert write_weeks(logs, ["2025-W27"], out).made == ["2025-W27"]
    assert figures(out, "2025-W27")["counts"]["boats"] == 3


def test_two_boats_are_refused_before_anything_is_written(
    logs: list[Path], out: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    two = [str(log) for log in logs if log.name in ("ant-2026", "bee-2026")]
    assert main(["weekly", *two, "--week", "2026-W27", "--out", str(out)]) == 1
    assert "two boats: each could tell the other's figures" in capsys.readouterr().err
    assert set(files(out)) == {STORE}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--week", "2026-W54"], "'2026-W54' is no ISO week"),
        (["--week", "27"], "such as 2026-W27"),
        (["--weeks", "2026-W30:2026-W20"], "ends before it begins"),
        ([], "one of the arguments --week --weeks --all is required"),
        (["--week", "2026-W27", "--all"], "not allowed with"),
    ],
)
def test_wrong_weeks_are_wrong_use(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["weekly", *arguments])
    assert message in capsys.readouterr().err


def test_unknown_unit_names_the_known_ones(
    logs: list[Path], out: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["weekly", *map(str, logs), "--week", "2026-W27", "--out", str(out)]
    assert main([*arguments, "--units", "ft,fathom"]) == 2
    assert "no unit 'fathom'. Remedy: use some of C, F, cm" in capsys.readouterr().err
    assert set(files(out)) == {STORE}


def test_chosen_units_are_the_only_ones(
    logs: list[Path], out: Path, made: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["weekly", *map(str, logs), "--week", "2026-W27", "--out", str(out)]
    assert main([*arguments, "--units", "m, C"]) == 0
    units = figures(out, "2026-W27")["units"]
    assert (units["depth"], units["length"], units["temperature"]) == (["m"], ["m"], ["C"])
    assert units["speed"] == ["mph", "km/h"]


def test_the_notebook_works_a_week_out_from_season_folders(
    logs: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "store"))
    page = " ".join(shown("weekly_report", season=[str(log) for log in logs], week="2026-W27"))
    assert "week 27" in page.lower()
    assert "Ostermere Trolling Club" in page
    assert re.findall(r"\bDee\b", page) == []  # which does not share its name
