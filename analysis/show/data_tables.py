"""Owns the tables of the data page: what was read, set aside, missing, checked, and with what."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.show import labels
from analysis.show.rows import records
from analysis.show.tables import Table, from_rows, plain
from analysis.units import Units


def rows_read(rows: pd.DataFrame) -> Table:
    """Return how many rows of each table were read, kept and set aside."""
    headings = {
        "log": "Log",
        "table": "Table",
        "read": "Rows read",
        "kept": "Kept",
        "set_aside": "Set aside",
    }
    return plain(rows, "What was read", headings, ("read", "kept", "set_aside"))


def set_aside(frame: pd.DataFrame) -> Table:
    """Return the rows that were set aside, with place, reason and remedy; rows alike together."""
    rows = []
    alike = ["log", "table", "column", "reason", "remedy"]
    for _, group in [] if frame.empty else frame.groupby(alike, sort=False):
        first = records(group)[0]
        more = len(group) - 1
        found = f"{first.value} and {more} more" if more else str(first.value)
        place = lines(group["row"].tolist())
        rows.append(
            (first.log, first.table, place, first.column, found, first.reason, first.remedy)
        )
    headings = ("Log", "Table", "Line", "Column", "Found", "Why it was set aside", "Remedy")
    return from_rows("Rows set aside", headings, rows, nothing="No row was set aside.")


def lines(numbers: list[int]) -> str:
    """Write lines of a file, runs of them as a range.

    Examples
    --------
    >>> lines([7, 3, 4, 5])
    '3–5, 7'
    """
    runs: list[list[int]] = []
    for line in sorted(numbers):
        if runs and line == runs[-1][-1] + 1:
            runs[-1].append(line)
        else:
            runs.append([line])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def gaps(frame: pd.DataFrame) -> Table:
    """Return what the logs lack, what that costs the answer, and what would fill it."""
    headings = {
        "log": "Log",
        "what": "Missing",
        "cost": "What it costs",
        "remedy": "What would fill it",
    }
    return plain(frame, "Gaps in the log", headings, nothing="The log has no gap that costs.")


def checks(frame: pd.DataFrame) -> Table:
    """Return the checks of the fit, passed or not, each failure with its next step."""
    if frame.empty:
        return plain(frame, "Checks of the model", {}, nothing="No model was fitted.")
    told = frame.assign(passed=frame["passed"].map({True: "passed", False: "did not pass"}))
    headings = {
        "name": "Check",
        "passed": "Result",
        "finding": "Found",
        "next_step": "Next step",
    }
    return plain(told, "Checks of the model", headings)


def provenance(summary: Mapping[str, Any], units: Units) -> Table:
    """Return with what the review was made: model, version and parameters."""
    parameters = dict(summary["parameters"])
    rows = [
        ("Model used", summary["model"] or "none"),
        ("Formula", summary["formula"] or "–"),
        ("Why", summary["why"]),
        ("Height of the bands", labels.amount(parameters.pop("band_m"), "depth", units)),
        *((name, str(value)) for name, value in parameters.items()),
        ("Version of rodhours", summary["version"]),
    ]
    return from_rows("How the review was made", ("What", "Value"), rows)


def hashes(summary: Mapping[str, Any]) -> Table:
    """Return the fingerprint of each file read, shortened to what tells files apart."""
    rows = [(name, str(digest)[:16]) for name, digest in summary["hashes"].items()]
    return from_rows("Files read", ("File", "SHA-256, first 16 digits"), rows)
