"""Owns corrections kept beside a log: fixes.csv is applied on reading, and the log stays as it is.

Each row says of one cell what it was and what it becomes. It is applied only whilst the cell still
says what it was; to delete the row, or the file, undoes it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analysis.csv_files import true_text, write_csv
from analysis.errors import SET_ASIDE_COLUMNS, LogError
from analysis.log.files.headings import Wanted
from analysis.log.files.tables import TextTable, read_table

FIXES = "fixes.csv"
"""Name of the file, beside the tables."""
COLUMNS = ("table", "row", "column", "was", "becomes", "why")
EMPTY = "(empty)"
"""In ``becomes``: the cell is emptied. Nothing there leaves the cell as it is."""


_SWAPPED = "were time in and time out swapped?"
_OPEN = "the set was left open"
_ASKED = "did you mean "


@dataclass(frozen=True, kw_only=True)
class Corrections:
    """What a log says once its corrections are in.

    Attributes
    ----------
    tables : dict
        Name -> table, corrected.
    told : list of dict
        `analysis.errors.SET_ASIDE_COLUMNS`: each correction that was applied, by the cell's place,
        and each that could not be, by its own line of fixes.csv.
    source : tuple of TextTable
        The corrections themselves; none where there is no such file.
    """

    tables: dict[str, TextTable]
    told: list[dict[str, Any]]
    source: tuple[TextTable, ...]


def corrections(tables: Mapping[str, TextTable], files: Mapping[str, Path]) -> Corrections:
    """Apply the corrections that lie beside a log to the text of its tables.

    Parameters
    ----------
    tables : mapping
        Name -> table as its file has it.
    files : mapping
        The folder's files by lower-case name.

    Raises
    ------
    LogError
        Where the file of corrections cannot be read or lacks a column.
    """
    if FIXES not in files:
        return Corrections(tables=dict(tables), told=[], source=())
    wanted = Wanted(known=COLUMNS, required=COLUMNS[:5], renames={})
    fixes = read_table(files[FIXES], "fixes", wanted, encoding=None, delimiter=None)
    frames = {name: table.frame.copy() for name, table in tables.items()}
    told = []
    for row in fixes.frame.to_dict("records"):
        cell = {str(name): true_text(str(text)) for name, text in row.items()}
        if not cell["becomes"]:
            continue
        why_not = _unfit(frames.get(cell["table"]), cell)
        if why_not:
            place = ("fixes", int(row["line"]), "was", cell["was"])
            reason = f"this correction was not applied: {why_not}"
            told.append((*place, reason, f"correct it, or delete it from {FIXES}"))
            continue
        frame = frames[cell["table"]]
        here = frame["line"] == int(cell["row"])
        frame[cell["column"]] = frame[cell["column"]].astype("str")
        frame.loc[here, cell["column"]] = "" if cell["becomes"] == EMPTY else cell["becomes"]
        place = (cell["table"], int(cell["row"]), cell["column"], cell["was"])
        reason = f"corrected by {FIXES}: read as {cell['becomes']}"
        told.append((*place, reason, f"to undo it, delete its row of {FIXES}"))
    for line, reason in fixes.malformed[["line", "reason"]].itertuples(index=False):
        told.append(("fixes", int(line), "", "", reason, "check commas and quotation marks"))
    records = [dict(zip(SET_ASIDE_COLUMNS, cells, strict=True)) for cells in told]
    fixed = {name: replace(tables[name], frame=frames[name]) for name in tables}
    return Corrections(tables=fixed, told=records, source=(fixes,))


def _unfit(frame: pd.DataFrame | None, cell: Mapping[str, str]) -> str:
    """Say why a correction cannot be applied; empty where it can."""
    if frame is None:
        return "the log has no table of this name"
    if cell["column"] not in frame or cell["column"] == "line":
        return "the table has no column of this name"
    here = frame["line"].astype("str") == cell["row"]
    if not here.any():
        return "the table has no row on this line"
    now = str(frame.loc[here, cell["column"]].iloc[0])
    return "" if now == cell["was"] else f"the cell says {now!r} now"


def proposed(
    tables: Mapping[str, TextTable], aside: pd.DataFrame, doubted: pd.DataFrame
) -> pd.DataFrame:
    """Propose corrections of cells that cannot be used or are doubted.

    Parameters
    ----------
    tables : mapping
        Name -> table as its file has it.
    aside : DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`.
    doubted : DataFrame
        From `analysis.log.doubts.doubts_of`.

    Returns
    -------
    DataFrame
        `COLUMNS`; ``becomes`` is empty where only the boat's notes can tell.
    """
    rows = []
    for problem in [*_records(aside), *_records(doubted)]:
        if problem["table"] not in tables:  # what an instrument recorded is not corrected by hand
            continue
        frame = tables[problem["table"]].frame
        here = np.flatnonzero((frame["line"] == problem["row"]).to_numpy())
        column = problem["column"]
        if not len(here) or column not in frame:
            continue
        cells = frame.iloc[here[0]]
        told = (problem["table"], problem["row"])
        why = f"{problem['reason']}. {problem['remedy']}"
        if _SWAPPED in problem["reason"]:
            one, other = str(cells["time_in"]), str(cells["time_out"])
            rows.append((*told, "time_in", one, other, why))
            rows.append((*told, "time_out", other, one, why))
            continue
        becomes = problem.get("becomes") or _meant(problem["remedy"])
        if _OPEN in problem["reason"]:
            becomes = _came_out(tables, frame.iloc[here[0] :])
        rows.append((*told, column, str(cells[column]), becomes, why))
    found = pd.DataFrame(rows, columns=list(COLUMNS)).drop_duplicates(["table", "row", "column"])
    return found.sort_values(["table", "row"], kind="stable", ignore_index=True)


def _came_out(tables: Mapping[str, TextTable], rows: pd.DataFrame) -> str:
    """Return when the set of the first row ended: with its rod's next set, else with the trip."""
    trip, rod = rows["trip"].iloc[0], rows["rod"].iloc[0]
    after = rows.iloc[1:]
    times = after.loc[(after["trip"] == trip) & (after["rod"] == rod), "time_in"]
    trips = tables["trips"].frame
    ends = trips.loc[trips["trip"] == trip, "end"] if "end" in trips else times.iloc[:0]
    return next((str(time) for time in [*times[:1], *ends[:1]]), "")


def _meant(remedy: str) -> str:
    """Return the one name that a remedy asks for: ``did you mean diver?`` proposes diver."""
    _, asked, rest = remedy.partition(_ASKED)
    return rest.partition("?")[0] if asked else ""


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): cell for name, cell in row.items()} for row in frame.to_dict("records")]


def write_fixes(frame: pd.DataFrame, file: Path) -> None:
    """Write corrections for a user to edit; a file that is there is never touched.

    Raises
    ------
    LogError
        Where the file exists or cannot be written.
    """
    try:
        file.touch(exist_ok=False)
        write_csv(frame, file)
    except FileExistsError as error:
        msg = "this file is there already, and may hold corrections of yours"
        remedy = "name another file, or move this one away"
        raise LogError(msg, file=file, remedy=remedy) from error
    except OSError as error:
        msg = f"this file cannot be written ({error.strerror})"
        raise LogError(msg, file=file, remedy="name a file in a folder you may write to") from error
