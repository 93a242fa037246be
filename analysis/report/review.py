"""Owns the season review: a season's tables, the executed notebook and its page, put in place."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import nbformat
from nbformat import NotebookNode

from analysis.places import NOTEBOOKS, TABLES
from analysis.places import REVIEW as NAME
from analysis.render.kernels import KeptKernel
from analysis.render.notebook import NotebookError, run_notebook
from analysis.render.page import make_ready, to_html, unfolded
from analysis.render.staging import only_run, put_in_place, staging
from analysis.report.own_notebook import keep_own, sign
from analysis.report.results import publish_results, stage_book, stage_tables
from analysis.show.base.style import CARD_SIZES_IN
from analysis.stats.beside import Errand, share_out

if TYPE_CHECKING:
    from analysis.season import Season

APPENDIX = f"{NAME}-appendix.html"
FAILED = f"{NAME}.failed.ipynb"
MONTH_CARDS = "month-cards.pdf"
SPREAD_CARDS: Mapping[str, str] = MappingProxyType(
    {size: f"spread-card-{size}.pdf" for size in CARD_SIZES_IN}
)
NOT_ALWAYS = (
    *(FAILED, APPENDIX, MONTH_CARDS, *SPREAD_CARDS.values()),
    *("month-cards-a4.pdf", "month-cards-letter.pdf"),  # of earlier versions
)
"""Files that not every review has: those of the review before must not stay beside it."""


@dataclass(frozen=True, kw_only=True)
class Written:
    """A review that was put in place.

    Attributes
    ----------
    page : Path
    own_notebook : Path or None
        Where the notebook of the review before is kept, which a person had changed.
    """

    page: Path
    own_notebook: Path | None


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
) -> Written:
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
    Written

    Raises
    ------
    NotebookError
        When the notebook fails: an older review stays as it was, and what the notebook did is
        saved as ``season-review.failed.ipynb``.
    WriteError
        When the folder cannot be written to, or another run is writing this review.
    """
    failed = out_dir / FAILED
    with only_run(out_dir, NAME), staging(out_dir) as scratch:
        # The notebook finds its tables beside itself, so it can be opened and run where it ends.
        given = {"season": TABLES, **(parameters or {})}

        def run() -> NotebookNode:
            stage_tables(season.tables, season.summary, scratch)
            with ThreadPoolExecutor(1) as meanwhile:  # the notebook runs in a process of its own
                meanwhile.submit(make_ready)
                return run_notebook(
                    notebook, given, folder=scratch, progress=progress, kernel=kernel
                )

        executed = Errand(run, stays=True)
        try:
            share_out([executed, *_others(season, scratch, with_fit=with_fit)])
        except NotebookError as error:
            if error.executed is not None:
                with staging(out_dir) as kept:
                    nbformat.write(error.executed, kept / failed.name)
                    put_in_place(kept, out_dir)
            raise
        boats = ", ".join(season.summary["boats"])
        page = to_html(executed.made, title=f"Season review: {boats} {season.summary['season']}")
        (scratch / f"{NAME}.html").write_text(page, encoding="utf-8")
        if appendix:
            (scratch / APPENDIX).write_text(unfolded(page), encoding="utf-8")
        own_notebook = keep_own(out_dir / f"{NAME}.ipynb", scratch)
        sign(executed.made)
        nbformat.write(executed.made, scratch / f"{NAME}.ipynb")
        gone = [name for name in NOT_ALWAYS if not (scratch / name).exists()]
        publish_results(scratch, out_dir, gone)
    return Written(page=out_dir / f"{NAME}.html", own_notebook=own_notebook)


def _others(season: "Season", folder: Path, *, with_fit: bool) -> list[Errand[None]]:
    """Return what there is to write beside the page, the longest first."""

    def fit() -> None:
        from analysis.report.beside_page import write_fit  # here: draws, and not all do

        write_fit(season, folder, MONTH_CARDS)

    def spread_cards(size: str, name: str) -> None:
        from analysis.report.beside_page import write_spread_cards

        write_spread_cards(season, size, folder / name)

    def book() -> None:
        stage_book(season.tables, season.summary, folder)

    cards = [Errand(partial(spread_cards, *each)) for each in SPREAD_CARDS.items()]
    return [*([Errand(fit)] if with_fit else []), *cards, Errand(book)]
