"""Owns making one week's four files, and several weeks' at once: a kernel for each core."""

import os
import queue
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import nbformat
from jupyter_core.utils import ensure_event_loop
from nbformat.v4 import new_code_cell, new_notebook, new_output

from analysis.errors import RodhoursError
from analysis.report.atomic import put_in_place, staging
from analysis.report.kernels import KeptKernel
from analysis.report.notebook import NotebookError, run_notebook
from analysis.report.page import PageError, to_html, to_pdf
from analysis.report.weekly_store import NOTEBOOK, Figures, as_json
from analysis.show import week as parts
from analysis.show import week_text, week_words

MOST_WORKERS = 8
"""Each holds a kernel of about 150 MB."""

_CSS = """
h2 { margin-top: 1.8rem }
.fine { font-size: .9rem; color: var(--soft); margin: .35rem 0 }
.reports li { margin: .5rem 0 }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%) }
@media (min-width: 52rem) { .pair { display: grid; grid-template-columns: 1fr 1fr; gap: 0 2rem } }
@page { size: PAPER; margin: 11mm 13mm 14mm }
@media print {
  body { font-size: 8.5pt; line-height: 1.3 }
  h1 { font-size: 15pt; margin: 0 }
  h2 { font-size: 11pt; margin: 2.2mm 0 1mm; padding-top: 1mm; border-top-width: 1px }
  h1 + p { display: none }
  p, li { max-width: none; margin: .6mm 0 }
  ul { margin: .6mm 0; padding-left: 4mm }
  .subject { font-size: 10pt }
  .answer { margin: 1.5mm 0; padding: 1mm 3mm }
  .answer p { margin: .8mm 0 }
  .answer p:first-child { font-size: 12pt }
  .pair { display: grid; grid-template-columns: 1fr 1fr; gap: 0 6mm }
  .table { margin: 1mm 0; break-inside: avoid }
  table { font-size: 8pt }
  th, td { padding: .35mm 2mm }
  figure { margin: 1mm 0 }
  figure img { max-height: 86mm; width: auto; max-width: 100% }
  figcaption, caption, .fine, .cautions { font-size: 7.5pt; max-width: none; padding-bottom: 0 }
  .cautions { padding: .5mm 2mm }
}
"""
"""For a phone, a desk, and paper: there a week shall fit on two sides, with no table cut."""


@dataclass(frozen=True, kw_only=True)
class Done:
    """What became of one week's report.

    Attributes
    ----------
    week : str
    problem : str
        Why there is none; empty where there is.
    no_pdf : str
        Why it has no PDF; empty where it has.
    """

    week: str
    problem: str = ""
    no_pdf: str = ""


def title_of(week: Figures) -> str:
    """Return the title of a week's page."""
    return f"Weekly report, {week_words.name(week)}"


def make_week(week: Figures, out_dir: Path, kernel: KeptKernel, notebook: Path = NOTEBOOK) -> Done:
    """Make the four files of one week and put them in place, the figures last.

    Parameters
    ----------
    week : dict
        The figures, as the JSON file will hold them.
    out_dir : Path
    kernel : KeptKernel
    notebook : Path

    Returns
    -------
    Done
        With the reason where there is no PDF: the other three files still come.

    Raises
    ------
    NotebookError
        When the notebook fails: older files stay, and what it did is kept as
        ``WEEK.failed.ipynb``.
    WriteError
        When the folder cannot be written to.
    """
    name = week["week"]
    failed = out_dir / f"{name}.failed.ipynb"
    no_pdf = ""
    with staging(out_dir) as scratch:
        pages, figures = scratch / "pages", scratch / "figures"
        pages.mkdir()
        figures.mkdir()
        data = figures / f"{name}.json"
        data.write_text(as_json(week), encoding="utf-8")
        given = {"figures": str(data.resolve())}
        try:
            executed = run_notebook(notebook, given, folder=scratch, progress=False, kernel=kernel)
        except NotebookError as error:
            if error.executed is not None:
                with staging(out_dir) as kept:
                    nbformat.write(error.executed, kept / failed.name)
                    put_in_place(kept, out_dir)
            raise
        page = pages / f"{name}.html"
        css = _CSS.replace("PAPER", week["made_with"]["parameters"]["paper"])
        page.write_text(to_html(executed, title=title_of(week), css=css), encoding="utf-8")
        (pages / f"{name}.txt").write_text(week_text.text(week), encoding="utf-8")
        try:
            to_pdf(page, pages / f"{name}.pdf")
        except PageError as error:
            no_pdf = str(error)
        put_in_place(pages, out_dir)
        if no_pdf:
            # One of an older run would tell other figures than the page beside it.
            (out_dir / f"{name}.pdf").unlink(missing_ok=True)
        put_in_place(figures, out_dir)
        failed.unlink(missing_ok=True)
    return Done(week=name, no_pdf=no_pdf)


def make_weeks(
    weeks: Sequence[Figures], out_dir: Path, workers: int | None = None
) -> Iterator[Done]:
    """Make several weeks' files, as many at once as there are cores; a failing one stops no other.

    Parameters
    ----------
    weeks : sequence of dict
    out_dir : Path
    workers : int, optional
        How many at once.

    Yields
    ------
    Done
        As they get done, in no order.
    """
    waiting: queue.SimpleQueue[Figures] = queue.SimpleQueue()
    done: queue.SimpleQueue[Done] = queue.SimpleQueue()
    for week in weeks:
        waiting.put(week)
    stopping = threading.Event()

    def work() -> None:
        try:
            with KeptKernel() as kernel:
                while not stopping.is_set():
                    try:
                        week = waiting.get_nowait()
                    except queue.Empty:
                        return
                    done.put(_attempt(week, out_dir, kernel))
        finally:
            ensure_event_loop().close()  # the thread's own, which nobody else would close

    count = min(workers or cores(), MOST_WORKERS, len(weeks))
    threads = [threading.Thread(target=work, name=f"weekly-{n}") for n in range(count)]
    for thread in threads:
        thread.start()
    try:
        for _ in weeks:
            yield done.get()
    finally:
        stopping.set()
        for thread in threads:
            thread.join()


def _attempt(week: Figures, out_dir: Path, kernel: KeptKernel) -> Done:
    """Make one week; whatever goes wrong becomes its problem."""
    try:
        return make_week(week, out_dir, kernel)
    except RodhoursError as error:
        problem = str(error)
    except Exception as error:  # noqa: BLE001 - a fault of one week must not stop the others
        problem = f"{type(error).__name__}: {error}"
    kernel.stop()
    return Done(week=week["week"], problem=problem)


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def index_page(weeks: Mapping[str, Figures], has_pdf: Callable[[str], bool]) -> str:
    """Return the page that lists the reports of a folder, the latest first."""
    listed = parts.index(
        [weeks[week] for week in sorted(weeks, reverse=True)],
        {week for week in weeks if has_pdf(week)},
    )
    shown = new_output("execute_result", data={"text/html": listed.html})
    notebook = new_notebook(cells=[new_code_cell("", outputs=[shown])])
    return to_html(notebook, title="Weekly reports", css=_CSS.replace("PAPER", "auto"))
