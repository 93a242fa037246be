"""Owns what a season folder holds: its boat.toml, and each table as a CSV or a sheet."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from analysis.errors import LogError
from analysis.log.files.content import LARGE_BYTES, content_of
from analysis.log.files.dialect import Record
from analysis.log.files.headings import Wanted
from analysis.log.files.kinds import split_kinds
from analysis.log.files.tables import TextTable, is_example, read_table, split_file, table_of
from analysis.log.files.workbook import MOST_BYTES, WORKBOOKS, read_sheets
from analysis.log.schema import REQUIRED, TABLES
from analysis.log.wording.settings import ALL, KIND, Wording

_READ = (".toml", ".csv", ".tsv", ".txt", *WORKBOOKS)


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


def refuse_link_out(file: Path, season: Path) -> None:
    """Refuse a link that leads out of a season folder: a log that was sent reads nothing else.

    Raises
    ------
    LogError
    """
    real, root = (os.path.realpath(path) for path in (file, season))
    if Path(root) not in Path(real).parents and Path(real).exists():
        msg = "this is a link out of the season folder"
        raise LogError(msg, file=file, remedy="put the file itself in its place")


def season_files(folder: Path) -> dict[str, Path]:
    """Return the folder's files by lower-case name, or say what is wrong with the folder."""
    within = files_within(folder)
    for path in within:
        if path.suffix.casefold() in _READ and path.is_file():
            refuse_link_out(path, folder)
    files = {path.name.casefold(): path for path in within}
    if not files:
        remedy = "put boat.toml, trips.csv and strikes.csv into it"
        msg = "this season folder is empty"
        raise LogError(msg, file=folder, remedy=remedy)
    if "boat.toml" not in files:
        remedy = "put the boat.toml of the boat into it; rodhours check --suggest proposes one"
        msg = "this season folder has no boat.toml"
        raise LogError(msg, file=folder, remedy=remedy)
    return files


def _workbook(files: Mapping[str, Path]) -> Path | None:
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


def named(folder: Path) -> Path:
    """Return a season folder with a name to call it by, where it was told as ``.`` or ``..``."""
    return folder.resolve() if folder.name in ("", "..") else folder


@dataclass(frozen=True, kw_only=True)
class _Sources:
    """The files and sheets in which tables may stand."""

    files: Mapping[str, Path]
    book: Path | None
    sheets: Mapping[str, list[Record]]
    digest: str
    wording: Wording

    @classmethod
    def of(cls, files: Mapping[str, Path], wording: Wording) -> _Sources:
        book = _workbook(files)
        return cls(
            files=files,
            book=book,
            sheets={} if book is None else read_sheets(book),
            digest=""
            if book is None
            else hashlib.sha256(content_of(book, most=MOST_BYTES)).hexdigest(),
            wording=wording,
        )

    def named(self, name: str) -> tuple[Path | None, list[Record]]:
        """Return the file and the sheet of a table of ours: the one boat.toml names, or its own."""
        place = self.wording.tables.get(name)
        if place is None:
            return self.files.get(f"{name}.csv"), self.sheets.get(name, [])
        file = self.files.get(place.casefold())
        if file is not None and file != self.book:
            return file, []
        rows = self.sheets.get(" ".join(place.casefold().split()), [])
        if not rows:
            msg = f"there is no file and no sheet {place} here"
            remedy = f"correct {name} under [tables] in boat.toml"
            toml = self.files["boat.toml"]
            raise LogError(msg, file=toml, key=f"tables.{name}", value=place, remedy=remedy)
        return None, rows

    def read(self, name: str, wanted: Wanted, file: Path | None, rows: list[Record]) -> TextTable:
        """Read one table from its file or its sheet."""
        if file is not None or self.book is None:
            encoding, delimiter = map(self.wording.reading.get, ("encoding", "delimiter"))
            assert file is not None
            return read_table(file, name, wanted, encoding=encoding, delimiter=delimiter)
        return table_of(rows, name, wanted, file=self.book, sha256=self.digest, sheet=True)


