"""Owns how a CSV for others is written: a spreadsheet opens it rightly, and runs nothing of it.

A spreadsheet takes a cell that begins with ``=`` for a formula, and text without a byte order mark
for the letters of its country. A log may hold anything that was typed, or was sent by somebody.
The characters are those of OWASP, "CSV Injection" (https://owasp.org/www-community/attacks/
CSV_Injection). A log's own tables are not written here: they keep what was typed.
"""

import csv
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TextIO

import pandas as pd

ENCODING = "utf-8-sig"
"""Of every CSV for others: the mark tells a spreadsheet that an en dash is one character."""
MARK = "'"
"""Before a text that a spreadsheet would run; of a text that has it there already, one more."""

_LINE_END = "\r\n"
"""Of RFC 4180; beside another one a lone carriage return is not quoted, and ends the row."""
_RISKY = r"'*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]"
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_TO_MARK = re.compile(rf"(?!{_NUMBER}\Z){_RISKY}", re.ASCII)
_MARKED = re.compile(MARK + _RISKY)


def harmless(text: str) -> str:
    """Return a text that no spreadsheet runs; a number stays one.

    Examples
    --------
    >>> [harmless(text) for text in ("=1+1", "-2.5", "-x", "'=1", "spoon")]
    ["'=1+1", '-2.5', "'-x", "''=1", 'spoon']
    """
    return MARK + text if _TO_MARK.match(text) else text


def true_text(text: str) -> str:
    """Return the text that `harmless` was given.

    Examples
    --------
    >>> [true_text(harmless(text)) for text in ("=1+1", "-2.5", "'=1", "'spoon'")]
    ['=1+1', '-2.5', "'=1", "'spoon'"]
    """
    return text.removeprefix(MARK) if _MARKED.match(text) else text


def write_csv(frame: pd.DataFrame, file: Path) -> None:
    """Write a frame as a CSV for others.

    Parameters
    ----------
    frame : pandas.DataFrame
        Its index is left out.
    file : pathlib.Path
    """
    safe = frame.set_axis([harmless(str(column)) for column in frame], axis=1)
    for at in _may_hold_text(frame):
        safe.isetitem(at, [_harmless_cell(cell) for cell in frame.iloc[:, at]])
    safe.to_csv(file, index=False, encoding=ENCODING, lineterminator=_LINE_END)


class CsvRows:
    """Rows of a CSV for others, written one after another.

    Parameters
    ----------
    sink : text file
        Opened with `ENCODING` and ``newline=""``.
    line_end : str
        What ends each row of it.
    """

    def __init__(self, sink: TextIO, line_end: str) -> None:
        self._sink = sink
        self._line_end = line_end
        self._writer = csv.writer(self, lineterminator=_LINE_END)

    def write(self, row: str) -> None:
        """Take a row as the CSV writer made it."""
        self._sink.write(row.removesuffix(_LINE_END) + self._line_end)

    def writerow(self, cells: Iterable[str]) -> None:
        """Write one row of texts."""
        self._writer.writerow([harmless(cell) for cell in cells])


def read_csv(file: Path, text_columns: Iterable[str]) -> pd.DataFrame:
    """Read what `write_csv` wrote; an empty text is a text, an empty number is unknown.

    Parameters
    ----------
    file : pathlib.Path
    text_columns : iterable of str
        Columns that hold text; the others are what they look like.
    """
    texts = list(text_columns)
    frame = pd.read_csv(
        file,
        dtype={harmless(column): "str" for column in texts},
        keep_default_na=False,
        na_values=[""],
        encoding=ENCODING,
    ).rename(columns=true_text)
    frame[texts] = frame[texts].fillna("").map(true_text).astype("str")
    return frame


def _harmless_cell(cell: object) -> object:
    """Return a cell that no spreadsheet runs; what is no text stays as it is."""
    return harmless(cell) if isinstance(cell, str) else cell


def _may_hold_text(frame: pd.DataFrame) -> list[int]:
    """Positions of the columns whose cells may be text."""
    return [
        at
        for at, dtype in enumerate(frame.dtypes)
        if pd.api.types.is_string_dtype(dtype)
        or pd.api.types.is_object_dtype(dtype)
        or isinstance(dtype, pd.CategoricalDtype)
    ]
