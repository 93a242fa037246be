"""Owns what an unknown log with one column a rod says: which columns are rods, and their cells."""

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from analysis.log.files.headings import folded
from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date
from analysis.log.reading.numbers import number_of
from analysis.log.suggest.line import Line
from analysis.log.suggest.words import kind_of_gear, known_word
from analysis.log.wording.spelling import bare
from analysis.log.wording.unit_words import split_heading

_LABEL = re.compile(r"[^\W\d_]{1,3}[ .-]?\d{1,2}|\d{1,2}")
_FEWEST_RODS = 3
_MOST_MARK = 12
_MOST_COUNT = 9
_NUMBER = r"\d+(?:[.,]\d+)?"
_CELL = re.compile(
    rf"(?P<word>[^\W\d_][^\d/@#,;]*?)?[\s:]*(?P<first>{_NUMBER})\s?(?P<unit>ft|feet|m|')?"
    rf"(?:(?P<mark>\s*[/@#;x-]\s*|\s+)(?P<second>{_NUMBER}))?"
    rf"(?:(?P<mark2>\s*[/@#;x-]\s*)(?P<third>{_NUMBER}))?(?P<text>\s+[^\d\s].*)?"
)


@dataclass(frozen=True, kw_only=True)
class RodGrid:
    """The columns of a source that are rods.

    Parameters
    ----------
    name : str
        The file or sheet.
    rods : mapping
        Heading -> (line, cell) of each filled cell.
    table : str
        What a cell is a row of: ``changes``, ``spreads`` or ``strikes``.
    """

    name: str
    rods: Mapping[str, Sequence[tuple[int, str]]]
    table: str

    def cells(self) -> list[str]:
        """Return what stands in all of them."""
        return [cell for of in self.rods.values() for _, cell in of]

    def lengths(self) -> list[str]:
        """Return the first number of each cell that has one, with its unit."""
        return [f"{one['first']} {one['unit'] or ''}".strip() for one in _split(self.cells())]

    def place(self, line: int, heading: str, cell: str) -> str:
        """Say where a cell stands, and what is in it."""
        return f"{self.name}, line {line}, {heading}: {cell}"

    def shown(self, words: Collection[str] = (), most: int = 3) -> tuple[str, ...]:
        """Show some cells, those of some words alone where any are given."""
        every = [
            (line, self.place(line, heading, cell))
            for heading, of in self.rods.items()
            for line, cell in of
            if not words or cell in words
        ]
        return tuple(text for _, text in sorted(every, key=lambda pair: pair[0])[:most])


def _split(cells: Iterable[str]) -> list[re.Match[str]]:
    """Return the parts of the cells that hold a number."""
    return [one for one in map(_CELL.fullmatch, cells) if one]


def rod_columns(
    header: Sequence[str], rows: Sequence[tuple[int, Sequence[str]]], labels: Collection[str]
) -> list[int]:
    """Return the columns of a table that are rods, none where it has no such.

    Parameters
    ----------
    header : sequence of str
    rows : sequence of (int, sequence of str)
        Line and cells.
    labels : collection of str
        `bare` of what other tables may call rods.

    Examples
    --------
    >>> rod_columns(["Time", "P1", "P2", "S1"], [(2, ["05:40", "120", "x", "60"])], ())
    [1, 2, 3]
    """
    found = []
    for at, heading in enumerate(header):
        cells = [row[at] for _, row in rows if row[at]]
        if _names_rod(heading, labels) and all(map(_of_rod, cells)):
            found.append(at)
    filled = any(row[at] for _, row in rows for at in found)
    alone = len({header[at].casefold() for at in found}) == len(found)
    return found if len(found) >= _FEWEST_RODS and filled and alone else []


def _names_rod(heading: str, labels: Collection[str]) -> bool:
    """Whether a heading names a rod: a label, or where it stands, or what it always tows."""
    name = split_heading(heading)[0]
    sided = any(known_word("side", part) for part in folded(name).split("_") if len(part) > 1)
    return bool(
        _LABEL.fullmatch(name)
        or bare(name) in labels
        or (sided and not known_word("side", name))
        or (known_word("side", name) == "centre")
        or (kind_of_gear(name) and len(folded(name).split("_")) > 1)
    )


