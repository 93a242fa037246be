"""Owns the tests of a kept kernel: the same process for every notebook, emptied in between."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.render.kernels import KeptKernel
from analysis.render.notebook import NotebookError, run_notebook

WriteNotebook = Callable[..., Path]


def printed(path: Path, folder: Path, kernel: KeptKernel) -> str:
    """Run a notebook and return what its last cell printed."""
    executed = run_notebook(path, {}, folder=folder, progress=False, kernel=kernel)
    return str(executed.cells[-1].outputs[0].text)


def test_every_notebook_runs_in_the_same_process_without_the_names_of_the_one_before(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    source = "import os\nprint(os.getpid(), 'left' in dir())\nleft = 1"
    path = write_notebook(source)
    with KeptKernel() as kernel:
        first = printed(path, tmp_path, kernel).split()
        threads = threading.active_count()
        later = [printed(path, tmp_path, kernel).split() for _ in range(3)]
        assert threading.active_count() <= threads
    assert [pid for pid, _ in later] == [first[0]] * 3
    assert {left for _, left in [first, *later]} == {"False"}
    with KeptKernel() as kernel:
        assert printed(path, tmp_path, kernel).split()[0] != first[0]


def test_the_cell_that_empties_is_not_in_the_result_nor_counted_in_an_error(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    good = write_notebook("1 + 1")
    with KeptKernel() as kernel:
        executed = run_notebook(good, {}, folder=tmp_path, progress=False, kernel=kernel)
        assert "%reset" not in str(executed)
        bad = write_notebook("1 / 0")
        with pytest.raises(NotebookError, match="cell 3 failed with ZeroDivisionError"):
            run_notebook(bad, {}, folder=tmp_path, progress=False, kernel=kernel)


def test_a_killed_kernel_is_an_error_and_the_next_notebook_gets_another(
    write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    with KeptKernel() as kernel:
        killed = write_notebook("import os, signal\nos.kill(os.getpid(), signal.SIGKILL)")
        with pytest.raises(NotebookError, match="kernel died"):
            run_notebook(killed, {}, folder=tmp_path, progress=False, kernel=kernel)
        assert printed(write_notebook("print('well')"), tmp_path, kernel) == "well\n"
