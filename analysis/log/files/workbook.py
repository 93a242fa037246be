"""Owns the way from a workbook beside boat.toml to rows of text, one list a sheet."""

import unicodedata
import zipfile
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

from python_calamine import CalamineError, CalamineWorkbook

from analysis.errors import LogError
from analysis.log.files.book_size import widest_sheet
from analysis.log.files.content import refuse_odd_file
from analysis.log.files.dialect import Record

WORKBOOKS = (".xlsx", ".ods")
"""Endings of the workbooks that are read."""
MOST_BYTES = 60_000_000
"""A workbook that unpacks to more is refused: no season is as large, and it may be a trap."""
MOST_CELLS = 4_000_000
"""A sheet that spans more is refused: it would fill the memory, be all of them but one blank."""
_MIDNIGHT = datetime.fromisoformat("2000-01-01")
_SAVE_AGAIN = "open it in a spreadsheet and save it again as .xlsx or .ods"


def read_sheets(file: Path) -> dict[str, list[Record]]:
    """Read every sheet of a workbook as text.

    A cell with a date or a time is written as the log writes it, a formula as its value.

    Parameters
    ----------
    file : pathlib.Path
        An ``.xlsx`` or ``.ods`` file.

    Returns
    -------
    dict
        Name of the sheet in small letters -> its rows: line, line, cells; blank rows are none.

    Raises
    ------
    LogError
        For a file that is no workbook, or is far too large.
    """
    try:
        refuse_odd_file(file)
        with zipfile.ZipFile(file) as packed:
            size = sum(part.file_size for part in packed.infolist())
            if size > MOST_BYTES:
                msg = f"this workbook unpacks to {size / 1e6:.0f} MB, and no season is as large"
                raise LogError(msg, file=file, remedy="save only the season's sheets in it")
            spanned = widest_sheet(packed)
        if spanned > MOST_CELLS:
            msg = "a sheet of this workbook reaches too far: a cell far from the others is filled"
            remedy = "delete the rows below the log and the columns right of it"
            raise LogError(msg, file=file, remedy=remedy)
        book = CalamineWorkbook.from_path(str(file))
        return {
            " ".join(name.casefold().split()): _records(
                book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            )
            for name in book.sheet_names
        }
    except OSError as error:
        msg = f"this file cannot be read ({error.strerror})"
        raise LogError(msg, file=file, remedy="check that it is a file you may read") from error
    except (zipfile.BadZipFile, CalamineError, ValueError) as error:
        msg = "this file cannot be read as a workbook"
        raise LogError(msg, file=file, remedy=_SAVE_AGAIN) from error


def _records(rows: Sequence[Sequence[object]]) -> list[Record]:
    """Turn the cells of a sheet into text, without the empty columns at its right."""
    texts = [[cell_text(cell) for cell in row] for row in rows]
    filled = [(number, row) for number, row in enumerate(texts, start=1) if any(row)]
    width = max((i + 1 for _, row in filled for i, cell in enumerate(row) if cell), default=0)
    return [(number, number, row[:width]) for number, row in filled]


def cell_text(value: object) -> str:
    """Return a cell as a log in CSV would have it.

    Examples
    --------
    >>> [cell_text(v) for v in (80.0, 2.5, " P1 ", time(6, 5), date(2026, 7, 4), None)]
    ['80', '2.5', 'P1', '06:05', '2026-07-04', '']
    >>> cell_text(datetime(2026, 7, 4, 5, 29, 59, 999_600)), cell_text(timedelta(hours=6.5))
    ('2026-07-04 05:30', '06:30')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, timedelta):
        return _clock(_MIDNIGHT + value) if value < timedelta(days=1) else str(value)
    if isinstance(value, time):
        return _clock(datetime.combine(_MIDNIGHT, value))
    if isinstance(value, datetime):
        rounded = value + timedelta(microseconds=500_000)
        return f"{rounded.date().isoformat()} {_clock(value)}"
    if isinstance(value, date):
        return value.isoformat()
    return unicodedata.normalize("NFC", str(value)).strip()


def _clock(value: datetime) -> str:
    """Write a time to the second; a spreadsheet keeps it as a fraction of a day."""
    rounded = value + timedelta(microseconds=500_000)
    return rounded.strftime("%H:%M:%S" if rounded.second else "%H:%M")
