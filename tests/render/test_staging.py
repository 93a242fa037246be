"""Owns the tests of writing whole or not at all."""

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from analysis.render.staging import WriteError, only_run, put_in_place, staging

ROOT = Path(__file__).parents[2]


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


KILLED = """
import os, signal, sys
from pathlib import Path
from analysis.render.staging import only_run, put_in_place, staging

out, moves = Path(sys.argv[1]), int(sys.argv[2])
plain = Path.replace

def replace(path, target):
    global moves
    if moves == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    moves -= 1
    return plain(path, target)

Path.replace = replace
with only_run(out, "week"), staging(out) as scratch:
    for form in ("html", "json", "pdf", "txt"):
        (scratch / f"week.{form}").write_text("new")
    put_in_place(scratch, out, ["week.failed.ipynb"])
"""


@pytest.mark.parametrize(
    ("moves", "left"),
    [(0, "old"), (1, "new"), (2, "new"), (4, "new")],
    ids=["before the word", "before the first", "after one", "before the last"],
)
def test_files_of_a_killed_run_change_together(moves: int, left: str, tmp_path: Path) -> None:
    """The first of the moves gives the word, the others are of the four files."""
    out = tmp_path / "out"
    out.mkdir()
    for form in ("html", "json", "pdf", "txt", "failed.ipynb"):
        (out / f"week.{form}").write_text("old")
    command = [sys.executable, "-c", KILLED, str(out), str(moves)]
    assert subprocess.run(command, cwd=ROOT, check=False).returncode == -signal.SIGKILL
    with only_run(out, "week"):
        names = {path.name: path.read_text() for path in out.iterdir() if path.suffix != ".lock"}
    assert names.pop("week.failed.ipynb", "new") == left
    assert names == {f"week.{form}": left for form in ("html", "json", "pdf", "txt")}


def test_scratch_of_a_run_that_lives_is_left_alone(tmp_path: Path) -> None:
    with only_run(tmp_path, "week"), staging(tmp_path) as scratch:
        (scratch / "page.html").write_text("half")
        with only_run(tmp_path, "season-review"):
            assert (scratch / "page.html").read_text() == "half"


def test_what_cannot_be_moved_is_kept_for_the_next_run(tmp_path: Path) -> None:
    (tmp_path / "b.html" / "in the way").mkdir(parents=True)

    def write() -> None:
        with staging(tmp_path) as scratch:
            (scratch / "a.html").write_text("new")
            (scratch / "b.html").write_text("new")
            put_in_place(scratch, tmp_path)

    with pytest.raises(WriteError, match=r"Some files are new; the next run"):
        write()
    (tmp_path / "b.html" / "in the way").rmdir()
    (tmp_path / "b.html").rmdir()
    with only_run(tmp_path, "page"):
        assert (tmp_path / "b.html").read_text() == "new"
    assert sorted(p.name for p in tmp_path.iterdir() if p.suffix != ".lock") == ["a.html", "b.html"]
