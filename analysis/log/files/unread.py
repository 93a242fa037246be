"""Owns what lies beside the tables and is not read: each file is named, with what to do."""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path

from analysis.log.files.told_names import without_position
from analysis.log.schema import LOGGERS, TABLES

_TRACKS = (".gpx", ".nmea")
_OTHER_TRACKS = (".kml", ".kmz", ".fit", ".tcx")
_FOLDERS = (LOGGERS, "tracks")
_LETTERS = re.compile(r"[^\W\d_]+")
# what systems and spreadsheets leave behind: no person put it there
_LITTER = ("~$", ".")
_LITTER_NAMES = ("thumbs.db", "desktop.ini")
SHEETS = {"A4": "sheet.pdf", "letter": "sheet-letter.pdf"}
"""Pages to print and write on that a new season folder comes with; they hold no log."""


@dataclass(frozen=True, kw_only=True)
class Unread:
    """A file of a season folder that is not read.

    Parameters
    ----------
    name : str
        Its name, a position in it hidden.
    why : str
        What it seems to be.
    remedy : str
        What to do if it holds part of the log.
    """

    name: str
    why: str
    remedy: str


def unread_files(within: Iterable[Path], read: Collection[Path]) -> tuple[Unread, ...]:
    """Name the files of a season folder that are not read.

    Parameters
    ----------
    within : iterable of pathlib.Path
        All that lies in the folder.
    read : collection of pathlib.Path
        Those that were read.

    Returns
    -------
    tuple of Unread
        In the order given; hidden files and what systems leave behind are passed over.
    """
    tables = {path.stem.casefold(): path.name for path in read}
    return tuple(
        _judge(path, tables)
        for path in within
        if path not in read
        and not path.name.startswith(_LITTER)
        and path.name.casefold() not in (*_LITTER_NAMES, *SHEETS.values(), *_FOLDERS)
    )


def idle_loggers(files: Iterable[Path]) -> tuple[Unread, ...]:
    """Name the files of the folder `loggers` that no row of the table names."""
    return tuple(
        Unread(
            name=f"{LOGGERS}/{file.name}",
            why="no row of loggers names it",
            remedy="write in loggers on which trip and rod it hung, and from when to when",
        )
        for file in files
    )


def idle_tracks(files: Iterable[Path]) -> tuple[Unread, ...]:
    """Name the files of the folder `tracks` that are none by their ending."""
    return tuple(
        Unread(
            name=f"tracks/{without_position(file.name)}",
            why="tracks are .gpx, or NMEA 0183 as .nmea, .txt or .log",
            remedy="export the track again as GPX 1.1, or move the file away",
        )
        for file in files
    )


def _judge(path: Path, tables: dict[str, str]) -> Unread:
    """Say what an unread file seems to be."""
    table = _like_table(path.stem)
    if path.suffix.casefold() in _TRACKS:
        why = "it looks like a track, and tracks lie in the folder tracks"
        remedy = "move it into a folder tracks beside the tables"
    elif path.suffix.casefold() in _OTHER_TRACKS:
        why = "it looks like a track in a form that is not read"
        remedy = "export it as GPX 1.1 into a folder tracks beside the tables"
    elif table in tables:
        why = f"{tables[table]} is read instead"
        remedy = f"bring rows that are only here into {tables[table]}, then move this away"
    elif table:
        why = f"it may be the table {table}, which is read from {table}.csv only"
        remedy = f"save it as {table}.csv"
    else:
        why = "no table has this name"
        remedy = "if it holds part of the log, bring it into the table where it belongs"
    return Unread(name=without_position(path.name), why=why, remedy=remedy)


def _like_table(stem: str) -> str:
    """Return the table that a name such as ``Sets - Sheet1`` speaks of; empty for none."""
    for word in _LETTERS.findall(stem.casefold()):
        for table in TABLES:
            if word in (table, table.removesuffix("s")):
                return table
    return ""
