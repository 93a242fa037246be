"""Owns the way from a table with one column a rod to one row a filled cell, as our tables have it.

A row is then what a cell says of its rod: every filled cell is read, and kept or set aside. Only a
mark that says nothing is no row; how many there are is told.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.errors import LogError
from analysis.labels import count, listing
from analysis.log.files.tables import Reading, TextTable
from analysis.log.files.words import plain
from analysis.log.schema import OUTCOMES, WHATS
from analysis.log.wording.patterns import split_words
from analysis.log.wording.settings import Wording
from analysis.log.wording.spelling import same_name
from analysis.log.wording.unit_words import heading_unit
from analysis.log.wording.wide import CELL, NOTHING, STRUCK, UNDER, Wide

_MOST_DIGITS = 2
_UNREAD = "it is no mark that boat.toml knows, and does not fit the cells of its rods"
_NO_TIME = "the strike has no time: what its rod fished then is not known"
_ONE_TIME = "several strikes of one rod at one time: when each was is not known"
_ONE_ROW = "write a row for each strike, with its time"


@dataclass(kw_only=True)
class _Long:
    """Rows that come of one table: columns of each, and why some cannot be used."""

    rows: list[dict[str, Any]] = field(default_factory=list)
    doubts: dict[int, tuple[str, str]] = field(default_factory=dict)

    def add(self, row: dict[str, Any], why: str = "", remedy: str = "") -> None:
        if why:
            self.doubts[len(self.rows)] = (why, remedy)
        self.rows.append(row)

    def table(self, name: str, of: TextTable, own: list[str]) -> TextTable:
        """Return the rows as a table; `own` are columns that it has, be they filled or not."""
        made = dict.fromkeys([*own, *(column for row in self.rows for column in row)])
        text = {
            column: pd.array([row.get(column, "") for row in self.rows], dtype="str")
            for column in made
            if column != "line"
        }
        line = np.array([row["line"] for row in self.rows], dtype=np.int64)
        frame = pd.DataFrame({"line": line, **text})
        bad = np.isin(np.arange(len(frame)), list(self.doubts))
        told = np.full((2, len(frame)), "", dtype=object)
        for at, pair in self.doubts.items():
            told[:, at] = pair
        doubts = Reading(column=CELL, rows=bad, reason=told[0], remedy=told[1], doubtful=True)
        return replace(
            of,
            name=name,
            frame=frame,
            readings=(doubts,) if bad.any() else (),
        )


def unfold(
    tables: Mapping[str, TextTable], wording: Wording
) -> tuple[dict[str, TextTable], list[str]]:
    """Turn every table that `[wide]` speaks of into one row a filled cell.

    Parameters
    ----------
    tables : mapping
        Name -> table as the files have it.
    wording : analysis.log.wording.settings.Wording

    Returns
    -------
    tables : dict
        The same, the wide ones long; strikes too where marks in changes tell them.
    notes : list of str
        How many cells were read as what.

    Raises
    ------
    LogError
        Where a rod has no column, or strikes are told twice.
    """
    found = dict(tables)
    notes: list[str] = []
    for name, wide in wording.wide.items():
        if name not in tables:
            continue
        long, strikes, note = _unfold(tables[name], wide)
        found[name] = long
        notes.append(note)
        if name == "changes" and wide.tells_strikes:
            if "strikes" in tables:
                msg = f"strikes are marked here, and {tables['strikes'].file.name} tells them too"
                remedy = f'write "{NOTHING}" for the mark under [wide.changes.marks] in boat.toml'
                raise LogError(msg, file=tables[name].place, remedy=remedy)
            found["strikes"] = strikes
    return found, notes


def _unfold(table: TextTable, wide: Wide) -> tuple[TextTable, TextTable, str]:
    """Return the rows that the cells of a table are, the strikes among them, and a note."""
    frame = plain(table.frame)
    rods = _columns_of(table, wide)
    own = [str(column) for column in frame if column not in {"line", *rods}]
    words = {str(word) for column in rods for word in frame[column].unique()} - {""}
    cells = _Cells(table=table.name, wide=wide, parts=_parts(table, wide, words))
    empty = 0
    for row in frame.to_dict("records"):
        kept = {column: row[column] for column in ["line", *own]}
        filled = [(of, row[column]) for column, of in rods.items() if row[column]]
        empty += not filled
        for (heading, rod), word in filled:
            cells.read(kept | {"rod": rod, UNDER: heading, CELL: word}, word)
    headings = {**table.headings, "line_out": _united(table, wide)}
    made = cells.long.table(
        table.name, replace(table, headings=headings), [*own, *sorted(wide.made)]
    )
    of_row = [column for column in own if column in ("trip", "time")]
    alone = replace(table, notes=[], malformed=table.malformed.iloc[:0])
    strikes = cells.strikes.table("strikes", alone, [*of_row, "rod", "outcome"])
    return _timed(made), _timed(strikes), _note(table, cells, empty)


@dataclass(kw_only=True)
class _Cells:
    """The cells of one table, read one after the other."""

    table: str
    wide: Wide
    parts: Mapping[str, Mapping[str, str] | None]
    long: _Long = field(default_factory=_Long)
    strikes: _Long = field(default_factory=_Long)
    silent: int = 0

    def read(self, cell: dict[str, Any], word: str) -> None:
        """Take what one cell says."""
        mark = self.wide.marks.get(same_name(word), "")
        counted = _count(word) if self.table == "strikes" and not mark else None
        if mark == NOTHING or counted == 0:
            self.silent += 1
        elif mark in STRUCK or counted:
            struck = self.long if self.table == "strikes" else self.strikes
            _strike(struck, cell, mark, counted or 1)
        elif mark in WHATS:
            self.long.add(cell | {"what": mark})
        elif (said := self.parts[word]) is None:
            where = f"[wide.{self.table}.marks]"
            self.long.add(cell, _UNREAD, f"correct it, or write what it says under {where}")
        else:
            towed = self.wide.towed.get(cell["rod"], {})
            told = {column: part for column, part in said.items() if part}
            self.long.add(cell | {**towed, **told})


def _parts(
    table: TextTable, wide: Wide, words: Collection[str]
) -> Mapping[str, Mapping[str, str] | None]:
    """Return what each distinct cell says, None where it says nothing that is known."""
    if wide.cell is not None:
        toml = table.place.parent / "boat.toml"
        return split_words(wide.cell, sorted(words), toml, f"wide.{table.name}.cell")
    if table.name == "strikes":
        return dict.fromkeys(words)
    return {word: {"line_out": word} for word in words}


def _columns_of(table: TextTable, wide: Wide) -> dict[str, tuple[str, str]]:
    """Return column of the frame -> heading and label of each rod."""
    named = {heading.casefold(): name for name, heading in table.headings.items()}
    missing = [heading for heading in wide.rods if heading.casefold() not in named]
    if missing:
        msg = "no column has this heading, which boat.toml says is a rod's"
        remedy = f"correct rods under [wide.{table.name}] in boat.toml"
        raise LogError(msg, file=table.place, column=missing[0], remedy=remedy)
    return {named[heading.casefold()]: (heading, rod) for heading, rod in wide.rods.items()}


def _united(table: TextTable, wide: Wide) -> str:
    """Return a heading that names the unit of all rods' line-outs, where theirs do."""
    units = {heading_unit(heading, "length") for heading in wide.rods}
    if len(units) > 1:
        msg = "the headings of its rods name different units, or not all name one"
        remedy = "write the unit behind each number in place of the headings"
        first = next(iter(wide.rods))
        raise LogError(msg, file=table.place, column=first, remedy=remedy)
    return next(iter(wide.rods))


