"""Owns the tests of writing whole or not at all."""

import os
import threading
from pathlib import Path

import pytest

from analysis.report.atomic import WriteError, only_run, put_in_place, staging


def test_files_arrive_whole_and_nothing_is_left_behind(tmp_path: Path) -> None:
    with staging(tmp_path) as scratch:
        (scratch / "tables").mkdir()
        (scratch / "tables" / "bands.csv").write_text("new")
        (scratch / "page.html").write_text("new")
        placed = put_in_place(scratch, tmp_path)
    assert placed == [tmp_path / "page.html", tmp_path / "tables" / "bands.csv"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["page.html", "tables"]


def test_a_failure_before_the_end_leaves_the_old_file(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("old")

    def stop_half_way() -> None:
        with staging(tmp_path) as scratch:
            (scratch / "page.html").write_text("ne")
            msg = "half way"
            raise RuntimeError(msg)

    with pytest.raises(RuntimeError, match="half way"):
        stop_half_way()
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    assert (tmp_path / "page.html").read_text() == "old"


def test_a_full_disk_is_named_and_loses_nothing(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("old")
    with (
        pytest.raises(WriteError, match=r"no space left on device.*still there"),
        staging(tmp_path),
        Path("/dev/full").open("w") as full,
    ):
        full.write("x" * 100_000)
    assert (tmp_path / "page.html").read_text() == "old"


def test_space_is_only_asked_for_where_it_is_short(tmp_path: Path) -> None:
    with (
        pytest.raises(
            WriteError, match=r"no such file or directory \(.*gone\).*run it again"
        ) as gone,
        staging(tmp_path),
    ):
        (tmp_path / "gone").read_text()
    assert "free some space" not in str(gone.value)
    with (
        pytest.raises(WriteError, match=r"is a directory.*another folder") as folder,
        staging(tmp_path) as scratch,
    ):
        scratch.read_text()
    assert "free some space" not in str(folder.value)


def test_scratch_folder_holds_in_any_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path)
    with staging(Path("out")) as scratch:
        monkeypatch.chdir("elsewhere")
        (scratch / "page.html").write_text("new")
        put_in_place(scratch, tmp_path / "out")
    assert (tmp_path / "out" / "page.html").read_text() == "new"


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, not a folder")
    folder = tmp_path / "taken" / "deeper"
    with pytest.raises(WriteError, match=rf"cannot write into {folder}.*Remedy"), staging(folder):
        pytest.fail("the folder was made")


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere"
)
def test_a_folder_without_permission_is_named(tmp_path: Path) -> None:
    folder = tmp_path / "closed"
    folder.mkdir(mode=0o500)
    with pytest.raises(WriteError, match=r"permission denied.*Remedy"), staging(folder):
        pytest.fail("the folder was written to")


def test_two_runs_of_one_report_do_not_mix(tmp_path: Path) -> None:
    seen: list[str] = []

    def second_run() -> None:
        try:
            with only_run(tmp_path, "season-review"):
                seen.append("ran")
        except WriteError as error:
            seen.append(str(error))

    with only_run(tmp_path, "season-review"):
        thread = threading.Thread(target=second_run)
        thread.start()
        thread.join()
        with only_run(tmp_path, "2026-W27"):
            seen.append("another report has its own lock")
    assert seen[0].startswith(f"another run is writing season-review in {tmp_path}")
    assert len(seen) == 2
    with only_run(tmp_path, "season-review"):
        seen.append("free again")
