"""Owns the results that a notebook shows: read where they are, made where they are not."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.places import PROJECT, TABLES
from analysis.report.results import Results, read_results, write_results
from analysis.workbook.given import LOG_VARIABLE, Typed, find_season
from analysis.workbook.kept import kept_folder

if TYPE_CHECKING:
    from analysis.season import Options

SAMPLE = PROJECT / "reports" / "sample"


def season_results(season: Typed = None) -> Results:
    """Return the result tables of a season; made, with a bar, where the log has none of today.

    Parameters
    ----------
    season : str, path or list of them, optional
        Season folders, or a folder that `rodhours review` wrote. By default the logs that
        `rodhours lab` was given, else the sample.

    Returns
    -------
    Results

    Raises
    ------
    RodhoursError
        For a season that is not there or cannot be read.
    """
    if season is None and not os.environ.get(LOG_VARIABLE):
        return read_results(SAMPLE / TABLES)
    given = find_season(season)
    if given.results is not None:
        return read_results(given.results)
    from analysis.season import Options  # here: seconds, and results that are there need none

    options = Options()
    folder = kept_folder("results", given.folders, repr(options))
    if not (folder / TABLES / "summary.json").is_file():
        _make(given.folders, options, folder)
    return read_results(folder / TABLES)


def _make(folders: tuple[Path, ...], options: Options, out: Path) -> None:
    from tqdm.auto import tqdm

    from analysis.season import analyse

    with tqdm(total=100, desc="Results", bar_format="{desc} {percentage:3.0f} % |{bar}|") as bar:

        def show(stage: str, share: float) -> None:
            bar.set_description(stage)
            bar.update(100 * share - bar.n)

        write_results(analyse(folders, options, show), out)
