"""Owns the tour: a log grows file by file to a review; what each table of a season buys."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd
from tqdm.auto import tqdm

from analysis.errors import UsageError
from analysis.places import TABLES
from analysis.report.check import examine
from analysis.report.results import Results, read_results
from analysis.report.whole_review import ready_kernel, review_into
from analysis.season import Options
from analysis.show import sentences
from analysis.show.base.html import Fragment
from analysis.show.base.tables import Table
from analysis.show.workbook import tour_words
from analysis.show.workbook.cards import Card
from analysis.show.workbook.rows import Bought
from analysis.workbook.narrowing import nearest_of
from analysis.workbook.opening import EXAMPLE
from analysis.workbook.season import Season


class FirstLog:
    """A season folder that is filled file by file, in a folder that goes when the kernel does.

    Attributes
    ----------
    folder : Path

    Examples
    --------
    >>> first = FirstLog()
    >>> list(first.folder.iterdir())
    []
    >>> for name in ("boat.toml", "trips.csv", "strikes.csv"):
    ...     _ = first.write(name)
    >>> "It can be analysed in part" in first.check().html
    True
    """

    def __init__(self) -> None:
        place = Path(tempfile.mkdtemp(prefix="rodhours-tour-"))
        atexit.register(shutil.rmtree, place, ignore_errors=True)
        self.folder = place / "heron-2026"
        self.folder.mkdir()

    def write(self, name: str) -> Fragment:
        """Write a file of the log of five lines, and show what stands in it.

        Raises
        ------
        UsageError
            For a file that this log does not have.
        """
        if name not in EXAMPLE:
            raise UsageError(nearest_of("the log of five lines has no file", name, EXAMPLE))
        (self.folder / name).write_text(EXAMPLE[name], encoding="utf-8")
        return tour_words.file(name, EXAMPLE[name])

    def check(self) -> Fragment:
        """Read the log as it is by now, and say what it lacks; as ``rodhours check``."""
        return tour_words.printed(examine(self.folder).text)

    @cached_property
    def page(self) -> Path:
        """The review's page, made when it is first asked for; as ``rodhours review``."""
        out = self.folder.parent / "review"
        with tqdm(total=100, desc="Review", bar_format="{desc} {percentage:3.0f} % |{bar}|") as bar:

            def show(stage: str, share: float) -> None:
                bar.set_description(stage)
                bar.update(100 * share - bar.n)

            with ready_kernel() as kernel:
                return review_into([self.folder], Options(), out, show, kernel).page

    def review(self) -> Card:
        """Make the review, and say what stands first in it and where it is."""
        summary = self.results.summary
        return tour_words.reviewed(summary["boats"], summary["first_lines"], self.page)

    @property
    def results(self) -> Results:
        """All result tables of the review."""
        return read_results(self.page.parent / TABLES)


def what_it_bought(**seasons: Season) -> Table:
    """Set one season beside itself, told with fewer tables and with more.

    Parameters
    ----------
    **seasons : Season
        By what is in each, such as ``and_sets=...``; each as `open_season` gives it with tables
        left out.

    Returns
    -------
    Table
        A row each, in the boat's units: what counts, how well depth and water are known, and
        what can be told.

    Examples
    --------
    >>> import rodhours
    >>> heron = rodhours.example()
    >>> alone, both = rodhours.open(heron, leave_out="sets"), rodhours.open(heron)
    >>> table = what_it_bought(strikes_alone=alone, and_sets=both)
    >>> table.columns["The log with"], table.columns["Rod-hours"]
    (['strikes alone', 'and sets'], ['0', '8'])
    """
    rows = [_bought(name.replace("_", " "), one) for name, one in seasons.items()]
    return tour_words.bought(rows, next(iter(seasons.values())).units)


def _bought(name: str, season: Season) -> Bought:
    """Gather how much a season is sure of."""
    slices, bands = season.table, season.bands
    verdicts = bands.groupby("period")["verdict"].first() if len(bands) else pd.Series(dtype=object)
    found = season.answer
    return Bought(
        tables=name,
        strikes=len(season.strikes),
        placed=int(slices["strikes"].sum()),
        rod_hours=float(slices["hours"].sum()),
        depth_m=_usual(slices, "depth_m"),
        depth_sd_m=_usual(slices, "depth_sd_m"),
        temp_c=_usual(slices, "lure_temp_c"),
        temp_sd_c=_usual(slices, "lure_temp_sd_c"),
        verdict=str(verdicts.get("season", "open")),
        months=tuple(verdicts.drop("season", errors="ignore")),
        says=sentences.first_lines(found, season.units)[0] if found else "",
    )


def _usual(slices: pd.DataFrame, column: str) -> float:
    """Return the median by rod-hours of a column; NaN where most rod-hours have no value."""
    known = slices.loc[slices[column].notna(), [column, "hours"]].sort_values(column)
    reached = known["hours"].cumsum().to_numpy()
    if not len(reached) or reached[-1] < slices["hours"].sum() / 2:
        return float("nan")
    return float(known[column].iloc[int(np.searchsorted(reached, reached[-1] / 2))])
