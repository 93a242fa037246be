"""Owns the season review: a season's tables, the executed notebook and its page, put in place."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nbformat

from analysis.places import NOTEBOOKS, TABLES
from analysis.render.kernels import KeptKernel
from analysis.render.notebook import NotebookError, run_notebook
from analysis.render.page import make_ready, to_html, unfolded
from analysis.render.staging import only_run, put_in_place, staging
from analysis.report.results import publish_results, stage_book, stage_tables
from analysis.stats.beside import beside

if TYPE_CHECKING:
    from analysis.season import Season

NAME = "season-review"
"""Name of the report's files."""
APPENDIX = f"{NAME}-appendix.html"


def write_review(
    season: "Season",
    out_dir: Path,
    *,
    with_fit: bool = False,
    kernel: KeptKernel | None = None,
    parameters: dict[str, Any] | None = None,
    progress: bool = True,
    appendix: bool = False,
    notebook: Path = NOTEBOOKS / "season_review.ipynb",
) -> Path:
    """Render a season's review and put tables, notebook and page in place together.

    Parameters
    ----------
    season : Season
        The analysed season.
    out_dir : Path
        Folder for ``season-review.html``, ``season-review.ipynb``, ``tables`` and, where a
        spread was planned, its card to print on A5 and on half a letter page.
    with_fit : bool
        Whether what cards rest on is kept beside the review, with a sheet of cards for its months.
    kernel : KeptKernel, optional
        One that was started while the season was fitted; by default a fresh one.
    parameters : dict, optional
        Parameters of the notebook other than its folder of tables.
    progress : bool
        Show a progress bar.
    appendix : bool
        Whether to write ``season-review-appendix.html``, too: the page with every fold open.
    notebook : Path
        The notebook to run.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    NotebookError
        When the notebook fails: an older review stays as it was, and what the notebook did is
        saved as ``season-review.failed.ipynb``.
    WriteError
        When the folder cannot be written to, or another run is writing this review.
    """
    failed = out_dir / f"{NAME}.failed.ipynb"
    with (
        only_run(out_dir, NAME),
        staging(out_dir) as scratch,
        beside(lambda: _write_others(season, scratch, with_fit=with_fit)) as others,
        ThreadPoolExecutor(1) as meanwhile,
    ):
        stage_tables(season.tables, season.summary, scratch)
        # The notebook runs in a process of its own, too.
        meanwhile.submit(make_ready)
        # The notebook finds its tables beside itself, so it can be opened and run where it ends.
        given = {"season": TABLES, **(parameters or {})}
        try:
            executed = run_notebook(
                notebook, given, folder=scratch, progress=progress, kernel=kernel
            )
        except NotebookError as error:
            if error.executed is not None:
                with staging(out_dir) as kept:
                    nbformat.write(error.executed, kept / failed.name)
                    put_in_place(kept, out_dir)
            raise
        boats = ", ".join(season.summary["boats"])
        page = to_html(executed, title=f"Season review: {boats} {season.summary['season']}")
        (scratch / f"{NAME}.html").write_text(page, encoding="utf-8")
        if appendix:
            (scratch / APPENDIX).write_text(unfolded(page), encoding="utf-8")
        nbformat.write(executed, scratch / f"{NAME}.ipynb")
        stage_book(season.tables, season.summary, scratch)
        others.result()
        gone = [failed.name] if appendix else [failed.name, APPENDIX]
        publish_results(scratch, out_dir, gone)
    return out_dir / f"{NAME}.html"


def _write_others(season: "Season", folder: Path, *, with_fit: bool) -> None:
    from analysis.report.beside_page import write_others  # here: draws, which this process does not

    write_others(season, folder, with_fit=with_fit)