def _of_rod(cell: str) -> bool:
    """Whether a cell may say what a rod fishes, or that it took a strike."""
    if number_of(cell) is None and (read_clock(cell)[0] or read_date(cell)):
        return False
    return bool(_CELL.fullmatch(cell)) or len(cell) <= _MOST_MARK


def table_of_cells(cells: Sequence[str], *, timed: bool) -> str:
    """Return what the cells of rods are rows of; line-outs with a time beside them are changes.

    Examples
    --------
    >>> table_of_cells(["120", "x"], timed=True), table_of_cells(["120", "60"], timed=False)
    ('changes', 'spreads')
    >>> table_of_cells(["2", "0", "1"], timed=False)
    'strikes'
    """
    first = [float(one["first"].replace(",", ".")) for one in _split(cells)]
    if not first or max(first) <= _MOST_COUNT:
        return "strikes"
    return "changes" if timed else "spreads"


def propose_grid(grid: RodGrid, *, strikes_elsewhere: bool) -> Iterator[Line]:
    """Propose how a table with one column a rod is read.

    Parameters
    ----------
    grid : RodGrid
    strikes_elsewhere : bool
        Whether another table tells the strikes.
    """
    where = f"wide.{grid.table}"
    counted = [cell for cell in grid.cells() if number_of(cell) is not None]
    names = {heading: split_heading(heading)[0] for heading in grid.rods}
    alike = all(heading == name for heading, name in names.items())
    value = json.dumps(list(names), ensure_ascii=False) if alike else _inline(names)
    what = "strikes, marked or counted" if grid.table == "strikes" else "line-outs"
    yield Line(
        table=where,
        key="rods",
        value=value,
        reason=f"these headings name rods, and their cells are {what}",
        rows=grid.shown(),
        question=grid.table == "strikes" and bool(counted),
    )
    pattern, sure, why = cell_pattern(grid)
    if pattern and grid.table != "strikes":
        yield Line(
            table=where,
            key="cell",
            value=f"'{pattern}'",
            reason=why,
            rows=grid.shown([cell for cell in grid.cells() if number_of(cell) is None]),
            question=not sure,
        )
    yield from _marks(grid, f"{where}.marks", strikes_elsewhere=strikes_elsewhere)
    if grid.table != "strikes":
        yield from _towed(grid, names, f"{where}.towed", pattern)
        if not gears_of(grid):
            yield Line(
                table="gear.diver",
                key="kind",
                value='"diver"',
                reason="each gear that these rods tow has a table of its own: which are they?",
                rows=grid.shown(),
                question=True,
            )


def _inline(words: Mapping[str, str]) -> str:
    quoted = (map(partial(json.dumps, ensure_ascii=False), pair) for pair in words.items())
    return f"{{ {', '.join(map(' = '.join, quoted))} }}"


def cell_pattern(grid: RodGrid) -> tuple[str, bool, str]:
    """Return the pattern that most cells fit, whether it is sure, and in plain words why.

    Empty where cells are a line-out alone. Which of two numbers is the line-out is told by their
    size; whether the other is a setting, a leader or a lead is asked.
    """
    split = _split(grid.cells())
    parts = {
        name: [one[name] for one in split if one[name]]
        for name in ("word", "first", "second", "third", "text")
    }
    if not any(parts[name] for name in ("word", "second", "third", "text")):
        return "", True, ""
    size = {
        name: float(np.median([float(text.replace(",", ".")) for text in parts[name]] or [0.0]))
        for name in ("first", "second", "third")
    }
    numbers = ["first", *(name for name in ("second", "third") if parts[name])]
    line = max(numbers, key=lambda name: size[name])
    open_columns = iter(("setting", "leader_length"))
    column = {name: "line_out" if name == line else next(open_columns, "lead") for name in numbers}
    made = r"(?:(?P<gear>[^\d/@#,;]*?)[\s:]*)?" if parts["word"] else ""
    made += rf"(?P<{column['first']}>{_NUMBER}\s?(?:ft|feet|m|\x27)?)"
    for name in numbers[1:]:
        made += rf"(?:[\s/@#;x-]+(?P<{column[name]}>{_NUMBER}))?"
    made += r"(?:\s+(?P<lure>[^\d\s].*))?" if parts["text"] else ""
    sure = len(numbers) == 1 and not parts["text"]
    why = "a gear stands before the line-out"
    if not sure:
        told = [column[name].replace("_", " ") for name in numbers]
        told = ["gear"] * bool(parts["word"]) + told + ["lure"] * bool(parts["text"])
        why = f"are the parts of a cell {', '.join(told)}, in this order?"
    return made, sure, why


