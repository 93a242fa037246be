"""Owns the tests of the one parameter of all notebooks: results made, reused, and refused."""

import json
from pathlib import Path

import nbformat
import papermill
import pytest
from papermill.exceptions import PapermillExecutionError

from analysis.errors import RodhoursError, UsageError
from analysis.places import DEMO, NOTEBOOKS
from analysis.render.notebook import default_parameters, read_notebook
from analysis.workbook import example, season_results
from analysis.workbook.given import LOG_VARIABLE, one_folder
from analysis.workbook.season_week import season_week

PATHS = sorted(NOTEBOOKS.glob("*.ipynb"))


@pytest.mark.parametrize("path", PATHS, ids=[path.stem for path in PATHS])
def test_every_notebook_takes_a_season_first(path: Path) -> None:
    parameters = default_parameters(read_notebook(path), path.name)
    assert next(iter(parameters.items())) == ("season", None)


def test_results_are_made_once_and_read_again(tmp_path, store, monkeypatch) -> None:
    heron = example(tmp_path / "heron")
    made = season_results.season_results(heron)
    assert made.summary["boats"] == ["Heron"]

    def refuse(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("analysis.season.analyse", refuse)
    assert season_results.season_results(heron).bands.equals(made.bands)
    (heron / "strikes.csv").write_text("trip,time,rod,species,outcome,length,weight,note\n")
    with pytest.raises(AssertionError):
        season_results.season_results(heron)


def test_without_a_season_the_sample_is_shown(monkeypatch) -> None:
    monkeypatch.delenv(LOG_VARIABLE, raising=False)
    assert season_results.season_results().summary["boats"] == ["Dunlin"]
    assert (
        season_week().week
        == json.loads((NOTEBOOKS.parent / "reports" / "sample" / "weekly.json").read_text())["week"]
    )


def test_a_week_is_read_from_the_reports_of_a_club(tmp_path) -> None:
    sample = NOTEBOOKS.parent / "reports" / "sample" / "weekly.json"
    week = json.loads(sample.read_text())["week"]
    (tmp_path / f"{week}.json").write_text(sample.read_text())
    assert season_week(tmp_path).week == season_week(tmp_path, week).week == week
    with pytest.raises(UsageError, match="there is no report of it"):
        season_week(tmp_path, "2026-W02")
    with pytest.raises(RodhoursError, match="is no ISO week"):
        season_week(tmp_path, "28")


def test_one_boat_of_several(tmp_path) -> None:
    two = ["petrel-2026", "dunlin-2026"]
    assert one_folder(two) == DEMO / "petrel-2026"


def test_papermill_alone_refuses_a_misspelt_parameter(tmp_path, monkeypatch) -> None:
    """Papermill itself, as its command line calls it; it only warns of such a parameter."""
    monkeypatch.chdir(tmp_path)
    notebook, out = str(NOTEBOOKS / "depth_explorer.ipynb"), str(tmp_path / "out.ipynb")
    run = {"progress_bar": False, "kernel_name": "python3"}
    with pytest.raises(PapermillExecutionError, match="did you mean 'season'"):
        papermill.execute_notebook(notebook, out, {"saeson": "heron"}, **run)
    outputs = [o for c in nbformat.read(out, 4).cells for o in c.get("outputs", [])]
    (error,) = [output for output in outputs if output.output_type == "error"]
    assert error.traceback == [
        "this notebook has no parameter 'saeson'; did you mean 'season'? There are: 'season'."
    ]
