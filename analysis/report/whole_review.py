"""Owns the way from logs to a review: the kernel starts while the season is fitted."""

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
CHECKED = 0.4
"""Share of an analysis at which logs and wishes are checked, and seconds of fitting begin."""


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
    kernel = KeptKernel(IMPORTS, goes_along=True)

    def tell(stage: str, share: float) -> None:
        if share >= CHECKED:
            kernel.start()
        progress(stage, share)

    try:
        season = analyse(folders, options, tell)
        from analysis.report.card.stored_fit import fit_of  # here: seconds, the kernel's meanwhile
        from analysis.report.review import write_review

        return write_review(season, out_dir, fit=fit_of(season), kernel=kernel, appendix=appendix)
    finally:
        kernel.stop()