def marks_of(grid: RodGrid) -> list[str]:
    """Return the different cells that say no number."""
    return list(dict.fromkeys(cell for cell in grid.cells() if not _CELL.fullmatch(cell)))


def _marks(grid: RodGrid, where: str, *, strikes_elsewhere: bool) -> Iterator[Line]:
    """Propose what the cells without a number say."""
    for word in marks_of(grid):
        says = known_word("outcome", word) if grid.table != "spreads" else ""
        if known_word("ended_by", word) == "strike" and grid.table != "spreads":
            says = "strike"
        if grid.table == "changes":
            says = says or known_word("what", word)
        known = bool(says)
        likely = says or ("nothing" if grid.table == "spreads" or not bare(word) else "strike")
        reason = f"it means {says}" if known else "a strike, or something else? What does it say"
        if strikes_elsewhere and grid.table == "changes" and likely not in ("in", "out"):
            likely, known = "nothing", False
            reason = "a strike? Another table tells the strikes, so that it is not read here"
        yield Line(
            table=where,
            key=json.dumps(word, ensure_ascii=False),
            value=json.dumps(likely),
            reason=reason,
            rows=grid.shown([word]),
            question=not known,
        )


def _towed(grid: RodGrid, names: Mapping[str, str], where: str, pattern: str) -> Iterator[Line]:
    """Ask what each rod tows, where its cells do not say the gear or a diver's setting."""
    geared, dialled = ("(?P<gear>" in pattern, "(?P<setting>" in pattern)
    for heading, rod in names.items():
        kind = kind_of_gear(rod)
        words = _words_before(grid.rods[heading]) if geared else []
        divers = "diver" in map(kind_of_gear, [rod, *words])
        if words and (dialled or not divers):
            continue
        alone = bool(kind) and kind != "diver"
        value, why = f'{{ gear = "{kind or "diver"}" }}', f"its name speaks of a {kind}"
        if words:
            value, why = "{ setting = 2 }", "how is its diver set? Its cells do not say"
        elif not alone and dialled:
            why = "which gear does this rod tow? Its cells do not say"
        elif not alone:
            value = '{ gear = "diver", setting = 2 }'
            why = "which gear does this rod tow, and how set?"
        cells = [f"line {line}, {heading}: {cell}" for line, cell in grid.rods[heading][:3]]
        yield Line(
            table=where,
            key=json.dumps(rod, ensure_ascii=False),
            value=value,
            reason=why,
            rows=tuple(cells),
            question=not alone,
        )


def _words_before(cells: Sequence[tuple[int, str]]) -> list[str]:
    """Return the words that stand before the numbers of a rod's cells."""
    return [one["word"].strip() for one in _split(cell for _, cell in cells) if one["word"]]


def gears_of(grid: RodGrid) -> dict[str, list[str]]:
    """Return the gears that cells or headings of rods speak of, with cells that show each."""
    found: dict[str, list[str]] = {}
    if grid.table == "strikes":
        return found
    for heading, of in grid.rods.items():
        kind = kind_of_gear(split_heading(heading)[0])
        for line, cell in of:
            split = _CELL.fullmatch(cell)
            word = (split["word"] or "").strip() if split else ""
            if word or kind:
                found.setdefault(word or kind, []).append(grid.place(line, heading, cell))
    return found
