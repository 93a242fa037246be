"""Owns the way from logs to a review: the kernel gets ready while the season is analysed."""

from collections.abc import Callable, Sequence
from pathlib import Path

from analysis.render.kernels import KeptKernel
from analysis.season import Options, analyse

Progress = Callable[[str, float], None]

IMPORTS = (
    "from rodhours import show; from rodhours.workbook import parameters, season_results; "
    "show.figures, show.course_figures, show.pictured, show.gear_figures, show.tables, "
    "show.data_tables"
)
"""What the notebook will import, so that it is there by then."""


def review_into(
    folders: Sequence[Path],
    options: Options,
    out_dir: Path,
    progress: Progress,
    *,
    appendix: bool = False,
) -> Path:
    """Analyse season folders and write their review.

    Parameters
    ----------
    folders : sequence of Path
    options : Options
    out_dir : Path
    progress : callable
        Told what is being done and how far it is, 0 to 1.
    appendix : bool
        Whether to write the page with every fold open, too.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    LogError, UsageError
        As `analysis.season.analyse`.
    NotebookError, WriteError
        As `analysis.report.review.write_review`.
    """
    with KeptKernel(IMPORTS, goes_along=True) as kernel:
        season = analyse(folders, options, progress)
        from analysis.report.review import write_review  # here: seconds, the kernel's meanwhile

        return write_review(season, out_dir, with_fit=True, kernel=kernel, appendix=appendix)
