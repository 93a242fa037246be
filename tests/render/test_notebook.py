"""Owns the tests of the one papermill call."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.render.notebook import (
    NotebookError,
    check_parameters,
    default_parameters,
    read_notebook,
    run_notebook,
)

WriteNotebook = Callable[..., Path]


def test_runs_with_the_given_parameter_in_the_given_folder(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    path = write_notebook("from pathlib import Path\nprint(week, Path.cwd().name)")
    folder = tmp_path / "work"
    folder.mkdir()
    before = path.read_bytes()
    executed = run_notebook(path, {"week": 27}, folder=folder, progress=False)
    assert executed.cells[-1].outputs[0].text == "27 work\n"
    assert path.read_bytes() == before
    assert list(folder.iterdir()) == []


def test_process_stays_where_it_is_while_a_notebook_runs(
    write_notebook: WriteNotebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thread beside it would write its relative paths into the notebook's folder."""
    moves: list[object] = []
    monkeypatch.setattr(os, "chdir", moves.append)
    path = write_notebook("import os\nprint(os.path.basename(os.getcwd()))")
    (tmp_path / "work").mkdir()
    executed = run_notebook(path, {}, folder=tmp_path / "work", progress=False)
    assert executed.cells[-1].outputs[0].text == "work\n"
    assert set(moves) <= {str(Path.cwd())}


def test_executed_notebook_holds_no_path_or_time_of_the_run(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    executed = run_notebook(write_notebook("1 + week"), {}, folder=tmp_path, progress=False)
    assert "papermill" not in executed.metadata
    assert all("papermill" not in cell.metadata for cell in executed.cells)
    assert str(tmp_path) not in str(executed)


def test_shows_a_progress_bar_only_if_wanted(
    write_notebook: WriteNotebook, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = write_notebook("1")
    run_notebook(path, {}, folder=tmp_path, progress=False)
    assert capfd.readouterr().err == ""
    run_notebook(path, {}, folder=tmp_path, progress=True)
    assert "100%" in capfd.readouterr().err


def test_unknown_parameter_is_refused_before_anything_runs(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    path = write_notebook("from pathlib import Path\nPath('ran').touch()")
    with pytest.raises(NotebookError, match=r"has no parameter 'weak'.*its own: week"):
        run_notebook(path, {"weak": 1}, folder=tmp_path, progress=False)
    assert not (tmp_path / "ran").exists()


def test_parameter_of_another_kind_is_refused(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    path = write_notebook("1", parameters='week = "2026-W27"')
    with pytest.raises(NotebookError, match=r"week is 27 \(int\).*type str"):
        run_notebook(path, {"week": 27}, folder=tmp_path, progress=False)


def test_whole_number_may_stand_for_a_decimal_one() -> None:
    check_parameters({"band": 10}, {"band": 3.0}, "report.ipynb")
    with pytest.raises(NotebookError, match="band is True"):
        check_parameters({"band": True}, {"band": 3.0}, "report.ipynb")


def test_notebook_without_parameters_cell_is_refused(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    path = write_notebook("1", parameters=None)
    with pytest.raises(NotebookError, match="0 cells are tagged 'parameters'"):
        run_notebook(path, {}, folder=tmp_path, progress=False)


@pytest.mark.parametrize(
    ("source", "problem"),
    [
        ("week = 1 + 1", "parameter week is not a literal"),
        ("import sys", "line 1 of the parameters cell is no plain assignment"),
    ],
)
def test_parameters_are_literals(write_notebook: WriteNotebook, source: str, problem: str) -> None:
    notebook = read_notebook(write_notebook(parameters=source))
    with pytest.raises(NotebookError, match=problem):
        default_parameters(notebook, "report.ipynb")


def test_default_with_an_equals_sign_is_a_parameter_like_any_other(
    write_notebook: WriteNotebook,
) -> None:
    notebook = read_notebook(write_notebook(parameters='rule = "a = b"\nlimit = -1.5'))
    assert default_parameters(notebook, "report.ipynb") == {"rule": "a = b", "limit": -1.5}


def test_failing_cell_is_named_with_its_source_and_error(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    path = write_notebook("print('before')", "depth = 3\ndepth / 0", "print('after')")
    with pytest.raises(
        NotebookError, match=r"cell 4 failed with ZeroDivisionError: division by zero"
    ) as caught:
        run_notebook(path, {"week": 2}, folder=tmp_path, progress=False)
    assert "    depth / 0" in str(caught.value)
    assert caught.value.executed is not None
    texts = str(caught.value.executed)
    assert "before" in texts
    assert "'after\\n'" not in texts


@pytest.mark.parametrize("ending", ["raise SystemExit", "raise SystemExit(0)"])
def test_a_cell_that_quits_is_a_failure(
    write_notebook: WriteNotebook, tmp_path: Path, ending: str
) -> None:
    path = write_notebook(ending, "print('never')")
    with pytest.raises(NotebookError, match="ended the run before its end"):
        run_notebook(path, {}, folder=tmp_path, progress=False)


def test_a_killed_kernel_is_a_failure(write_notebook: WriteNotebook, tmp_path: Path) -> None:
    path = write_notebook("import os, signal\nos.kill(os.getpid(), signal.SIGKILL)")
    with pytest.raises(NotebookError, match="kernel died"):
        run_notebook(path, {}, folder=tmp_path, progress=False)


def test_kernel_registered_elsewhere_does_not_win(
    write_notebook: WriteNotebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = tmp_path / "jupyter" / "kernels" / "python3" / "kernel.json"
    spec.parent.mkdir(parents=True)
    spec.write_text('{"argv": ["/no/such/python"], "display_name": "stale", "language": "python"}')
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path / "jupyter"))
    executed = run_notebook(write_notebook("1"), {}, folder=tmp_path, progress=False)
    assert executed.cells[-1].outputs[0].data["text/plain"] == "1"


def test_absent_notebook_and_no_notebook_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="no such notebook"):
        read_notebook(tmp_path / "none.ipynb")
    (tmp_path / "text.ipynb").write_text("not JSON")
    with pytest.raises(NotebookError, match="not a notebook"):
        read_notebook(tmp_path / "text.ipynb")
