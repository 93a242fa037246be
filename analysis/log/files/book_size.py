"""Owns how many cells a workbook spans, asked before it is read: one far cell fills all memory."""

import re
import zipfile
from collections.abc import Iterator

_FAR_ROW = re.compile(rb"""\br=["'][A-Z]*(\d{5,})""")
_LETTERS = (
    (re.compile(rb"""\br=["'][A-Z]{3}\d"""), 16_384),
    (re.compile(rb"""\br=["'][B-Z][A-Z]\d"""), 702),
    (re.compile(rb"""\br=["'][A-Z]{2}\d"""), 52),
)
"""Letters of an .xlsx cell's column, and the most columns that they may mean."""
_NARROW, _SHORT = 26, 9_999
_TAG = re.compile(rb"<table:(table-row|table-cell|covered-table-cell)\b([^>]*)>")
_TIMES = re.compile(rb"""number-(?:rows|columns)-repeated=["'](\d+)""")


def widest_sheet(packed: zipfile.ZipFile) -> int:
    """Return how many cells the largest sheet of an .xlsx or .ods spans at most, blank ones too.

    Parameters
    ----------
    packed : zipfile.ZipFile
        Of a known and bearable size.
    """
    return max(_spans(packed), default=0)


def _spans(packed: zipfile.ZipFile) -> Iterator[int]:
    for part in packed.namelist():
        if part == "content.xml":
            yield _of_ods(packed.read(part))
        elif part.startswith("xl/worksheets/") and part.endswith(".xml"):
            yield _of_xlsx(packed.read(part))


def _of_xlsx(sheet: bytes) -> int:
    """Rows by columns of a sheet that names each cell; one that names none spans what it holds."""
    rows = max(map(int, _FAR_ROW.findall(sheet)), default=_SHORT)
    return rows * next((most for letters, most in _LETTERS if letters.search(sheet)), _NARROW)


def _of_ods(content: bytes) -> int:
    """Rows by columns up to the last cell that is filled, sheet by sheet; repeated ones count."""
    widest = 0
    for sheet in content.split(b"<table:table ")[1:]:
        row = height = width = column = rows = 0
        for kind, marks in _TAG.findall(sheet):
            told = _TIMES.search(marks)
            times = int(told[1]) if told else 1
            if kind == b"table-row":
                row, rows, column = row + rows, times, 0
                continue
            column += times
            if b"value-type" in marks:
                height, width = row + rows, max(width, column)
        widest = max(widest, height * width)
    return widest