def _count(word: str) -> int | None:
    """Return the number of strikes that a cell counts, None where it counts none."""
    return int(word) if word.isascii() and word.isdecimal() and len(word) <= _MOST_DIGITS else None


def _strike(long: _Long, cell: dict[str, Any], mark: str, number: int) -> None:
    """Add the strikes that a cell marks or counts."""
    outcome = {"outcome": mark} if mark in OUTCOMES else {}
    timed = bool(cell.get("time"))  # of one without a time that is said, and enough
    why = (_ONE_TIME, _ONE_ROW) if number > 1 and timed else ("", "")
    for _ in range(number):
        long.add(cell | outcome, *why)


def _timed(table: TextTable) -> TextTable:
    """Set strikes without a time aside in plain words."""
    if table.name != "strikes":
        return table
    frame = table.frame
    untimed = np.ones(len(frame), dtype=bool)
    if "time" in frame:
        untimed = (frame["time"] == "").to_numpy()
    doubt = Reading(column=CELL, rows=untimed, reason=_NO_TIME, remedy=_ONE_ROW, doubtful=True)
    return replace(table, readings=(*table.readings, doubt)) if untimed.any() else table


def _note(table: TextTable, cells: _Cells, empty: int) -> str:
    """Say how many cells were read as what."""
    counts = (
        (len(cells.long.rows), "row", f" of {table.name}"),
        (len(cells.strikes.rows), "strike", ""),
        (cells.silent, "mark", " of nothing"),
    )
    told = [f"{count(number, one)}{of}" for number, one, of in counts if number]
    note = f"{table.place.name}: its columns of rods hold {listing(told or ['nothing'])}"
    return note + f"; {count(empty, 'row')} with nothing in them" * bool(empty)
