"""Owns the finding of our tables and columns in an unknown log: by heading, then by content."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment

from analysis.log.files.headings import folded
from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date, yearless
from analysis.log.reading.numbers import read_amount, read_plain
from analysis.log.schema import REQUIRED, TABLES, Field
from analysis.log.suggest.content import SAID, by_unit, labels_of_rods, quantity_of, shared_keys
from analysis.log.suggest.lexicon import FILLERS, OF_THE_BOAT, TABLE_WORDS
from analysis.log.suggest.rod_grid import RodGrid
from analysis.log.suggest.spoken import SURELY, heading_score, speaks_of_else
from analysis.log.suggest.together import marked_clocks, of_clocks, told_together
from analysis.log.suggest.words import kind_of_gear, likely_word
from analysis.log.wording.spelling import bare
from analysis.units import UNITS

Row = tuple[int, list[str]]
_SAMPLE = 400
_CELLS = 60
_SURE = 0.5
_FITS = 0.8
_LED_BY_NOUGHT = re.compile(r"0\d{2,3}")
"""A number that is written so is a clock."""
_NAMED = ("area", "lure", "species", "spread")
_ENOUGH = (1.0, 0.7)
# what the columns beside rods can be: a row a trip has the spread put in, or a count a rod
_BESIDE_RODS = {
    "changes": ("changes",),
    "spreads": ("trips", "spreads"),
    "strikes": ("strikes", "trips"),
}
_LINES_COUNT = (
    "if it is when the boat left or came home, write when lines went in or came out, for"
    " rod-hours count from that"
)
_NAMES = 0.3
"""What a table's name counts beside its columns: Set-outs may hold spreads."""
Scores = npt.NDArray[np.float64]


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
    grid : RodGrid or None
        Its columns of rods, which are not among the headings.
    units : mapping
        Number of a column -> the unit in the row of units below the header.
    """

    name: str
    header: list[str]
    rows: list[Row]
    grid: RodGrid | None = None
    units: Mapping[int, str] = field(default_factory=dict)

    def headed(self, at: int) -> str:
        """Return a heading with the unit that stands in a row below it."""
        unit = self.units.get(at, "")
        return f"{self.header[at]} ({unit})" if unit else self.header[at]

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


def _some(cells: list[str]) -> list[str]:
    """Return some of a column's cells, from all over it."""
    return cells[:: max(len(cells) // _CELLS, 1)]


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
        if _share(cells, _LED_BY_NOUGHT.fullmatch) > 1 - _FITS:
            return 0.0
        return _share(
            cells,
            lambda cell: (
                read_plain(cell) or (quantity and read_amount(cell, quantity, UNITS[quantity][0]))
            ),
        )
    if field.kind == "choice":
        return 0.4 + 0.6 * _share(cells, lambda cell: likely_word(field.name, cell))
    if field.name == "gear":
        return 0.5 + 0.5 * _share(cells, kind_of_gear)
    named = field.name in _NAMED
    return 1.0 - named * _share(cells, lambda cell: read_plain(cell) or read_clock(cell)[0]) * bool(
        cells
    )


def _content(field: Field, cells: Sequence[str]) -> float:
    """Return how much the cells alone speak of a field: only words of a closed list do."""
    if len(cells) < 2:
        return 0.0
    if field.kind == "choice" and len({bare(cell) for cell in cells}) > 1:
        return 0.7 * (_share(cells, lambda cell: likely_word(field.name, cell)) >= _FITS)
    if field.name == "rod":
        return 0.52 * labels_of_rods(cells)
    if field.name == "gear":
        return 0.65 * (_share(cells, kind_of_gear) >= _FITS)
    if field.kind == "date":
        # 4.2 is a speed as often as the fourth of February
        sure = [cell for cell in cells if read_date(cell) or not read_plain(cell)]
        return 0.6 * (_share(sure, _dated) >= _FITS and len(sure) >= _FITS * len(cells))
    return 0.0


def match(source: Source, table: str, keys: Mapping[int, str] = MappingProxyType({})) -> Match:
    """Find our columns of a table in a source: each of its columns is at most one of ours.

    ``keys`` are columns by which it hangs together with others, as `shared_keys` tells them.
    """
    fields = TABLES[table]
    places = {one.name: j for j, one in enumerate(fields)}
    cells = [_some(source.cells(at)) for at in range(len(source.header))]
    headed = np.zeros((len(cells), len(fields)))
    inside = np.zeros_like(headed)
    for (i, heading), (j, one) in product(enumerate(source.header), enumerate(fields)):
        fit = _fit(one, cells[i])
        headed[i, j] = heading_score(heading, one.name) * (fit >= _SURE) * (0.6 + 0.4 * fit)
        # Out is no short outing where clocks stand below it
        if one.name == "trip" and headed[i, j] < SURELY and of_clocks(cells[i]):
            headed[i, j] = 0.0
        # dates are dates, whatever their heading says
        if one.kind == "date" or not speaks_of_else(heading, table):
            inside[i, j] = _content(one, cells[i])
    for i, column in keys.items():
        if column in places and _fit(fields[places[column]], cells[i]) >= _FITS:
            inside[i, places[column]] = SAID
    for i, column, sure in _beside(source, table, headed, inside):
        inside[i, places[column]] = max(inside[i, places[column]], sure)
    # what heading and cells both speak of is surer than what either does
    scores = 1.0 - (1.0 - headed) * (1.0 - inside)
    rows, columns = linear_sum_assignment(-(scores**2))
    found: dict[int, tuple[str, str]] = {}
    for i, j in zip(rows.tolist(), columns.tolist(), strict=True):
        if max(headed[i, j], inside[i, j]) >= _SURE:
            why = "its heading says so, and its cells fit"
            why = why if headed[i, j] >= _SURE else "its cells say so"
            if table == "trips" and fields[j].kind == "time" and _of_the_boat(source.header[i]):
                why += f"; {_LINES_COUNT}"
            found[i] = (fields[j].name, why)
    names = {name for name, _ in found.values()}
    # what has no clock is no table of what happened when, whatever else it has
    needed = {one.name: 1 + (one.kind == "time") for one in fields if one.column_needed}
    score = sum(float(scores[i, places[name]]) for i, (name, _) in found.items())
    score /= max(len(source.header), 1)
    score += sum(needed.get(name, 0) for name in names) / sum(needed.values())
    return Match(table=table, source=source, columns=found, score=score)


def _of_the_boat(heading: str) -> bool:
    """Whether a heading tells when a boat left or came home, not when its lines did."""
    return set(folded(heading).split("_")) <= OF_THE_BOAT | FILLERS


def _beside(
    source: Source, table: str, headed: Scores, inside: Scores
) -> Iterator[tuple[int, str, float]]:
    """Tell columns that no heading names, by their units and by what stands beside them."""
    names = [one.name for one in TABLES[table]]
    best = np.maximum(headed, inside)
    rows, columns = linear_sum_assignment(-(best**2))
    known = {
        names[j]: i
        for i, j in zip(rows.tolist(), columns.tolist(), strict=True)
        if best[i, j] >= _SURE
    }
    free = [
        at
        for at, heading in enumerate(source.header)
        if at not in known.values()
        and source.cells(at)
        and not speaks_of_else(heading, table, clocks=marked_clocks(source.cells(at)))
    ]
    said = {at: quantity_of(source.headed(at), source.cells(at)[:_SAMPLE]) for at in free}
    for at, column in by_unit(said, table, set(known)).items():
        known[column] = at
        del said[at]
        yield at, column, SAID
    sample = [[cells[at] for _, cells in source.rows[:_SAMPLE]] for at in range(len(best))]
    for at, (column, sure) in told_together(sample, table, known, said).items():
        yield at, column, sure


def match_all(sources: Sequence[Source]) -> list[Match]:
    """Find our tables among the sources, by the columns they have and by their names."""
    found: list[Match] = []
    every = {n: [one.cells(at) for at in range(len(one.header))] for n, one in enumerate(sources)}
    keys: dict[int, dict[int, str]] = {id(one): {} for one in sources}
    for (number, at), column in shared_keys(every).items():
        keys[id(sources[number])][at] = column
    tries = [
        (match(source, table, keys[id(source)]), table_of_name(source.name) == table)
        for source in sources
        for table in _may_be(source)
    ]

    def rank(one: tuple[Match, bool]) -> tuple[float, bool]:
        return -one[0].score - _NAMES * one[1], one[0].table not in REQUIRED

    for one, named in sorted(tries, key=rank):
        fresh = one.table not in {o.table for o in found}
        grid = one.source.grid
        named = named or (grid is not None and grid.table == one.table)
        enough = named or one.score >= _ENOUGH[one.table in REQUIRED]
        if fresh and enough and not any(one.source is o.source for o in found):
            found.append(one)
    return _keyed_by_date([*found, *_trips_within(found, keys)])


def _may_be(source: Source) -> Collection[str]:
    """Return our tables that a source may be: one that has just our name for it is none other."""
    if source.grid is not None:
        return _BESIDE_RODS[source.grid.table]
    name = folded(source.name.rsplit(".", 1)[0])
    return (name,) if name in TABLES else TABLES


def _trips_within(
    matches: Sequence[Match], keys: Mapping[int, Mapping[int, str]]
) -> Iterator[Match]:
    """Find the trips on the rows of another table, which tell them again and again."""
    if any(one.table == "trips" for one in matches):
        return
    for one in matches:
        every = match(one.source, "trips", keys[id(one.source)])
        columns = {
            at: (name, why)
            for at, (name, why) in every.columns.items()
            if at not in one.columns or name in ("trip", "date")
        }
        found = replace(every, columns=columns)
        needed = [found.at(name) for name in ("date", "start", "end")]
        rows = len(one.source.rows)
        if all(at is not None and len(one.source.cells(at)) == rows for at in needed):
            yield found
            return


def _keyed_by_date(matches: Sequence[Match]) -> list[Match]:
    """Take the date for the trip in tables that have no other, where no day has two trips."""
    trips = next((one for one in matches if one.table == "trips"), None)
    date = trips.at("date") if trips is not None else None
    if trips is None or date is None or trips.at("trip") is not None:
        return list(matches)
    shared = any(one.source is trips.source and one is not trips for one in matches)
    when = [at for name in ("date", "start", "end") if (at := trips.at(name)) is not None]
    rows = [tuple(cells[at] for at in when) for _, cells in trips.source.rows if cells[date]]
    days = [day for day, *_ in (dict.fromkeys(rows) if shared else rows)]
    if len(set(days)) < len(days):
        return list(matches)
    why = "it has the dates of trips, which have no id"
    keyed = []
    for one in matches:
        if one.at("trip") is None and any(field.name == "trip" for field in TABLES[one.table]):
            same = (
                at
                for at in range(len(one.source.header))
                if at not in one.columns and set(one.source.cells(at)) <= set(days)
            )
            at = next(same, None) if one is not trips else None
            one = one if at is None else replace(one, columns={**one.columns, at: ("trip", why)})
        keyed.append(one)
    return keyed
