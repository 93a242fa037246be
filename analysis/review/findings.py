"""Owns the findings of all logs as a table: one cause is one row, with what it costs."""

from collections.abc import Sequence

import pandas as pd

from analysis.log.findings import Finding
from analysis.rates.build_exposure import BoatSeason

COLUMNS = (
    *("log", "severity", "doubted", "table", "column", "value", "count", "lines", "reason"),
    *("remedy", "follows", "rod_hours", "strikes"),
)


def findings_table(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return the findings of each log, the one that matters most first.

    Parameters
    ----------
    seasons : sequence of BoatSeason

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; ``lines`` as text, parted by spaces.
    """
    rows = [
        [season.log.folder.name, *_cells(finding)]
        for season in seasons
        for finding in season.found.findings
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _cells(finding: Finding) -> list[object]:
    lines = " ".join(map(str, finding.lines))
    return [lines if name == "lines" else getattr(finding, name) for name in COLUMNS[1:]]
