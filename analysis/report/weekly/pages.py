"""Owns making one week's four files, and the page that lists the weeks."""

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_notebook, new_output

from analysis.render.chromium import Printing
from analysis.render.kernels import KeptKernel
from analysis.render.notebook import NotebookError, run_notebook
from analysis.render.page import PageError, make_ready, to_html
from analysis.render.staging import put_in_place, staging
from analysis.report.weekly.done import Done
from analysis.report.weekly.store import NOTEBOOK, Figures, WeeklyError, as_json, report_of
from analysis.show.week import parts
from analysis.show.week import text as week_text
from analysis.show.week import words as week_words
from analysis.weekly.figures import WeekReport

_CSS = """
h2 { margin-top: 1.8rem }
.fine { font-size: .9rem; color: var(--soft); margin: .35rem 0 }
.reports li { margin: .5rem 0 }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%) }
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


def make_week(
    week: Figures,
    out_dir: Path,
    kernel: KeptKernel,
    printing: Printing,
    notebook: Path = NOTEBOOK,
) -> Done:
    """Make the four files of one week and put them in place together.

    Parameters
    ----------
    week : dict
        The figures, as the JSON file will hold them.
    out_dir : Path
    kernel : KeptKernel
    printing : Printing
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
    report = report_of(week, f"{name}.json")
    failed = out_dir / f"{name}.failed.ipynb"
    no_pdf = ""
    with staging(out_dir) as scratch, ThreadPoolExecutor(1) as meanwhile:
        # The notebook runs in a process of its own.
        meanwhile.submit(make_ready)
        whole = scratch / "whole"
        whole.mkdir()
        data = whole / f"{name}.json"
        data.write_text(as_json(week), encoding="utf-8")
        given = {"season": str(data.resolve())}
        try:
            executed = run_notebook(notebook, given, folder=scratch, progress=False, kernel=kernel)
        except NotebookError as error:
            if error.executed is not None:
                with staging(out_dir) as kept:
                    nbformat.write(error.executed, kept / failed.name)
                    put_in_place(kept, out_dir)
            raise
        page = whole / f"{name}.html"
        css = _CSS.replace("PAPER", report.made_with.parameters.paper)
        title = f"Weekly report, {week_words.name(name)}"
        page.write_text(to_html(executed, title=title, css=css), encoding="utf-8")
        (whole / f"{name}.txt").write_text(week_text.text(report), encoding="utf-8")
        try:
            printing.print(page, whole / f"{name}.pdf")
        except PageError as error:
            no_pdf = str(error)
        # A PDF of an older run would tell other figures than the page beside it.
        older = [f"{name}.pdf"] if no_pdf else []
        put_in_place(whole, out_dir, [failed.name, *older])
    return Done(week=name, no_pdf=no_pdf)


def index_page(weeks: Mapping[str, Figures], has_pdf: Callable[[str], bool]) -> str:
    """Return the page that lists the reports of a folder, the latest first."""
    latest_first = sorted(weeks.items(), reverse=True)
    reports = {week: _readable(content) for week, content in latest_first}
    listed = parts.index(reports, {week for week in weeks if has_pdf(week)})
    shown = new_output("execute_result", data={"text/html": listed.html})
    notebook = new_notebook(cells=[new_code_cell("", outputs=[shown])])
    return to_html(notebook, title="Weekly reports", css=_CSS.replace("PAPER", "auto"))


def _readable(content: Figures) -> WeekReport | None:
    """Return a report of the folder; None where another version made it."""
    try:
        return report_of(content, f"{content['week']}.json")
    except WeeklyError:
        return None
