"""Owns how a text file is written: letters as bytes, the mark between columns, where rows end."""

import codecs
import csv
import io
import unicodedata
from collections import Counter
from collections.abc import Collection
from itertools import islice
from pathlib import Path

from analysis.errors import LogError
from analysis.log.files.headings import FIRST_ROWS
from analysis.log.wording.settings import DELIMITERS

Record = tuple[int, int, list[str]]
"""A row of a table: its first and last line, and its fields."""

_BOMS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF32_LE: "utf-32",
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
_OTHERS = ["cp1252", "latin_1", "utf_16_le", "utf_16_be"]
_NAMES = {"cp1252": "Windows-1252", "latin_1": "Latin-1"}
_SAMPLE_BYTES = 200_000
_SAMPLE_ROWS = 200
_AGREEING = 0.8


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


def text_of(content: bytes, file: Path, encoding: str | None = None) -> tuple[str, str]:
    """Return the text of a file, and its encoding where that had to be worked out.

    UTF-8 is taken where the bytes are UTF-8, and a byte order mark is believed; else it is what
    charset-normalizer finds most like writing among Windows-1252, Latin-1 and UTF-16. Letters
    with marks are composed, so that one name typed on two machines is one name.

    Parameters
    ----------
    content : bytes
        What the file holds.
    file : pathlib.Path
        Its name, for errors.
    encoding : str, optional
        What boat.toml says it is.

    Returns
    -------
    text : str
    encoding : str
        Empty for UTF-8.

    Raises
    ------
    LogError
        Where the bytes are no text of these encodings.
    """
    marked = next((name for bom, name in _BOMS.items() if content.startswith(bom)), None)
    found = encoding or marked or _guess(content)
    try:
        text = content.decode(found or "utf-8")
    except (UnicodeError, LookupError) as error:
        at = error.start if isinstance(error, UnicodeDecodeError) else 0
        line = content[:at].count(b"\n") + 1
        msg = f"this file is not {_said(found or 'utf-8')} text"
        remedy = 'save it again as UTF-8, or write encoding = "..." under [reading] in boat.toml'
        raise LogError(msg, file=file, row=line, remedy=remedy) from error
    if "\0" in text:
        msg = "this file is not text: it holds bytes that no text has"
        raise LogError(msg, file=file, remedy="save it again as CSV (UTF-8)")
    told = "" if found in (None, "utf-8-sig") else _said(str(found))
    return unicodedata.normalize("NFC", text.removeprefix("\ufeff")), told


def _guess(content: bytes) -> str | None:
    """Return the encoding of bytes without a byte order mark; None for UTF-8 or none at all."""
    if b"\0" not in content:
        try:
            content.decode("utf-8")
        except UnicodeDecodeError:
            pass
        else:
            return None
    else:
        return _of_pairs(content)
    from charset_normalizer import from_bytes  # for the few files that are not UTF-8

    best = from_bytes(content[:_SAMPLE_BYTES], cp_isolation=_OTHERS).best()
    return "cp1252" if best is None else str(best.encoding)


def _of_pairs(content: bytes) -> str | None:
    """Return which UTF-16 it is by the place of its zero bytes: most letters of a log are Latin."""
    even, odd = content[0::2].count(0), content[1::2].count(0)
    if len(content) % 2 or max(even, odd) < len(content) / 4 or min(even, odd) > 0:
        return None
    return "utf_16_le" if odd > even else "utf_16_be"


def _said(encoding: str) -> str:
    return _NAMES.get(encoding, encoding.upper().replace("_", "-"))


def delimiter_of(text: str, known: Collection[str], file: Path) -> str:
    """Return the mark between the columns of a CSV text.

    It is the one that splits the header into most headings we know; where we know none, the one
    that splits the rows into as many fields as the header.

    Parameters
    ----------
    text : str
        The file's text.
    known : collection of str
        Headings we know, in small letters.
    file : pathlib.Path
        Its name, for errors.

    Raises
    ------
    LogError
        Where two marks fit equally well.
    """
    found: dict[str, tuple[int, float, int]] = {}
    for delimiter in DELIMITERS:
        if delimiter not in text:
            continue
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        try:
            rows = [row for row in islice(reader, _SAMPLE_ROWS) if any(map(str.strip, row))]
        except csv.Error:
            continue
        if not rows:
            continue
        usual = Counter(map(len, rows)).most_common(1)[0][0]
        # titles and notes may stand above the header
        hits, _, width = max(
            (sum(cell.strip().casefold() in known for cell in row), len(row) == usual, len(row))
            for row in rows[:FIRST_ROWS]
        )
        if width > 1:
            agreeing = sum(len(row) == width for row in rows) / len(rows)
            found[delimiter] = (hits, float(agreeing >= _AGREEING), width)
    if not found:
        return ","
    best = max(found.values())
    likely = [delimiter for delimiter, score in found.items() if score == best]
    if len(likely) > 1:
        shown = " or ".join(DELIMITERS[delimiter] for delimiter in likely)
        msg = f"the columns may be separated by {shown}"
        remedy = f'write delimiter = "{likely[0]}" under [reading] in boat.toml, or the other'
        raise LogError(msg, file=file, row=1, value=text.split("\n", 1)[0][:60], remedy=remedy)
    return likely[0]


def records_of(text: str, file: Path, delimiter: str) -> list[Record]:
    """Split CSV text into (first line, last line, fields); blank rows are no records."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
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
        _refuse_long_cell(text, reader.line_num, file, delimiter)
        msg = f"this row cannot be read as CSV ({error})"
        remedy = "look for a quotation mark without its partner on this line"
        raise LogError(msg, file=file, row=first, remedy=remedy) from error
    if records and records[-1][1] > records[-1][0]:
        _refuse_open_quote(text, records[-1][0], file, delimiter)
    return records


def _refuse_long_cell(text: str, row: int, file: Path, delimiter: str) -> None:
    """Refuse a line with a cell beyond what is read; one that runs over lines is another fault."""
    longest = csv.field_size_limit()
    line = io.StringIO(text, newline="").readlines()[row - 1]
    if max(map(len, line.split(delimiter))) > longest:
        msg = f"a cell of this row is longer than {longest} characters"
        raise LogError(msg, file=file, row=row, remedy="shorten it, or move the text elsewhere")


def _refuse_open_quote(text: str, first: int, file: Path, delimiter: str) -> None:
    """Refuse a quotation mark that opens on line `first` and swallows the rest of the file."""
    tail = "".join(io.StringIO(text, newline="").readlines()[first - 1 :])
    try:
        list(csv.reader(io.StringIO(tail, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        msg = "a quotation mark opens in this row and never closes"
        remedy = "close it, or double a quotation mark that is part of the text"
        raise LogError(msg, file=file, row=first, remedy=remedy) from error
