"""Owns fixtures that several rooms' tests share."""

import importlib
import importlib.util
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import nbformat
import pytest
from hypothesis import settings
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from threadpoolctl import threadpool_limits

WriteNotebook = Callable[..., Path]

# how long an example takes says how busy the machine is, and nothing of the code
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

pytest_plugins = ["known_seasons", "open_data"]

BEGIN_FIRST = (
    "tests/test_lab.py",
    "tests/report/weekly/test_run.py",
    "tests/test_lab_controls.py",
    "tests/review/test_cost.py",
    "tests/effort/test_losses.py",
    "tests/decision/test_bad_logs.py",
)
"""The longest files. One begun last keeps one process busy while the others have nothing to do."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the longest files begin first, and all others as they were found."""
    at = {Path(__file__).parents[1] / name: place for place, name in enumerate(BEGIN_FIRST)}
    assert all(path.is_file() for path in at)  # a file of another name would begin last, unsaid
    items.sort(key=lambda item: at.get(item.path, len(at)))


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    """Small matrices are slower with more threads, and far slower on a busy machine."""
    importlib.import_module("scipy.linalg")  # what is not loaded yet cannot be limited
    with threadpool_limits(1):
        yield


def _beside(name: str) -> ModuleType:
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The module of made-up result tables; see tests/result_tables.py."""
    return _beside("result_tables")


@pytest.fixture(scope="session")
def season_files() -> ModuleType:
    """The module that writes a small season folder; see tests/season_files.py."""
    return _beside("season_files")


@pytest.fixture(scope="session")
def club_files() -> ModuleType:
    """The module that writes a small club's logs; see tests/club_files.py."""
    return _beside("club_files")


@pytest.fixture(scope="session")
def short_form_files() -> ModuleType:
    """The module that writes a season in short form; see tests/short_form_files.py."""
    return _beside("short_form_files")


@pytest.fixture
def write_notebook(tmp_path: Path) -> WriteNotebook:
    """A function that writes a notebook of a parameters cell and further code cells."""

    def write(*sources: str, parameters: str | None = "week = 1") -> Path:
        cells = [new_markdown_cell("# A report")]
        if parameters is not None:
            cell = new_code_cell(parameters)
            cell.metadata["tags"] = ["parameters"]
            cells.append(cell)
        cells += [new_code_cell(source) for source in sources]
        notebook = new_notebook(cells=cells)
        notebook.metadata["kernelspec"] = {
            "name": "python3",
            "display_name": "Python 3 (ipykernel)",
            "language": "python",
        }
        path = tmp_path / "report.ipynb"
        nbformat.write(notebook, path)
        return path

    return write
