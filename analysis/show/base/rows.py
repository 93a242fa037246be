"""Owns picking rows out of result tables, for pictures, tables and sentences alike."""

from collections.abc import Callable, Sequence
from math import isnan
from typing import TypeVar

import pandas as pd

from analysis.errors import UsageError

Row = TypeVar("Row")


def of_period(bands: pd.DataFrame, period: str) -> pd.DataFrame:
    """Return the rows of one period of a table of bands, shallowest first.

    Raises
    ------
    UsageError
        When the table has rows, but none of this period.
    """
    if bands.empty:
        return bands
    rows = bands[bands["period"] == period]
    if rows.empty:
        known = ", ".join(dict.fromkeys(bands["period"]))
        msg = f"there is no period {period!r} in this review. Remedy: choose one of {known}."
        raise UsageError(msg)
    return rows.sort_values("band_low_m", ignore_index=True)


def months(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of a table that are about a month, in their order in time."""
    if frame.empty:
        return frame
    return frame[frame["period"] != "season"].sort_values("period", kind="stable")


def judged_months(bands: pd.DataFrame) -> pd.DataFrame:
    """Return the months of a table of bands; none at all if no band of any month is judged."""
    rows = months(bands)
    return rows if rows.empty or rows["p_best"].notna().any() else rows.head(0)


def top(rows: Sequence[Row], of: Callable[[Row], float]) -> Row | None:
    """Return the first row in which a value is highest, or None where no row has one."""
    return max((row for row in rows if not isnan(of(row))), key=of, default=None)
