"""Owns the way from a CSV file to text: every row keeps the line of the file it stands on."""

import csv
import difflib
import hashlib
import io
import stat
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.errors import LogError

_DELIMITERS = {";": "semicolons", "\t": "tabs", "|": "vertical bars"}
Record = tuple[int, int, list[str]]
"""A row of a table: its first and last line, and its fields."""
EXAMPLE = "example"
"""In the first column of a row that shows how to write one: the row is never read."""
_SAVE_AS_CSV = "save it again as CSV with commas between the columns (UTF-8)"


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
        file's line on which the row begins.
    malformed : pandas.DataFrame
        Rows that could not be split into the header's columns: ``line, value, reason``.
    sha256 : str
        Hash of the file.
    notes : list of str
        What was found in the header that costs no row.
    """

    name: str
    file: Path
    frame: pd.DataFrame
    malformed: pd.DataFrame
    sha256: str
    notes: list[str]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, or None when none is much like it."""
    by_folded = {k.casefold(): k for k in known}
    found = difflib.get_close_matches(word.casefold(), list(by_folded), n=1, cutoff=0.6)
    return by_folded[found[0]] if found else None


def same_name(name: str) -> str:
    """Return what two spellings of one name share: capitals and the width of spaces do not matter.

    Examples
    --------
    >>> same_name("Blue  Heron") == same_name("blue heron")
    True
    """
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def refuse_odd_file(file: Path) -> None:
    """Refuse what is no ordinary file: to read it might never end.

    Raises
    ------
    LogError
        For a folder, a pipe or a device.
    OSError
        Where there is no such file, or it may not be looked at.
    """
    if not stat.S_ISREG(file.stat().st_mode):
        msg = "this file cannot be read (it is a folder, a pipe or a device)"
        raise LogError(msg, file=file, remedy="put an ordinary file in its place")


def content_of(file: Path, remedy: str = "check that it is a file you may read") -> bytes:
    """Return what a file holds.

    Raises
    ------
    LogError
        For a file that cannot be read, or is none.
    """
    try:
        refuse_odd_file(file)
        return file.read_bytes()
    except OSError as error:
        msg = f"this file cannot be read ({error.strerror})"
        raise LogError(msg, file=file, remedy=remedy) from error


