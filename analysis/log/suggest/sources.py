"""Owns what lies in the folder of an unknown log: every CSV and sheet, as headings and rows."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path

from analysis.errors import LogError
from analysis.log.files.dialect import delimiter_of, text_of
from analysis.log.files.folder import files_within
from analysis.log.files.headings import FIRST_ROWS
from analysis.log.files.plain import LARGE_BYTES
from analysis.log.files.tables import Record, content_of, is_example, is_total, records_of
from analysis.log.files.workbook import WORKBOOKS, read_sheets
from analysis.log.schema import REQUIRED
from analysis.log.suggest.columns import Source, match_all, table_of_name
from analysis.log.suggest.content import header_row

_TEXTS = (".csv", ".tsv", ".txt")
_MOST_KINDS = 10


def sources_in(folder: Path) -> list[Source]:
    """Return every file and sheet of a folder that may hold a table.

    Raises
    ------
    LogError
        Where there is none, or one cannot be read.
    """
    found = []
    for file in files_within(folder):
        if file.name.startswith(("~$", ".")):
            continue
        if file.suffix.casefold() in _TEXTS:
            text, _ = text_of(content_of(file, most=LARGE_BYTES), file)
            records = records_of(text, file, delimiter_of(text, (), file))
            found += _source(file.name, records)
        elif file.suffix.casefold() in WORKBOOKS:
            for name, records in read_sheets(file).items():
                found += _source(name, records)
    if not found:
        msg = "no CSV and no sheet of a workbook here has a header and a row"
        raise LogError(msg, file=folder, remedy="put the log into it as .csv, .xlsx or .ods")
    return found


def _source(name: str, records: Sequence[Record]) -> list[Source]:
    records = records[header_row([cells for _, _, cells in records[:FIRST_ROWS]]) :]
    if len(records) < 2:
        return []
    header = records[0][2]
    rows = [
        (line, (cells + [""] * len(header))[: len(header)])
        for line, _, cells in records[1:]
        if not is_example(cells) and not is_total(cells)
    ]
    return [Source(name=name, header=header, rows=rows)]


def kinds_column(source: Source) -> tuple[int, dict[str, str]] | None:
    """Return the column that tells the kinds of rows of one table apart, and each word's table.

    It has few words, which speak of our tables or whose rows fill the columns of one, trips and
    strikes among them. None where there is no such column.
    """
    few = {}
    for at in range(len(source.header)):
        words = list(dict.fromkeys(cells[at] for _, cells in source.rows))
        if 2 <= len(words) <= _MOST_KINDS:
            few[at] = {word: table_of_name(word) for word in words}
    for at, tables in few.items():
        if all(tables.values()) and set(REQUIRED) <= set(tables.values()):
            return at, tables
    for at, tables in few.items():
        parts = parted(source, at)
        if "" in tables or any(_alike(one, other) for one, other in combinations(parts, 2)):
            continue
        found = {one.source.name: one.table for one in match_all(parts)}
        if set(found) == set(tables) and set(REQUIRED) <= set(found.values()):
            return at, found
    return None


def _alike(one: Source, other: Source) -> bool:
    """Whether rows of two words fill much the same columns, as those of one kind do."""
    mine, theirs = set(one.header), set(other.header)
    return 2 * len(mine & theirs) > len(mine | theirs)


def parted(source: Source, at: int) -> list[Source]:
    """Part a table by the column that tells its kinds; each has the columns that it fills."""
    parts = []
    for word in dict.fromkeys(cells[at] for _, cells in source.rows):
        rows = [row for row in source.rows if row[1][at] == word]
        filled = [
            i for i in range(len(source.header)) if i != at and any(cells[i] for _, cells in rows)
        ]
        parts.append(
            replace(
                source,
                name=word,
                header=[source.header[i] for i in filled],
                rows=[(line, [cells[i] for i in filled]) for line, cells in rows],
            )
        )
    return parts
