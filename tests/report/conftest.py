"""Owns fixtures of the report's tests: small notebooks, and a made-up season."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType, SimpleNamespace

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

WriteNotebook = Callable[..., Path]


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


@pytest.fixture
def made_up_season(made_up: ModuleType) -> SimpleNamespace:
    """What the report needs of a season: tables and a summary."""
    return SimpleNamespace(tables=made_up.season_tables(), summary=made_up.season_summary())


@dataclass(frozen=True, kw_only=True)
class Weekly:
    """A club's logs, and the folder of its weekly reports."""

    logs: list[Path]
    out: Path

    def text(self, week: str, form: str) -> str:
        """Read one file of a week's report."""
        return (self.out / f"{week}.{form}").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def weekly(club_files: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Weekly:
    """Weekly reports of a club of four that types markup wherever it can: weeks 26 to 29."""
    from analysis.report.weekly.run import write_weeks

    logs = club_files.write_club(tmp_path_factory.mktemp("club"), hostile=True)
    out = tmp_path_factory.mktemp("weekly")
    run = write_weeks(logs, [f"2026-W{week}" for week in range(26, 30)], out)
    assert run.problems == {}
    assert run.no_pdf == []
    return Weekly(logs=logs, out=out)
