"""Owns what a season folder holds: its boat.toml, and each table as a CSV or a sheet."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.errors import LogError
from analysis.log.files.tables import TextTable, is_example, read_table, table_of
from analysis.log.files.workbook import WORKBOOKS, read_sheets
from analysis.log.schema import REQUIRED, TABLES

if TYPE_CHECKING:
    from analysis.log.boat import Boat


def files_within(folder: Path) -> list[Path]:
    """List what lies in the folder, or say why that cannot be done."""
    try:
        if folder.is_dir():
            return sorted(folder.iterdir())
    except OSError as error:
        msg = f"this folder cannot be read ({error.strerror})"
        raise LogError(msg, file=folder, remedy="check that you may read it") from error
    msg = "this is not a folder"
    raise LogError(msg, file=folder, remedy="name a season folder with boat.toml in it")


def season_files(folder: Path) -> dict[str, Path]:
    """Return the folder's files by lower-case name, or say what is wrong with the folder."""
    files = {path.name.casefold(): path for path in files_within(folder)}
    if not files:
        remedy = "put boat.toml, trips.csv and strikes.csv into it"
        msg = "this season folder is empty"
        raise LogError(msg, file=folder, remedy=remedy)
    if "boat.toml" not in files:
        remedy = "put the boat.toml of the boat into it"
        msg = "this season folder has no boat.toml"
        raise LogError(msg, file=folder, remedy=remedy)
    return files


def _workbook(files: dict[str, Path]) -> Path | None:
    """Return the workbook that holds the log's tables, None where trips are a CSV."""
    books = [
        path
        for path in files.values()
        if path.suffix.casefold() in WORKBOOKS and not path.name.startswith(("~$", "."))
    ]
    if "trips.csv" in files or not books:
        return None
    if len(books) > 1:
        msg = f"two workbooks lie here: {', '.join(path.name for path in books)}"
        remedy = "leave the one that holds the season, and move the others away"
        raise LogError(msg, file=books[0].parent, remedy=remedy)
    return books[0]


def read_tables(folder: Path, files: dict[str, Path], boat: Boat) -> dict[str, TextTable]:
    """Read every table of the folder as text, from its CSV or its sheet of the workbook."""
    book = _workbook(files)
    sheets = {} if book is None else read_sheets(book)
    digest = "" if book is None else hashlib.sha256(book.read_bytes()).hexdigest()
    tables = {}
    for name, fields in TABLES.items():
        wanted: dict[str, Any] = {
            "known": [field.name for field in fields],
            "required": [field.name for field in fields if field.column_needed],
            "renames": boat.columns.get(name, {}),
        }
        file = files.get(f"{name}.csv")
        rows = sheets.get(name, [])
        # a sheet that was made and never filled is no table, a required one an empty table
        filled = any(not is_example(cells) for _, _, cells in rows[0 if name in REQUIRED else 1 :])
        if file is not None and filled and book is not None:
            msg = f"the table {name} stands in {file.name} and in {book.name}"
            remedy = "bring the rows together in one of them, and empty the other"
            raise LogError(msg, file=folder, remedy=remedy)
        if file is not None:
            tables[name] = read_table(file, name, **wanted)
        elif filled and book is not None:
            tables[name] = table_of(rows, name, file=book, sha256=digest, sheet=True, **wanted)
    for name in REQUIRED:
        if name not in tables:
            msg = f"this season folder has no {name}.csv"
            remedy = f"add {name}.csv with its header row"
            if book is not None:
                msg += f", and {book.name} has no sheet {name}"
                remedy = f"name the sheet of the {name} {name}, with the headings in its first row"
            raise LogError(msg, file=folder, remedy=remedy)
    return tables
