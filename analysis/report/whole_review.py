"""Owns the way from logs to a review: the kernel gets ready while the season is analysed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.render.kernels import KeptKernel

if TYPE_CHECKING:
    from analysis.report.review import Written
    from analysis.season import Options

Progress = Callable[[str, float], None]

IMPORTS = (
    "from rodhours import show; from rodhours.workbook import parameters, season_results; "
    "show.figures, show.course_figures, show.pictured, show.gear_figures, show.tables, "
    "show.data_tables"
)
"""What the notebook will import, so that it is there by then."""


def ready_kernel() -> KeptKernel:
    """Return the kernel of a review; it gets ready while the program's heavy imports are done."""
    return KeptKernel(IMPORTS, goes_along=True)


def review_into(
    folders: Sequence[Path],
    options: Options,
    out_dir: Path,
    progress: Progress,
    kernel: KeptKernel,
    *,
    appendix: bool = False,
) -> Written:
    """Analyse season folders and write their review.

    Parameters
    ----------
    folders : sequence of Path
    options : Options
    out_dir : Path
    progress : callable
        Told what is being done and how far it is, 0 to 1.
    kernel : KeptKernel
        From `ready_kernel`.
    appendix : bool
        Whether to write the page with every fold open, too.

    Returns
    -------
    Written

    Raises
    ------
    LogError, UsageError
        As `analysis.season.analyse`.
    NotebookError, WriteError
        As `analysis.report.review.write_review`.
    """
    from analysis.season import analyse  # here: seconds, in which the kernel gets ready

    season = analyse(folders, options, progress)
    from analysis.report.review import write_review

    return write_review(season, out_dir, with_fit=True, kernel=kernel, appendix=appendix)