def within_folder(folder: Path | None) -> dict[str, Path]:
    """Return the files of a folder beside the tables, by lower-case name; hidden ones left out."""
    if folder is None or not folder.is_dir():
        return {}
    files = [path for path in files_within(folder) if not path.name.startswith((".", "~$"))]
    for path in files:
        refuse_link_out(path, folder.parent)
    return {path.name.casefold(): path for path in files}


def wanted_of(
    name: str, wording: Wording, *, least: bool = True, untold: Collection[str] = ()
) -> Wanted:
    """Return what a table should have; where `least` is false, no column is required.

    Columns of `untold` are told by something else.
    """
    made = {group for of in wording.patterns.get(name, {}).values() for group in of.groupindex}
    if name in wording.wide:
        # marks in a grid may stand beside a trip alone: such strikes are set aside one by one
        made |= wording.wide[name].made | ({"time"} if name == "strikes" else set())
    return Wanted(
        known=[field.name for field in TABLES[name]],
        required=[field.name for field in TABLES[name] if field.column_needed and least],
        renames=wording.columns.get(name, {}),
        generous=wording.reads("headings"),
        made=made | set(untold),
        rods=list(wording.wide[name].rods) if name in wording.wide else (),
    )


def read_tables(
    folder: Path, files: dict[str, Path], wording: Wording, untold: Collection[str] = ()
) -> dict[str, TextTable]:
    """Read every table of the folder as text, from its CSV or its sheet of the workbook.

    Columns of trips in `untold` may be absent.
    """
    sources = _Sources.of(files, wording)
    book = sources.book
    tables = _told_apart(sources)
    for name in TABLES:
        if name in tables:
            continue
        file, rows = sources.named(name)
        # a sheet that was made and never filled is no table, a required one an empty table
        filled = any(not is_example(cells) for _, _, cells in rows[0 if name in REQUIRED else 1 :])
        if file is not None and filled and book is not None:
            msg = f"the table {name} stands in {file.name} and in {book.name}"
            remedy = "bring the rows together in one of them, and empty the other"
            raise LogError(msg, file=folder, remedy=remedy)
        if file is not None or filled:
            wanted = wanted_of(name, wording, untold=untold if name == "trips" else ())
            tables[name] = sources.read(name, wanted, file, rows)
    marked = "changes" in tables and "changes" in wording.wide
    for name in REQUIRED:
        if name == "strikes" and marked and wording.wide["changes"].tells_strikes:
            continue
        if name not in tables:
            msg = f"this season folder has no {name}.csv"
            remedy = f"add {name}.csv with its header row"
            if book is not None:
                msg += f", and {book.name} has no sheet {name}"
                remedy = f"name the sheet of the {name} {name}, with the headings in its first row"
            raise LogError(msg, file=folder, remedy=remedy)
    return tables


def _told_apart(sources: _Sources) -> dict[str, TextTable]:
    """Read the tables that stand in one, a column of which tells the kinds of rows apart."""
    place, kind = map(sources.wording.tables.get, (ALL, KIND))
    if place is None or kind is None:
        return {}
    file, rows = sources.named(ALL)
    digest, notes = sources.digest, list[str]()
    if file is not None:
        content = content_of(file, most=LARGE_BYTES)
        digest = hashlib.sha256(content).hexdigest()
        headings = Wanted(known=[kind.casefold()], renames={})
        encoding, delimiter = map(sources.wording.reading.get, ("encoding", "delimiter"))
        rows, notes = split_file(content, file, headings, encoding=encoding, delimiter=delimiter)
    where = file or sources.book
    assert where is not None
    return split_kinds(
        rows,
        kind,
        sources.wording.values.get("table", {}),
        lambda name: wanted_of(name, sources.wording),
        file=where,
        sha256=digest,
        sheet=file is None,
        notes=notes,
    )
