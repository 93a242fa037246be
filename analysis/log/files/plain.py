"""Owns the quick way from a CSV file to text: plain rows by arrow, all others go the slow way."""

import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as arrow_csv

from analysis.at_once import LONG
from analysis.errors import LogError
from analysis.log.files.content import LARGE_BYTES, refuse_holes
from analysis.log.files.words import worded

_PIECE = 1 << 20
_BLOCK = 1 << 22  # each has its own words, so that small ones hold most words many times
_WORDS = pa.dictionary(pa.int32(), pa.string())


@dataclass(frozen=True, kw_only=True)
class PlainRows:
    """The rows below a header.

    Parameters
    ----------
    columns : list of pandas.Categorical
        Stripped text, each distinct word once, in order of appearance.
    line : numpy.ndarray of int
        Line of the file of each row; blank rows are none.
    """

    columns: list[pd.Categorical]
    line: npt.NDArray[np.int64]

    def only(self, kept: npt.NDArray[np.bool_]) -> "PlainRows":
        """Return some of the rows, with their words alone."""
        columns = []
        for column in self.columns:
            codes, used = pd.factorize(column.codes[kept])
            columns.append(pd.Categorical.from_codes(codes, categories=column.categories[used]))
        return PlainRows(columns=columns, line=self.line[kept])


@dataclass(frozen=True, kw_only=True)
class Survey:
    """What is known of a plain file that was looked through and not kept.

    Parameters
    ----------
    lines : int
    fields : int
        Of each line.
    sha256 : str
    """

    lines: int
    fields: int
    sha256: str


def surveyed(file: Path, delimiter: str, fields: int) -> Survey | None:
    """Look through a file piece by piece: an odd one is known long before its rows fill the memory.

    Parameters
    ----------
    file : pathlib.Path
    delimiter : str
    fields : int
        Of its header.

    Returns
    -------
    Survey or None
        None where a quotation mark, a letter with marks, a zero byte, a lone carriage return or
        the number of fields makes it another kind of file.

    Raises
    ------
    OSError
    """
    digest, last = hashlib.sha256(), b""
    line = delimiter.encode() * (fields - 1) + b"\n"
    others = bytes(letter for letter in range(256) if letter not in line)
    lines = lone = 0
    marks = b""
    # a hash lets go of Python's lock: the next piece is looked through meanwhile
    with file.open("rb") as stream, ThreadPoolExecutor(1) as beside:
        hashed = beside.submit(digest.update, b"")
        while piece := stream.read(_PIECE):
            if not piece.isascii() or b'"' in piece or b"\0" in piece:
                return None
            if b"\r" in piece or last == b"\r":
                lone += piece.count(b"\r") - piece.count(b"\r\n")
                lone -= last == b"\r" and piece.startswith(b"\n")
            # without all else, each line leaves the same
            marks += piece.translate(None, delete=others)
            whole = len(marks) // fields
            if marks[: whole * fields] != line * whole:
                return None
            lines, marks = lines + whole, marks[whole * fields :]
            hashed.result()
            hashed = beside.submit(digest.update, piece)
            last = piece[-1:]
    if last != b"\n":
        lines, marks = lines + 1, (marks + b"\n").removeprefix(line)
    if lone or marks:
        return None
    return Survey(lines=lines, fields=fields, sha256=digest.hexdigest())


def refuse_large(file: Path) -> None:
    """Refuse a large table that is not plain, before it is read whole.

    Raises
    ------
    LogError
    OSError
    """
    refuse_holes(file)
    size = file.stat().st_size
    if size > LARGE_BYTES:
        raise _not_plain(file, size)


def _not_plain(file: Path, size: int) -> LogError:
    """Return the refusal of a table that is too large to be read row by row."""
    msg = (
        f"this file holds {size / 1e6:.0f} MB, and its rows are not plain: quotation marks, "
        "letters with marks, or other fields than its header"
    )
    return LogError(msg, file=file, remedy="keep only the rows of the season in it")


def plain_rows(file: Path, delimiter: str, width: int, known: Survey) -> PlainRows | None:
    """Split a plain CSV file where each line is a row of as many fields as the header.

    Parameters
    ----------
    file : pathlib.Path
        Its first line the header.
    delimiter : str
    width : int
        Fields of the header, trailing empty ones left out.
    known : Survey
        Of the file.

    Returns
    -------
    PlainRows or None
        None where an odd row or a blank line makes it another kind of file.

    Raises
    ------
    OSError
    """
    names = [str(at) for at in range(known.fields)]
    try:
        table = arrow_csv.read_csv(
            file,
            read_options=arrow_csv.ReadOptions(
                skip_rows=1,
                column_names=names,
                block_size=_BLOCK,
                use_threads=known.lines >= LONG,  # the words of a column stay in order of rows
            ),
            parse_options=arrow_csv.ParseOptions(delimiter=delimiter, quote_char=False),
            convert_options=arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, _WORDS), strings_can_be_null=False
            ),
        ).unify_dictionaries()
    except pa.ArrowInvalid:
        return None
    if table.num_rows != known.lines - 1:
        return None
    stripped = [_stripped(column) for column in table.columns]
    if any(set(column.categories) - {""} for column in stripped[width:]):
        return None
    blank = np.ones(table.num_rows, dtype=bool)
    for column in stripped[:width]:
        blank &= column == ""
        if not blank.any():
            break
    rows = PlainRows(columns=stripped[:width], line=np.arange(2, table.num_rows + 2))
    return rows.only(~blank) if blank.any() else rows


def _stripped(column: pa.ChunkedArray) -> pd.Categorical:
    """Return a column without the blanks around its words."""
    if not column.num_chunks:
        return worded([])
    chunks = column.chunks
    codes = np.concatenate([chunk.indices.to_numpy() for chunk in chunks])
    once = worded(pc.utf8_trim_whitespace(chunks[0].dictionary))
    return pd.Categorical.from_codes(once.codes[codes], categories=once.categories)
