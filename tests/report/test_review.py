"""Owns the tests of putting a review in place: together or not at all."""

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import nbformat
import pandas as pd
import pypdfium2
import pytest
from bs4 import BeautifulSoup

from analysis.render.notebook import NotebookError, read_notebook, run_notebook
from analysis.render.staging import WriteError, only_run
from analysis.report.review import write_review

WriteNotebook = Callable[..., Path]
PARAMETERS = 'season = "tables"'


def snapshot(folder: Path) -> dict[str, bytes]:
    """All files of a folder with their contents, lock files left out."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix != ".lock"
    }


def test_page_notebook_and_tables_are_put_in_place(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("import os\nprint(os.listdir(season))", parameters=PARAMETERS)
    out = tmp_path / "out"
    page = write_review(made_up_season, out, progress=False, notebook=notebook).page
    assert page == out / "season-review.html"
    assert "bands.csv" in page.read_text(encoding="utf-8")
    names = {path.name for path in out.iterdir() if path.suffix != ".lock"}
    assert names == {
        "season-review.html",
        "season-review.ipynb",
        "spread-card-a5.pdf",
        "spread-card-half-letter.pdf",
        "tables",
    }


def test_cards_have_a_page_a_boat_with_every_rod(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    plan = made_up_season.tables["plan"]
    two = pd.concat([plan, plan.assign(boat="Petrel", line_out=plan["line_out"] + 7)])
    made_up_season.tables["plan"] = two
    notebook = write_notebook("1", parameters=PARAMETERS)
    write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
    # A5 is 148 x 210 mm (ISO 216), half a letter page 5.5 x 8.5 in; in points of 1/72 in.
    for size, width, height in (("a5", 420, 595), ("half-letter", 396, 612)):
        with pypdfium2.PdfDocument(tmp_path / f"spread-card-{size}.pdf") as pdf:
            texts = [page.get_textpage().get_text_range() for page in pdf]
            assert pdf[0].get_size() == pytest.approx((width, height), abs=1)
        assert len(texts) == 2
        for text, (boat, rows) in zip(texts, two.groupby("boat"), strict=True):
            assert f"{boat}, to start in June" in text
            for row in rows.itertuples():
                assert str(row.rod) in text
                assert f"{row.line_out:.0f} ft" in text


def test_an_appendix_on_request_has_every_fold_open_and_goes_with_the_next_review(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    code = "from IPython.display import HTML\nHTML('<details><summary>Checks</summary>7</details>')"
    notebook = write_notebook(code, parameters=PARAMETERS)
    page = write_review(
        made_up_season, tmp_path, progress=False, notebook=notebook, appendix=True
    ).page
    folds = [
        fold.has_attr("open")
        for file in (page, tmp_path / "season-review-appendix.html")
        for fold in BeautifulSoup(file.read_text(encoding="utf-8"), "html.parser")("details")
    ]
    assert folds == [False, True]
    write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
    assert not (tmp_path / "season-review-appendix.html").exists()


def test_no_plan_no_card_and_none_of_the_review_before(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("1", parameters=PARAMETERS)
    write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
    assert {path.stem for path in tmp_path.glob("*.pdf")} >= {"spread-card-a5"}
    (tmp_path / "month-cards.pdf").write_bytes(b"of another season")
    made_up_season.tables["plan"] = made_up_season.tables["plan"].head(0)
    write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
    assert list(tmp_path.glob("*.pdf")) == []


def test_executed_notebook_runs_again_where_it_lies(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    source = "from rodhours.report.results import read_results\nlen(read_results(season).bands)"
    out = tmp_path / "out"
    write_review(
        made_up_season,
        out,
        progress=False,
        notebook=write_notebook(source, parameters=PARAMETERS),
    )
    again = run_notebook(out / "season-review.ipynb", {}, folder=out, progress=False)
    assert again.cells[-1].outputs[0].data["text/plain"] == "50"


def test_failing_notebook_leaves_the_older_review_and_is_kept_for_a_look(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    good = write_notebook("print('good')", parameters=PARAMETERS)
    write_review(made_up_season, out, progress=False, notebook=good)
    before = snapshot(out)
    made_up_season.tables["bands"]["rate"] = 9.0
    bad = write_notebook("raise ValueError('no such band')", parameters=PARAMETERS)
    with pytest.raises(NotebookError, match="cell 3 failed with ValueError: no such band"):
        write_review(made_up_season, out, progress=False, notebook=bad)
    after = snapshot(out)
    failed = after.pop("season-review.failed.ipynb")
    assert after == before
    assert nbformat.reads(failed.decode(), as_version=4).cells[-1].outputs[0].ename == "ValueError"
    good = write_notebook("print('good again')", parameters=PARAMETERS)
    write_review(made_up_season, out, progress=False, notebook=good)
    assert not (out / "season-review.failed.ipynb").exists()


def test_second_run_is_refused_while_one_is_under_way(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("1", parameters=PARAMETERS)
    with (
        only_run(tmp_path, "season-review"),
        pytest.raises(WriteError, match="another run is writing season-review"),
    ):
        write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
    assert not (tmp_path / "tables").exists()


def test_unknown_parameter_writes_nothing(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("1", parameters=PARAMETERS)
    out = tmp_path / "out"
    with pytest.raises(NotebookError, match="has no parameter 'moon'"):
        write_review(
            made_up_season,
            out,
            parameters={"moon": 1},
            progress=False,
            notebook=notebook,
        )
    assert snapshot(out) == {}


def test_the_real_notebook_is_the_default() -> None:
    default = write_review.__kwdefaults__["notebook"]
    assert default.name == "season_review.ipynb"
    assert len(read_notebook(default).cells) > 20


def _with_cell(file: Path, source: str) -> None:
    """Add a cell to a notebook as JupyterLab saves it."""
    own = read_notebook(file)
    own.cells.append(nbformat.v4.new_code_cell(source))
    nbformat.write(own, file)


def test_a_notebook_that_a_person_changed_is_kept(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("1", parameters=PARAMETERS)

    def review() -> Path | None:
        return write_review(
            made_up_season, tmp_path, progress=False, notebook=notebook
        ).own_notebook

    file = tmp_path / "season-review.ipynb"
    assert review() is None
    # run anew in JupyterLab and saved: other results of the same cells are no change
    again = read_notebook(file)
    again.cells[-1].outputs, again.cells[-1].execution_count = [], 7
    nbformat.write(again, file)
    assert review() is None
    assert len(list(tmp_path.glob("season-review*.ipynb"))) == 1

    _with_cell(file, "my_own = 'question'")
    changed = file.read_bytes()
    kept = review()
    assert kept is not None
    assert kept.read_bytes() == changed
    assert b"my_own" not in file.read_bytes()
    assert review() is None
    assert kept.read_bytes() == changed


def test_what_is_no_notebook_of_ours_is_kept(
    made_up_season: SimpleNamespace, write_notebook: WriteNotebook, tmp_path: Path
) -> None:
    notebook = write_notebook("1", parameters=PARAMETERS)
    for content in ("not json", "[]", '{"cells": [], "metadata": {}}'):
        (tmp_path / "season-review.ipynb").write_text(content, encoding="utf-8")
        kept = write_review(made_up_season, tmp_path, progress=False, notebook=notebook)
        assert kept.own_notebook is not None
        assert kept.own_notebook.read_text(encoding="utf-8") == content
        kept.own_notebook.unlink()
