"""Owns the quick way from a CSV file to text: plain rows by arrow, all others go the slow way."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as arrow_csv

from analysis.errors import LogError
from analysis.log.files.content import LARGE_BYTES
from analysis.log.files.words import worded

_PIECE = 1 << 20
_BLOCK = 1 << 24  # each has its own words, so that small ones hold most words many times
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


def refuse_odd_rows(file: Path, mark_of: Callable[[str], str]) -> None:
    """Refuse a large table that is not plain, before it is read whole.

    Parameters
    ----------
    file : pathlib.Path
    mark_of : callable
        Tells the mark between the columns from the file's beginning.

    Raises
    ------
    LogError
    OSError
    """
    size = file.stat().st_size
    if size <= LARGE_BYTES:
        return
    with file.open("rb") as stream:
        piece = stream.read(_PIECE)
        plain = piece.isascii() and b'"' not in piece
        mark = mark_of(piece.decode("ascii")).encode() if plain else b""
        each = piece[: piece.find(b"\n")].count(mark)
        lines = marks = 0
        while plain and piece:
            lines, marks = lines + piece.count(b"\n"), marks + piece.count(mark)
            last, piece = piece[-1:], stream.read(_PIECE)
            plain = piece.isascii() and b'"' not in piece
    if not plain or marks != (lines + (last != b"\n")) * each:
        raise not_plain(file, size)


def not_plain(file: Path, size: int) -> LogError:
    """Return the refusal of a table that is too large to be read row by row."""
    msg = (
        f"this file holds {size / 1e6:.0f} MB, and its rows are not plain: quotation marks, "
        "letters with marks, or other fields than its header"
    )
    return LogError(msg, file=file, remedy="keep only the rows of the season in it")


def plain_rows(content: bytes, delimiter: str, width: int) -> PlainRows | None:
    """Split what a CSV file holds where each line is a row of as many fields as the header.

    Parameters
    ----------
    content : bytes
        UTF-8, its first line the header.
    delimiter : str
    width : int
        Fields of the header, trailing empty ones left out.

    Returns
    -------
    PlainRows or None
        None where a quotation mark, a lone carriage return, an odd row or a blank line makes it
        another kind of file.
    """
    if b'"' in content or (b"\r" in content and content.count(b"\r") != content.count(b"\r\n")):
        return None
    lines = content.count(b"\n") + (not content.endswith(b"\n"))
    fields = content[: content.find(b"\n")].count(delimiter.encode()) + 1
    # an odd row shows in the sum, long before rows are split and fill the memory
    if content.count(delimiter.encode()) != lines * (fields - 1):
        return None
    names = [str(at) for at in range(fields)]
    try:
        table = arrow_csv.read_csv(
            pa.BufferReader(content),
            read_options=arrow_csv.ReadOptions(skip_rows=1, column_names=names, block_size=_BLOCK),
            parse_options=arrow_csv.ParseOptions(delimiter=delimiter, quote_char=False),
            convert_options=arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, _WORDS), strings_can_be_null=False
            ),
        )
    except pa.ArrowInvalid:
        return None
    if table.num_rows != lines - 1:
        return None
    stripped = [_stripped(column) for column in table.unify_dictionaries().columns]
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
