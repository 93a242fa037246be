"""Owns the finding of our tables and columns in an unknown log: by heading, then by content."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from functools import cache
from types import MappingProxyType

import numpy as np
from scipy.optimize import linear_sum_assignment

from analysis.log.files.headings import folded
from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date, yearless
from analysis.log.reading.numbers import read_amount, read_plain
from analysis.log.schema import REQUIRED, TABLES, Field
from analysis.log.suggest.content import SAID, by_clock, by_unit, quantity_of, shared_keys
from analysis.log.suggest.lexicon import GEAR_KINDS, HEADINGS, TABLE_WORDS, WORDS
from analysis.log.wording.spelling import bare
from analysis.log.wording.unit_words import split_heading
from analysis.units import UNITS

Row = tuple[int, list[str]]
_SAMPLE = 400
_SURE = 0.5
_NEAR = 0.86
_FITS = 0.8


@dataclass(frozen=True, kw_only=True)
class Source:
    """One file or sheet of an unknown log, or the rows of one kind in it.

    Parameters
    ----------
    name : str
        The file or the sheet.
    header : list of str
        Its headings.
    rows : list of (int, list of str)
        Line and cells, as many as headings.
    """

    name: str
    header: list[str]
    rows: list[Row]

    def cells(self, at: int) -> list[str]:
        """Return what is written in a column."""
        return [cells[at] for _, cells in self.rows if cells[at]]

    def shown(self, at: int, most: int = 3) -> list[str]:
        """Show some of a column's cells, each another, with their lines."""
        seen: dict[str, int] = {}
        for line, cells in self.rows:
            if cells[at]:
                seen.setdefault(cells[at], line)
            if len(seen) == most:
                break
        return [f"line {line}: {cell}" for cell, line in seen.items()]


@dataclass(frozen=True, kw_only=True)
class Match:
    """What the columns of a source are.

    Parameters
    ----------
    table : str
        Our table.
    source : Source
    columns : dict
        Number of the source's column -> our column, and in plain words why.
    score : float
    """

    table: str
    source: Source
    columns: dict[int, tuple[str, str]] = field(default_factory=dict)
    score: float = 0.0

    def at(self, column: str) -> int | None:
        """Return the number of the source's column that is ours."""
        return next((at for at, (name, _) in self.columns.items() if name == column), None)


def table_of_name(name: str) -> str:
    """Return our table that a file's or sheet's name, or a word for a kind of row, speaks of.

    Examples
    --------
    >>> table_of_name("Fangst 2026.csv"), table_of_name("Ausfahrten"), table_of_name("Sheet1")
    ('strikes', 'trips', '')
    """
    tokens = folded(name.rsplit(".", 1)[0] if name.count(".") else name).split("_")
    found = [
        table
        for table, words in TABLE_WORDS.items()
        if {bare(word) for word in words.split()} & set(tokens)
    ]
    exact = [table for table in TABLES if table in tokens]
    found = exact or found
    return found[0] if len(found) == 1 else ""


@cache
def _spellings(column: str) -> tuple[str, ...]:
    own = {folded(word) for word in HEADINGS.get(column, "").split("|") if word}
    return (folded(column), *sorted(own - {folded(column)}))


def heading_score(heading: str, column: str) -> float:
    """Return how much a heading speaks of a column of ours, from 0 to 1."""
    # Time in ends in no inches: the whole heading counts as much as what stands before a unit
    whole, before = folded(heading), folded(split_heading(heading)[0])
    return max(_plain_score(plain, column) for plain in {whole, before})


def _plain_score(plain: str, column: str) -> float:
    own = _spellings(column)
    if plain == own[0]:
        return 1.0
    if plain in own:
        return 0.95
    if not plain:
        return 0.0
    near = max(SequenceMatcher(None, plain, word).ratio() for word in own)
    if near >= _NEAR:
        return 0.9 * near
    tokens = set(plain.split("_"))
    inside = [word for word in own if len(word) > 2 and set(word.split("_")) <= tokens]
    return 0.55 + 0.05 * max((word.count("_") for word in inside), default=0) if inside else 0.0


def known_word(column: str, word: str) -> str:
    """Return our word for one of a choice in any language, empty for none or two."""
    found = [
        ours
        for ours, words in WORDS.get(column, {}).items()
        if bare(word) in {bare(other) for other in words.split("|")}
    ]
    return found[0] if len(found) == 1 else ""


def kind_of_gear(word: str) -> str:
    """Return the kind of gear that a name speaks of, empty for none or two.

    Examples
    --------
    >>> kind_of_gear("Dykker liten"), kind_of_gear("planer")
    ('diver', '')
    """
    plain = " " + folded(word).replace("_", " ") + " "
    found = [
        kind
        for kind, words in GEAR_KINDS.items()
        if any(f" {folded(own).replace('_', ' ')} " in plain for own in words.split("|"))
    ]
    return found[0] if len(found) == 1 else ""