def decode(content: bytes, file: Path) -> str:
    """Return the text of a file that must be UTF-8, with or without a byte order mark.

    Letters with marks are composed, so that one name typed on two machines is one name.

    Raises
    ------
    LogError
        Naming the line of the first byte that is not UTF-8.
    """
    try:
        return unicodedata.normalize("NFC", content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        shown = content[error.start : error.start + 1].hex()
        msg = f"this file is not UTF-8 text: it has the byte 0x{shown}"
        raise LogError(msg, file=file, row=line, remedy="save it again as UTF-8") from error


def _records(text: str, file: Path) -> list[Record]:
    """Split CSV text into (first line, last line, fields); blank rows are no records."""
    reader = csv.reader(io.StringIO(text, newline=""))
    records = []
    first = 1
    try:
        for fields in reader:
            last = reader.line_num
            stripped = [field.strip() for field in fields]
            if any(stripped):
                records.append((first, last, stripped))
            first = last + 1
    except csv.Error as error:
        _refuse_long_cell(text, reader.line_num, file)
        msg = f"this row cannot be read as CSV ({error})"
        remedy = "look for a quotation mark without its partner on this line"
        raise LogError(msg, file=file, row=first, remedy=remedy) from error
    if records and records[-1][1] > records[-1][0]:
        _refuse_open_quote(text, records[-1][0], file)
    return records


def _refuse_long_cell(text: str, row: int, file: Path) -> None:
    """Refuse a line with a cell beyond what is read; one that runs over lines is another fault."""
    longest = csv.field_size_limit()
    line = io.StringIO(text, newline="").readlines()[row - 1]
    if max(map(len, line.split(","))) > longest:
        msg = f"a cell of this row is longer than {longest} characters"
        raise LogError(msg, file=file, row=row, remedy="shorten it, or move the text elsewhere")


def _refuse_open_quote(text: str, first: int, file: Path) -> None:
    """Refuse a quotation mark that opens on line `first` and swallows the rest of the file."""
    tail = "".join(io.StringIO(text, newline="").readlines()[first - 1 :])
    try:
        list(csv.reader(io.StringIO(tail, newline=""), strict=True))
    except csv.Error as error:
        msg = "a quotation mark opens in this row and never closes"
        remedy = "close it, or double a quotation mark that is part of the text"
        raise LogError(msg, file=file, row=first, remedy=remedy) from error


def _refuse_other_delimiter(header: list[str], known: Collection[str], file: Path) -> None:
    """Refuse a header that only makes sense when split at something else than commas."""
    joined = ",".join(header)
    if any(name.casefold() in known for name in header):
        return
    for delimiter, word in _DELIMITERS.items():
        names = [part.strip().strip('"').casefold() for part in joined.split(delimiter)]
        if len(names) > 1 and (len(header) == 1 or any(name in known for name in names)):
            msg = f"the columns are separated by {word}, not by commas"
            raise LogError(msg, file=file, row=1, value=joined[:60], remedy=_SAVE_AS_CSV)


def _headings(
    header: list[str], known: Collection[str], renames: Mapping[str, str], file: Path, row: int
) -> list[str]:
    """Give each heading our name, keep the others, and refuse two of one known name."""
    ours = {heading.casefold(): name for heading, name in renames.items()}
    names: dict[str, None] = {}
    for number, heading in enumerate(header, start=1):
        folded = heading.casefold()
        name = ours.get(folded, folded if folded in known else heading)
        if name in known and name in names:
            msg = "two columns have this name"
            remedy = "rename or delete one, or correct [columns] in boat.toml"
            raise LogError(msg, file=file, row=row, column=name, remedy=remedy)
        name = name or f"column {number}"
        while name in names:
            name += " again"
        names[name] = None
    return list(names)


def _require(
    names: list[str],
    known: Collection[str],
    required: Iterable[str],
    table: str,
    file: Path,
    row: int,
) -> None:
    """Refuse a table that lacks a column nothing can be said without."""
    others = [name for name in names if name not in known]
    for column in required:
        if column in names:
            continue
        like = nearest(column, others)
        meant = f'if "{like}" is meant, ' if like else "if it has another heading, "
        shown = like or "your heading"
        remedy = f'add it; {meant}write "{shown}" = "{column}" under [columns.{table}] in boat.toml'
        msg = "this column is missing"
        raise LogError(msg, file=file, row=row, column=column, remedy=remedy)


def read_table(
    file: Path,
    name: str,
    *,
    known: Collection[str],
    required: Collection[str],
    renames: Mapping[str, str],
) -> TextTable:
    """Read one CSV table as text.

    Parameters
    ----------
    file : pathlib.Path
        The file to read.
    name : str
        The table's name.
    known : collection of str
        Our column names of this table.
    required : collection of str
        Those without which the table is of no use.
    renames : mapping
        The boat's own headings -> ours.

    Returns
    -------
    TextTable
        Every row that has as many fields as the header (trailing empty ones do not count), and
        a list of the others.

    Raises
    ------
    LogError
        When the file is unreadable, not UTF-8, empty, not separated by commas, has two columns
        of one known name or lacks a required one.
    """
    content = content_of(file)
    records = _records(decode(content, file), file)
    if records:
        wanted = {heading.casefold() for heading in renames} | set(known)
        _refuse_other_delimiter(records[0][2], wanted, file)
    return table_of(
        records,
        name,
        file=file,
        sha256=hashlib.sha256(content).hexdigest(),
        known=known,
        required=required,
        renames=renames,
    )


def is_example(fields: list[str]) -> bool:
    """Whether a row only shows how to write one."""
    return fields[0].casefold() == EXAMPLE


def table_of(
    records: list[Record],
    name: str,
    *,
    file: Path,
    sha256: str,
    known: Collection[str],
    required: Collection[str],
    renames: Mapping[str, str],
    sheet: bool = False,
) -> TextTable:
    """Make a table of its rows, the first of which is the header; see `read_table`.

    Parameters
    ----------
    records : list of Record
        Blank rows left out.
    name : str
        The table's name.
    file : pathlib.Path
        Where it was read.
    sha256 : str
        Hash of the file.
    known, required, renames
        See `read_table`.
    sheet : bool
        Whether it is the sheet of that name in a workbook.
    """
    place = Path(f"{file}, sheet {name}") if sheet else file
    if not records:
        remedy = f"write a header row ({', '.join(required)}, ...) or remove the table"
        msg = "this table is empty: it has no header row"
        raise LogError(msg, file=place, remedy=remedy)
    row, _, header = records[0]
    header = list(header)
    while not header[-1]:
        header.pop()
    names = _headings(header, known, renames, place, row)
    _require(names, known, required, name, place, row)
    present = {heading.casefold() for heading in header}
    notes = [
        f'{place.name}: [columns.{name}] in boat.toml renames "{heading}", which is not there'
        for heading in renames
        if heading.casefold() not in present
    ]
    good, malformed = [], []
    for first, last, fields in records[1:]:
        if is_example(fields):
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
        notes=notes,
    )


def _safe(name: str) -> str:
    """Keep an extra column called line apart from the line of the file."""
    return "line as written" if name == "line" else name


def _miscount(first: int, last: int, fields: list[str], names: list[str]) -> str:
    """Say how many fields a row has and how many it should have."""
    where = f" (the row runs from line {first} to {last})" if last > first else ""
    return f"the row has {len(fields)} fields, the header has {len(names)}{where}"
