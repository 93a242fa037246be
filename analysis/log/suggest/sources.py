"""Owns what lies in the folder of an unknown log: every CSV and sheet, as headings and rows."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path

from analysis.errors import LogError
from analysis.log.files.content import LARGE_BYTES, content_of
from analysis.log.files.dialect import Record, delimiter_of, records_of, text_of
from analysis.log.files.folder import files_within
from analysis.log.files.headings import FIRST_ROWS
from analysis.log.files.tables import is_example, is_total, units_below
from analysis.log.files.workbook import WORKBOOKS, read_sheets
from analysis.log.schema import REQUIRED
from analysis.log.suggest.columns import Source, match, match_all, table_of_name
from analysis.log.suggest.content import header_row, labels_of_rods
from analysis.log.suggest.rod_grid import RodGrid, rod_columns, table_of_cells
from analysis.log.wording.spelling import bare

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
    return [_apart(source, found) for source in found]


def _apart(source: Source, every: Sequence[Source]) -> Source:
    """Part the columns that are rods from the others of a source."""
    labels = {
        bare(cell)
        for other in every
        if other is not source
        for at in range(len(other.header))
        if labels_of_rods(other.cells(at))
        for cell in other.cells(at)
    }
    rods = rod_columns(source.header, source.rows, labels)
    if not rods:
        return source
    rest = [at for at in range(len(source.header)) if at not in rods]
    header = [source.header[at] for at in rest]
    units = {n: source.units[at] for n, at in enumerate(rest) if at in source.units}
    rows = [(line, [cells[at] for at in rest]) for line, cells in source.rows]
    of = {
        source.header[at]: [(line, cells[at]) for line, cells in source.rows if cells[at]]
        for at in rods
    }
    clocks = [match(replace(source, header=header, rows=rows), "changes").at("time")]
    cells = [cell for filled in of.values() for _, cell in filled]
    table = table_of_cells(cells, timed=clocks != [None])
    grid = RodGrid(name=source.name, rods=of, table=table)
    return replace(source, header=header, rows=rows, grid=grid, units=units)


def _source(name: str, records: Sequence[Record]) -> list[Source]:
    records = records[header_row([cells for _, _, cells in records[:FIRST_ROWS]]) :]
    if len(records) < 2:
        return []
    header = records[0][2]
    below = units_below(records[1][2])
    units = {at: unit for at, unit in enumerate(below[: len(header)]) if unit}
    rows = [
        (line, (cells + [""] * len(header))[: len(header)])
        for line, _, cells in records[1 + bool(below) :]
        if not is_example(cells) and not is_total(cells)
    ]
    return [Source(name=name, header=header, rows=rows, units=units)] if rows else []


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
        grids = {part.name: part.grid.table for part in parted(source, at) if part.grid}
        # Rods speaks of sets, but with a column a rod they are changes
        told = {
            word: table if table in REQUIRED else grids.get(word, table)
            for word, table in tables.items()
        }
        if all(told.values()) and set(REQUIRED) <= set(told.values()):
            return at, told
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


def _of_rows(grid: RodGrid | None, lines: Collection[int]) -> RodGrid | None:
    """Return what stands under a grid's rods in some rows of its table, None for nothing."""
    if grid is None:
        return None
    of = {
        heading: [(line, cell) for line, cell in cells if line in lines]
        for heading, cells in grid.rods.items()
    }
    return replace(grid, rods=of) if any(of.values()) else None


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
                units={n: source.units[i] for n, i in enumerate(filled) if i in source.units},
                rows=[(line, [cells[i] for i in filled]) for line, cells in rows],
                grid=_of_rows(source.grid, {line for line, _ in rows}),
            )
        )
    return parts