def _share(cells: Sequence[str], fits: object) -> float:
    return sum(bool(fits(cell)) for cell in cells) / len(cells) if cells else 1.0  # type: ignore[operator]


def _dated(cell: str) -> bool:
    return read_date(cell) is not None or yearless(cell)


def _fit(field: Field, cells: Sequence[str]) -> float:
    """Return how far the cells of a column can be those of a field, from 0 to 1."""
    if field.kind == "date":
        return _share(cells, _dated)
    if field.kind == "time":
        return _share(cells, lambda cell: read_clock(cell)[0] or _dated(cell))
    if field.kind == "number":
        quantity = field.quantity
        return _share(
            cells,
            lambda cell: (
                read_plain(cell) or (quantity and read_amount(cell, quantity, UNITS[quantity][0]))
            ),
        )
    if field.kind == "choice":
        return 0.4 + 0.6 * _share(cells, lambda cell: known_word(field.name, cell))
    if field.name == "gear":
        return 0.5 + 0.5 * _share(cells, kind_of_gear)
    return 1.0


def _content(field: Field, cells: Sequence[str]) -> float:
    """Return how much the cells alone speak of a field: only words of a closed list do."""
    if len(cells) < 2:
        return 0.0
    if field.kind == "choice" and len({bare(cell) for cell in cells}) > 1:
        return 0.7 * (_share(cells, lambda cell: known_word(field.name, cell)) >= _FITS)
    if field.name == "gear":
        return 0.65 * (_share(cells, kind_of_gear) >= _FITS)
    if field.kind == "date":
        return 0.6 * (_share(cells, _dated) >= _FITS)
    return 0.0


def match(source: Source, table: str, keys: Mapping[int, str] = MappingProxyType({})) -> Match:
    """Find our columns of a table in a source: each of its columns is at most one of ours.

    ``keys`` are columns by which it hangs together with others, as `shared_keys` tells them.
    """
    fields = TABLES[table]
    scores = np.zeros((len(source.header), len(fields)))
    columns = [source.cells(at)[:_SAMPLE] for at in range(len(source.header))]
    said = list(map(quantity_of, source.header, columns))
    alone = {**by_clock(columns, table), **by_unit(said, columns, table), **keys}
    for i, heading in enumerate(source.header):
        cells = columns[i]
        for j, one in enumerate(fields):
            by_heading = heading_score(heading, one.name)
            fit = _fit(one, cells)
            scores[i, j] = max(by_heading * (fit >= 0.5) * (0.6 + 0.4 * fit), _content(one, cells))
            if alone.get(i) == one.name and fit >= _FITS:
                scores[i, j] = max(scores[i, j], SAID)
    rows, places = linear_sum_assignment(-(scores**2))
    found: dict[int, tuple[str, str]] = {}
    for i, j in zip(rows.tolist(), places.tolist(), strict=True):
        if scores[i, j] >= _SURE:
            by_heading = heading_score(source.header[i], fields[j].name) >= _SURE
            why = "its heading says so, and its cells fit" if by_heading else "its cells say so"
            found[i] = (fields[j].name, why)
    needed = [one.name for one in fields if one.column_needed]
    names = {name for name, _ in found.values()}
    score = sum(scores[i, [f.name for f in fields].index(n)] for i, (n, _) in found.items())
    score = float(score) / max(len(source.header), 1) + sum(n in names for n in needed) / len(
        needed
    )
    return Match(table=table, source=source, columns=found, score=score)


def match_all(sources: Sequence[Source]) -> list[Match]:
    """Find our tables among the sources: by name, else by the columns they have."""
    free = list(sources)
    found: list[Match] = []
    every = {n: [one.cells(at) for at in range(len(one.header))] for n, one in enumerate(sources)}
    keys: dict[int, dict[int, str]] = {id(one): {} for one in sources}
    for (number, at), column in shared_keys(every).items():
        keys[id(sources[number])][at] = column
    for source in sources:
        table = table_of_name(source.name)
        if table and table not in {one.table for one in found}:
            found.append(match(source, table, keys[id(source)]))
            free.remove(source)
    taken = {one.table for one in found}
    tries = [
        match(source, table, keys[id(source)])
        for source in free
        for table in TABLES
        if table not in taken
    ]
    for one in sorted(tries, key=lambda one: (-one.score, one.table not in REQUIRED)):
        fresh = one.table not in {o.table for o in found}
        if fresh and one.source not in [o.source for o in found] and one.score >= 1.0:
            found.append(one)
    return found
