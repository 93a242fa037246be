"""Owns the tables of a log as text: every row keeps the line of the file it stands on."""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.errors import LogError
from analysis.log.files.content import content_of, readable, refuse_too_large
from analysis.log.files.dialect import Record, delimiter_of, records_of, text_of
from analysis.log.files.headings import FIRST_ROWS, Wanted, header_at, our_names, require
from analysis.log.files.plain import plain_rows, refuse_large, surveyed
from analysis.log.wording.settings import DELIMITERS
from analysis.log.wording.unit_words import unit_quantity

EXAMPLE = "example"
"""In the first column of a row that shows how to write one: the row is never read."""
TOTALS = frozenset(
    {"total", "totals", "totalt", "totale", "totaal", "sum", "summe", "summa", "suma", "somme"}
)
"""In the first column of a row that sums up those above it: it is said, and not read."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """Cells of a column that are read in another way than written, or that cannot be.

    Parameters
    ----------
    column : str
        The column.
    rows : numpy.ndarray of bool
        Which rows of the table.
    reason, remedy : str or array of str
        In plain words, one for all or one a row.
    doubtful : bool
        Whether the rows are set aside, for the cell may say two things.
    """

    column: str
    rows: npt.NDArray[np.bool_]
    reason: Any
    remedy: Any
    doubtful: bool = False


@dataclass(frozen=True, kw_only=True)
class TextTable:
    """One table of a log as text.

    Parameters
    ----------
    name : str
        Table name, such as ``strikes``.
    file : pathlib.Path
        Where it was read.
    frame : pandas.DataFrame
        Stripped text, one column a heading (the known ones under our names), and ``line``, the
        file's line on which the row begins. A column of a plain file holds each distinct word
        once (`analysis.log.files.words`).
    malformed : pandas.DataFrame
        Rows that could not be split into the header's columns: ``line, value, reason``.
    sha256 : str
        Hash of the file.
    notes : list of str
        What was found in the header that costs no row.
    headings : mapping
        Column -> its heading in the file.
    sheet : bool
        Whether it is a sheet of a workbook.
    written : pandas.DataFrame or None
        The frame as the file has it, where `frame` has our words for it.
    readings : tuple of Reading
        How the one became the other.
    units : mapping
        Column -> the unit that stands in a row of units below its heading.
    """

    name: str
    file: Path
    frame: pd.DataFrame
    malformed: pd.DataFrame
    sha256: str
    notes: list[str]
    headings: Mapping[str, str] = field(default_factory=dict)
    sheet: bool = False
    written: pd.DataFrame | None = None
    readings: tuple[Reading, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def place(self) -> Path:
        """The file, and the sheet within it."""
        return Path(f"{self.file}, sheet {self.name}") if self.sheet else self.file


PLAIN_FROM = 10_000
"""A file of so many bytes is first tried the quick way."""
_SAMPLE_BYTES = 200_000
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)*")
_MOST_PLAIN_COLUMNS = 100  # quick is quick for many rows, not for many columns
MOST_COLUMNS = 6000
"""A table with more is refused: no log has as many."""


def read_table(
    file: Path, name: str, wanted: Wanted, *, encoding: str | None, delimiter: str | None
) -> TextTable:
    """Read one CSV table as text.

    Parameters
    ----------
    file : pathlib.Path
        The file to read.
    name : str
        The table's name.
    wanted : analysis.log.files.headings.Wanted
        Its columns.
    encoding, delimiter : str or None
        What boat.toml says of them.

    Returns
    -------
    TextTable
        Every row that has as many fields as the header (trailing empty ones do not count), and
        a list of the others.

    Raises
    ------
    LogError
        When the file is unreadable, no text, empty, has two columns of one known name or lacks a
        required one.
    """
    with readable(file):
        refuse_too_large(file)
        plain = None if encoding else _plain_table(file, name, wanted, delimiter)
    if plain is not None:
        return plain
    content = content_of(file, look=refuse_large)
    digest = hashlib.sha256(content).hexdigest()
    records, notes = split_file(content, file, wanted, encoding=encoding, delimiter=delimiter)
    return table_of(records, name, wanted, file=file, sha256=digest, notes=notes)


def _plain_table(file: Path, name: str, wanted: Wanted, delimiter: str | None) -> TextTable | None:
    """Read a table of plain ASCII rows the quick way; None where it is not one."""
    with file.open("rb") as stream:
        start = stream.read(_SAMPLE_BYTES)
    if file.stat().st_size < PLAIN_FROM or not start.isascii():
        return None
    sample = start.rpartition(b"\n")[0].decode("ascii")
    mark = delimiter or delimiter_of(sample, _headings(wanted), file)
    header = sample.partition("\n")[0]
    if not header.strip(mark + " \r") or '"' in header or header.count(mark) > _MOST_PLAIN_COLUMNS:
        return None
    top = [[cell.strip() for cell in line.split(mark)] for line in sample.split("\n", FIRST_ROWS)]
    below = next((row for row in top[1:FIRST_ROWS] if any(row)), [])
    if header_at(top[:FIRST_ROWS], wanted) or units_below(below):
        return None
    known = surveyed(file, mark, header.count(mark) + 1)
    if known is None:
        return None
    head = _head(top[0], name, wanted, file, 1)
    rows = plain_rows(file, mark, len(head.names), known)
    if rows is None:
        return None
    first = rows.columns[0]
    if any(_sums_up(word) for word in first.categories):
        return None
    examples = [word for word in first.categories if is_example([word])]
    if examples:
        rows = rows.only(~first.isin(examples))
    columns = dict(zip(map(_safe, head.names), rows.columns, strict=True))
    return TextTable(
        name=name,
        file=file,
        frame=pd.DataFrame({"line": rows.line, **columns}),
        malformed=pd.DataFrame([], columns=["line", "value", "reason"]),
        sha256=known.sha256,
        notes=[*_marked(file, mark), *head.told],
        headings=dict(zip(head.names, head.header, strict=True)),
    )


def split_file(
    content: bytes, file: Path, wanted: Wanted, *, encoding: str | None, delimiter: str | None
) -> tuple[list[Record], list[str]]:
    """Split what a CSV file holds into rows; say how it is written where it is not as ours."""
    text, told = text_of(content, file, encoding)
    mark = delimiter or delimiter_of(text, _headings(wanted), file)
    notes = [f"{file.name}: read as {told}"] if told else []
    return records_of(text, file, mark), [*notes, *_marked(file, mark)]


def _headings(wanted: Wanted) -> set[str]:
    return {heading.casefold() for heading in wanted.renames} | set(wanted.known)


def _marked(file: Path, mark: str) -> list[str]:
    """Say by what the columns of a file are separated, where it is not by commas."""
    return [] if mark == "," else [f"{file.name}: its columns are separated by {DELIMITERS[mark]}"]


def is_example(fields: list[str]) -> bool:
    """Whether a row only shows how to write one."""
    return fields[0].casefold() == EXAMPLE


def units_below(fields: Sequence[str]) -> list[str]:
    """Return the units of a row below the header that holds nothing else; empty for another row.

    Examples
    --------
    >>> units_below(["", "(ft)", "mph", "-"]), units_below(["1", "ft"]), units_below(["", "-"])
    (['', 'ft', 'mph', ''], [], [])
    """
    words = [field.strip("()[] -–") for field in fields]
    known = [bool(unit_quantity(word)) for word in words if word]
    return words if known and all(known) else []


def is_total(fields: list[str]) -> bool:
    """Whether a row sums up those above it: beside that word it has numbers alone."""
    return _sums_up(fields[0]) and all(not cell or _NUMBER.fullmatch(cell) for cell in fields[1:])


def _sums_up(word: str) -> bool:
    return word.casefold().rstrip(" :") in TOTALS


def _summed(place: Path, lines: Sequence[int]) -> list[str]:
    """Say which rows of totals are not read."""
    several = f"line {', '.join(map(str, lines))}"
    return [f"{place.name}: {several} sums up the rows above, and is not read"] if lines else []


def table_of(
    records: list[Record],
    name: str,
    wanted: Wanted,
    *,
    file: Path,
    sha256: str,
    sheet: bool = False,
    notes: Sequence[str] = (),
) -> TextTable:
    """Make a table of its rows, the first of which is the header; see `read_table`.

    Parameters
    ----------
    records : list of Record
        Blank rows left out.
    name : str
        The table's name.
    wanted : analysis.log.files.headings.Wanted
        Its columns.
    file : pathlib.Path
        Where it was read.
    sha256 : str
        Hash of the file.
    sheet : bool
        Whether it is the sheet of that name in a workbook.
    notes : sequence of str
        What was found in the file.
    """
    place = Path(f"{file}, sheet {name}") if sheet else file
    if not records:
        remedy = f"write a header row ({', '.join(wanted.required)}, ...) or remove the table"
        msg = "this table is empty: it has no header row"
        raise LogError(msg, file=place, remedy=remedy)
    begin = header_at([cells for _, _, cells in records[:FIRST_ROWS]], wanted)
    row, _, header = records[begin]
    head = _head(header, name, wanted, place, row)
    above = [f"{place.name}: its header is line {row}; what stands above is not read"]
    names = head.names
    good, malformed, sums = [], [], []
    below = records[begin + 1 : begin + 2]
    units = units_below(below[0][2]) if below else []
    of_units = [f"{place.name}: line {below[0][0]} has units, and is no row"] if units else []
    for first, last, fields in records[begin + 1 + bool(units) :]:
        if is_example(fields):
            continue
        if is_total(fields):
            sums.append(first)
            continue
        surplus = [field for field in fields[len(names) :] if field]
        if len(fields) >= len(names) and not surplus:
            good.append((first, fields[: len(names)]))
        else:
            malformed.append((first, ",".join(fields), _miscount(first, last, fields, names)))
    frame = pd.DataFrame(
        [fields for _, fields in good], columns=[_safe(n) for n in names], dtype="str"
    )
    frame.insert(0, "line", np.array([line for line, _ in good], dtype=np.int64))
    return TextTable(
        name=name,
        file=file,
        frame=frame,
        malformed=pd.DataFrame(malformed, columns=["line", "value", "reason"]),
        sha256=sha256,
        notes=[*notes, *(above if begin else []), *of_units, *_summed(place, sums), *head.told],
        headings=dict(zip(names, head.header, strict=True)),
        sheet=sheet,
        units={name: unit for name, unit in zip(names, units, strict=False) if unit},
    )


@dataclass(frozen=True, kw_only=True)
class _Head:
    """A header: its cells, our names for them, and what is said of that."""

    header: list[str]
    names: list[str]
    told: list[str]


def _head(cells: list[str], name: str, wanted: Wanted, place: Path, row: int) -> _Head:
    """Read a header that is not blank; see `read_table` for what is refused."""
    header = list(cells)
    while not header[-1]:
        header.pop()
    if len(header) > MOST_COLUMNS:
        msg = f"this table has {len(header)} columns, and no log has as many"
        raise LogError(msg, file=place, row=row, remedy="keep only the columns of the log")
    names = our_names(header, wanted, place, row)
    require(names, wanted, name, place, row)
    present = {heading.casefold() for heading in header}
    told = [
        f'{place.name}: "{heading}" is read as the column {ours}'
        for heading, ours in zip(header, names, strict=True)
        if ours in wanted.known
        and ours != heading.casefold()
        and heading.casefold() not in {own.casefold() for own in wanted.renames}
    ]
    told += [
        f'{place.name}: [columns.{name}] in boat.toml renames "{heading}", which is not there'
        for heading in wanted.renames
        if heading.casefold() not in present
    ]
    return _Head(header=header, names=names, told=told)


def _safe(name: str) -> str:
    """Keep an extra column called line apart from the line of the file."""
    return "line as written" if name == "line" else name


def _miscount(first: int, last: int, fields: list[str], names: list[str]) -> str:
    """Say how many fields a row has and how many it should have."""
    where = f" (the row runs from line {first} to {last})" if last > first else ""
    return f"the row has {len(fields)} fields, the header has {len(names)}{where}"
