"""Owns the rules of notebooks: thin, clean, and running with every kind of season."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import nbformat
import numpy as np
import pandas as pd
import pytest
from nbformat import NotebookNode

from analysis.places import NOTEBOOKS
from analysis.render.kernels import KeptKernel
from analysis.render.notebook import default_parameters, run_notebook
from analysis.report.results import write_results

PATHS = sorted(NOTEBOOKS.rglob("*.ipynb"))
MOST_LINES = 8
MOST_CELLS = 30
MOST_IN_A_ROW = 3
"""Code cells after each other without a sentence of what they are for."""
MOST_PICTURE_BYTES = 16_000
NOT_IN_A_NOTEBOOK = (
    ast.FunctionDef,
    ast.AsyncFunctionDef,
    ast.ClassDef,
    ast.Lambda,
    ast.For,
    ast.While,
    ast.ListComp,
    ast.SetComp,
    ast.DictComp,
    ast.GeneratorExp,
    ast.Try,
)
WRITERS = {"open", "write_text", "write_bytes", "to_csv", "to_parquet", "savefig", "mkdir"}


@pytest.fixture(params=PATHS, ids=[path.stem for path in PATHS])
def notebook(request: pytest.FixtureRequest) -> NotebookNode:
    return nbformat.read(request.param, as_version=4)


def sources(notebook: NotebookNode) -> list[str]:
    return [cell.source for cell in notebook.cells if cell.cell_type == "code"]


def test_notebooks_are_found() -> None:
    assert NOTEBOOKS / "season_review.ipynb" in PATHS


def test_whatever_is_imported_is_there(notebook: NotebookNode) -> None:
    nodes = [node for source in sources(notebook) for node in ast.walk(ast.parse(source))]
    imports = [node for node in nodes if isinstance(node, ast.Import | ast.ImportFrom)]
    assert imports
    for node in imports:
        exec(ast.unparse(node), {})  # as the cell does it


def test_no_output_count_or_trace_of_a_run(notebook: NotebookNode) -> None:
    nbformat.validate(notebook)
    assert set(notebook.metadata) <= {"kernelspec", "language_info"}
    assert notebook.metadata.kernelspec.name == "python3"
    for cell in notebook.cells:
        assert set(cell.metadata) <= {"tags"}
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


def test_code_is_thin(notebook: NotebookNode) -> None:
    assert len(sources(notebook)) <= MOST_CELLS
    for source in sources(notebook):
        assert len(source.splitlines()) <= MOST_LINES, source
        for node in ast.walk(ast.parse(source)):
            assert not isinstance(node, NOT_IN_A_NOTEBOOK), source
            if isinstance(node, ast.Call):
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                opens_a_season = ast.unparse(node.func) == "rodhours.open"
                assert opens_a_season or called not in WRITERS, source


def test_parameters_are_literals_each_with_a_comment(notebook: NotebookNode) -> None:
    assert default_parameters(notebook, "notebook")
    cell = next(cell for cell in notebook.cells if "parameters" in cell.metadata.get("tags", []))
    lines = cell.source.splitlines()
    for at, line in enumerate(lines):
        if "=" in line and not line.startswith("#"):
            assert lines[at - 1].startswith("# "), line


def test_first_cell_is_the_title_and_no_other_heading_is_its_equal(notebook: NotebookNode) -> None:
    assert notebook.cells[0].source.startswith("# ")
    prose = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    assert len(re.findall(r"(?m)^# ", prose)) == 1


def test_a_misspelt_parameter_is_refused_before_anything_is_read(notebook: NotebookNode) -> None:
    of = sources(notebook)
    lines = [line for source in of[:3] for line in source.splitlines()]
    refused = lines.index("refuse_unknown()")
    assert [line for line in lines[:refused] if re.search(r"\w\(.*season", line)] == []


def test_it_begins_with_its_question_and_what_it_cannot_tell(notebook: NotebookNode) -> None:
    kinds = [cell.cell_type for cell in notebook.cells]
    told = " ".join(cell.source for cell in notebook.cells[: kinds.index("code")])
    assert "?" in told
    assert "cannot tell" in told


def test_prose_stands_between_cells(notebook: NotebookNode) -> None:
    kinds = "".join(cell.cell_type[0] for cell in notebook.cells)
    assert max(map(len, re.findall("c+", kinds))) <= MOST_IN_A_ROW


def test_the_start_page_has_a_row_with_question_picture_and_link_for_every_notebook() -> None:
    start = nbformat.read(NOTEBOOKS / "start.ipynb", as_version=4)
    prose = "\n".join(cell.source for cell in start.cells if cell.cell_type == "markdown")
    row = re.compile(r"(?m)^\| (.+[?.]) \| \[!\[(.+)\]\((.+)\)\]\((.+)\) \| \[.+\]\((.+)\) \|$")
    rows = row.findall(prose)
    links = {path.name for path in PATHS} - {"start.ipynb"}
    assert sorted(link for *_, link in rows) == sorted(links)
    for _, told, picture, over, link in rows:
        assert over == link
        assert len(told.split()) >= 4
        assert (NOTEBOOKS / picture).stem == Path(link).stem
        assert (NOTEBOOKS / picture).stat().st_size <= MOST_PICTURE_BYTES


def test_no_figure_of_a_season_is_typed_into_prose(notebook: NotebookNode) -> None:
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            assert re.findall(r"\d+(?:\.\d+)?", cell.source.replace("90 %", "")) == []


def sparse_tables(made_up: ModuleType) -> dict[str, pd.DataFrame]:
    """What is left of the tables when one trip brought no strike: headings, hardly a row."""
    full = made_up.season_tables()
    kept = {name: frame.head(0) for name, frame in full.items()}
    kept["trips"] = full["trips"].head(1).assign(strikes=0, landed=0)
    kept["rows"] = full["rows"]
    kept["exposure"] = full["exposure"].assign(strikes=0)
    one = full["bands"].query("period == 'season'").head(2)
    unknown = dict.fromkeys(["rate", "rate_low", "rate_high", "p_best", "p_named"], np.nan)
    kept["bands"] = one.assign(rod_hours=4.0, strikes=0, named=False, verdict="open", **unknown)
    return kept


def sparse_summary(made_up: ModuleType) -> dict[str, Any]:
    """The summary that goes with `sparse_tables`."""
    return made_up.season_summary() | {
        "trips": 1,
        "sets": 8,
        "rod_hours": 8.0,
        "strikes": 0,
        "landed": 0,
        "best": [],
        "first_lines": ["One trip without a strike: the log cannot tell one depth from another."],
        "model": None,
        "formula": None,
        "why": "there is no strike to fit",
    }


def metric_summary(made_up: ModuleType) -> dict[str, Any]:
    """The summary of a boat that logs in metres, km/h and °C."""
    return made_up.season_summary() | {
        "units": {
            "length": "m",
            "depth": "m",
            "speed": "km/h",
            "temperature": "C",
            "fish_length": "cm",
            "fish_weight": "kg",
        }
    }


@pytest.fixture(params=["full", "sparse", "metric"])
def season(request: pytest.FixtureRequest, made_up: ModuleType) -> SimpleNamespace:
    return {
        "full": SimpleNamespace(tables=made_up.season_tables(), summary=made_up.season_summary()),
        "sparse": SimpleNamespace(tables=sparse_tables(made_up), summary=sparse_summary(made_up)),
        "metric": SimpleNamespace(tables=made_up.season_tables(), summary=metric_summary(made_up)),
    }[request.param]


@pytest.fixture(scope="module")
def kernel() -> Iterator[KeptKernel]:
    """One kernel for several seasons: a fresh one spends its time on imports."""
    with KeptKernel() as kept:
        yield kept


def test_season_review_runs_with_every_kind_of_season(
    season: SimpleNamespace, kernel: KeptKernel, tmp_path: Path
) -> None:
    write_results(season, tmp_path)
    executed = run_notebook(
        NOTEBOOKS / "season_review.ipynb",
        {"season": str(tmp_path / "tables")},
        folder=tmp_path,
        progress=False,
        kernel=kernel,
    )
    shown = [output for cell in executed.cells for output in cell.get("outputs", [])]
    assert len(shown) >= 12
    assert all("text/html" in output.data for output in shown)
    text = " ".join(output.data["text/html"] for output in shown)
    unit = season.summary["units"]["depth"]
    # bands of 10 ft are written in metres with the decimals that their edges need
    number = r"\d+\.\d+" if unit == "m" else r"\d+"
    assert re.search(rf"\b{number}–{number} {unit}\b", text)
    assert re.findall(r">(?:nan|NaN|None)<", text) == []
    assert text.count("<figure>") == len(re.findall(r"<figcaption>[^<]", text))


def test_season_review_runs_for_one_month(
    made_up: ModuleType, kernel: KeptKernel, tmp_path: Path
) -> None:
    season = SimpleNamespace(tables=made_up.season_tables(), summary=made_up.season_summary())
    write_results(season, tmp_path)
    executed = run_notebook(
        NOTEBOOKS / "season_review.ipynb",
        {"season": str(tmp_path / "tables"), "period": "2026-07"},
        folder=tmp_path,
        progress=False,
        kernel=kernel,
    )
    assert "Strikes per rod-hour by depth: July 2026" in str(executed)


def test_season_review_runs_as_it_lies() -> None:
    executed = run_notebook(NOTEBOOKS / "season_review.ipynb", {}, folder=NOTEBOOKS, progress=False)
    assert "Dunlin, 2026" in str(executed)
