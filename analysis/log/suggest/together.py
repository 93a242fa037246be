"""Owns what the columns of one table say of each other: what goes with a rod, a gear, a fish.

A heading may be any word, but a setting stands only beside divers, a fish's weight grows with its
length, a leader stays with its rod, and a profile goes down. Each rule tells a column only where
no other of the table could be meant as well.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.stats import spearmanr

from analysis.log.files.headings import folded
from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date, yearless
from analysis.log.reading.numbers import number_of
from analysis.log.schema import TABLES
from analysis.log.suggest.lexicon import FISH, LURES
from analysis.log.suggest.words import kind_of_gear
from analysis.log.times import NAT, parse
from analysis.log.wording.spelling import bare

_MOST, _FEW = 0.8, 0.15
_LEADING_NUMBER = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*[^\d:]*")
_LONGEST_SETTING = 12.0
_LEADER_OF_LINE = 0.25
_SHORTEST_LINE = 8.0
_FEWEST = 5
_MOST_ENDS = 8
_CLOCK_DIGITS = 4
_LED_BY_NOUGHT = re.compile(r"0\d{3}")
_HALF_DAY_US = 12 * 3_600_000_000
_ALIKE, _FASTER = 0.75, 1.5


class _Table(NamedTuple):
    """Columns of a table, row by row, and which of them are known already."""

    columns: Sequence[Sequence[str]]
    known: Mapping[str, int]
    free: Sequence[int]
    quantities: Mapping[int, str]

    def filled(self, at: int) -> npt.NDArray[np.bool_]:
        return np.array([cell != "" for cell in self.columns[at]], dtype=bool)

    def numbers(self, at: int) -> npt.NDArray[np.float64]:
        """Return a column's numbers, without their units; NaN for a cell that begins with none."""
        found = (_LEADING_NUMBER.fullmatch(cell) for cell in self.columns[at])
        read = (number_of(one[1]) if one else None for one in found)
        return np.array([np.nan if one is None else one for one in read])


def told_together(
    columns: Sequence[Sequence[str]],
    table: str,
    known: Mapping[str, int],
    quantities: Mapping[int, str],
) -> dict[int, tuple[str, float]]:
    """Tell columns of a table by what stands beside them.

    Parameters
    ----------
    columns : sequence of sequence of str
        Their cells, row by row; empty where nothing is written.
    table : str
        Which of our tables it is.
    known : mapping
        Our columns that are found -> number of the column.
    quantities : mapping
        Number of each column whose meaning is open -> the quantity its unit is of, empty for none.

    Returns
    -------
    dict
        Number of the column -> our column, and how sure it is, from 0 to 1.
    """
    fields = {one.name for one in TABLES[table]}
    found: dict[int, tuple[str, float]] = {}
    known, free = dict(known), sorted(quantities)
    for rule in (_clocks, _lists, _fish, _ends, _side, _by_gear, _lines, _profile, _gear, _texts):
        ours = [name for name in fields if name not in known]
        for at, column, sure in list(rule(_Table(columns, known, free, quantities), table)):
            if column in ours and at in free:
                found[at] = (column, sure)
                known[column] = at
                free.remove(at)
                ours.remove(column)
    return found


def of_clocks(cells: Sequence[str]) -> bool:
    """Whether a column is of clocks, or of dates with one.

    120 is a line-out as often as a time: bare numbers are clocks where all have four digits.
    """
    written = [cell for cell in cells if cell]
    bare_numbers = [cell for cell in written if number_of(cell) is not None]
    sure = all(re.fullmatch(r"\d{1,2}\.?\d\d", cell) for cell in bare_numbers)
    long = all(len(cell) >= _CLOCK_DIGITS for cell in bare_numbers)
    return sure and long and _share(written, _clock_of) >= _MOST


def marked_clocks(cells: Sequence[str]) -> bool:
    """Whether a column is of clocks, and not of what may be measured: 05:10, 5:10 am, 0510."""
    marked = any(number_of(cell) is None or _LED_BY_NOUGHT.fullmatch(cell) for cell in cells)
    return marked and of_clocks(cells)


def _clock_of(cell: str) -> str:
    dated = read_date(cell)
    return read_clock(dated.clock if dated and dated.clock else cell)[0]


def _clocks(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell the clocks that are left where they are as many as ours; that which begins is first."""
    ours = [one.name for one in TABLES[table] if one.kind == "time" and one.name not in of.known]
    mine = [at for at in of.free if of_clocks(of.columns[at])]
    # 1012 may be a pressure: bare numbers are clocks where no others are enough
    marked = [at for at in mine if not _numeric(of, at)]
    mine = marked if len(marked) == len(ours) else mine
    if not ours or len(mine) != len(ours):
        return
    if len(mine) == 2:
        read = [pd.Series(map(_clock_of, of.columns[at]), dtype="str") for at in mine]
        began, ended = (parse(clocks)["clock_us"] for clocks in read)
        told = (began != NAT) & (ended != NAT)
        # past midnight the later clock is the lesser one; nobody fishes round most of the clock
        back = told & (began > ended) & (began - ended < _HALF_DAY_US)
        if back.sum() > told.sum() / 2:
            mine.reverse()
    for at, column in zip(mine, ours, strict=True):
        yield at, column, 0.6


def _lists(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell kinds of fish and names of lures, which are made of few words."""
    for column, words in (("species", FISH), ("lure", LURES)):
        shares = {at: _share_of_words(of.columns[at], words) for at in of.free}
        best = max(shares, key=lambda at: shares[at], default=None)
        if best is not None and shares[best] >= 0.6:
            yield best, column, 0.65


def _fish(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell a fish's length and weight: numbers that grow together, the weight far faster."""
    kin = ("", "fish_length", "fish_weight")
    numbers = {
        at: of.numbers(at) for at in of.free if _numeric(of, at) and of.quantities[at] in kin
    }
    for one, long in numbers.items():
        for other, heavy in numbers.items():
            both = ~np.isnan(long) & ~np.isnan(heavy)
            either = ~np.isnan(long) | ~np.isnan(heavy)
            if one == other or both.sum() < max(_FEWEST, _MOST * either.sum()):
                continue
            a, b = long[both], heavy[both]
            if min(a.min(), b.min()) <= 0 or np.median(a) <= np.median(b) or a.std() == 0:
                continue
            alike = float(spearmanr(a, b).statistic) if b.std() > 0 else 0.0
            if alike >= _ALIKE and np.std(np.log(b)) > _FASTER * np.std(np.log(a)):
                yield one, "length", 0.62
                yield other, "weight", 0.62


def _ends(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell how strikes ended: whether a fish was measured hangs on that alone."""
    size = of.known.get("length", of.known.get("weight"))
    if table != "strikes" or size is None:
        return
    for at in of.free:
        words = Counter(cell for cell in of.columns[at] if cell)
        measured = {
            word: sum(
                cell == word and long != ""
                for cell, long in zip(of.columns[at], of.columns[size], strict=True)
            )
            / rows
            for word, rows in words.items()
        }
        few = 2 <= len(words) <= _MOST_ENDS and of.filled(at).mean() >= _MOST
        clear = all(part <= _FEW or part >= _MOST for part in measured.values())
        often = words.total() >= _FEWEST * len(words)
        if few and clear and often and min(measured.values()) <= _FEW <= max(measured.values()):
            yield at, "outcome", 0.6


def _side(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell the side: the same for a rod each time, with the first letter of the rod's label."""
    rod = of.known.get("rod")
    if rod is None:
        return
    for at in of.free:
        pairs = [(r, s) for r, s in zip(of.columns[rod], of.columns[at], strict=True) if r and s]
        two = 2 <= len({bare(side) for _, side in pairs}) <= 3
        alike = [bare(r)[:1] == bare(side)[:1] for r, side in pairs]
        if two and sum(alike) >= _MOST * len(alike) and _follows(of, rod, at) >= _MOST:
            yield at, "side", 0.65


def _by_gear(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell a diver's setting and a rigger's lead: no other gear has one."""
    gear = of.known.get("gear")
    if gear is None:
        return
    kinds = np.array([kind_of_gear(cell) for cell in of.columns[gear]])
    for kind, column in (("diver", "setting"), ("rigger", "lead")):
        beside = kinds == kind
        for at in of.free:
            filled = of.filled(at)
            only = beside.any() and (~beside).any() and _numeric(of, at)
            if only and filled[beside].mean() >= _MOST and filled[~beside].mean() <= _FEW:
                yield at, column, 0.62


def _lines(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell settings, lines out and leaders by their size and by the rod that they stay with."""
    rod = of.known.get("rod")
    if "line_out" not in {one.name for one in TABLES[table]}:
        return
    every = {
        at: of.numbers(at)
        for at in of.free
        if _numeric(of, at) and of.quantities[at] in ("", "length")
    }
    sizes = {at: float(np.nanmedian(numbers)) for at, numbers in every.items()}
    whole = {at for at in every if of.filled(at).mean() >= _MOST}
    for at in every:
        few = np.nanmax(np.abs(every[at])) <= _LONGEST_SETTING and _stepped(every[at])
        if few and at not in whole and rod is not None and _with_rod(of, rod, at):
            yield at, "setting", 0.55
    of_rod = {at: 1.0 if rod is None else _of_rod(of, rod, at) for at in whole}
    long = sorted((at for at in whole if of_rod[at] >= 0.5), key=lambda at: -sizes[at])
    sure = long and sizes[long[0]] >= max([_SHORTEST_LINE, *(2 * sizes[at] for at in long[1:])])
    line = of.known.get("line_out", long[0] if sure else None)
    if line is None:
        return
    yield line, "line_out", 0.6
    most = _LEADER_OF_LINE * sizes.get(line, float(np.nanmedian(of.numbers(line))))
    short = [at for at in whole - {line} if sizes[at] <= most and of_rod[at] >= _MOST]
    if len(short) == 1:
        yield short[0], "leader_length", 0.55


def _profile(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell a profile's depths, which rise from row to row, and the temperatures beside them."""
    if table != "casts" or not of.free:
        return
    numbers = [at for at in of.free if _numeric(of, at) and of.filled(at).mean() >= _MOST]
    trips = of.columns[of.known["trip"]] if "trip" in of.known else [""] * len(of.columns[0])
    same = np.array([a == b for a, b in pairwise(trips)], dtype=bool)
    steps = {at: np.diff(of.numbers(at))[same] for at in numbers}
    down = [at for at, step in steps.items() if len(step) and np.mean(step > 0) >= _MOST]
    if len(down) == 1:
        yield down[0], "depth", 0.6
        rest = [at for at in numbers if at != down[0]]
        if len(rest) == 1:
            yield rest[0], "temp", 0.6


def _gear(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell the gear: of all words that stay with a rod, the only ones that are no side."""
    rod = of.known.get("rod")
    if rod is None:
        return
    mine = [
        at
        for at in of.free
        if _text(of, at)
        and 2 <= len({bare(cell) for cell in of.columns[at] if cell}) <= 8
        and of.filled(at).mean() >= _MOST
        and _follows(of, rod, at) >= 0.9
    ]
    if len(mine) == 1 and "side" in of.known:
        yield mine[0], "gear", 0.52


def _texts(of: _Table, table: str) -> Iterator[tuple[int, str, float]]:
    """Tell the one column of sentences, and of a trip the one whose few words come again."""
    texts = [at for at in of.free if _text(of, at)]
    said = {at: [cell for cell in of.columns[at] if cell] for at in texts}
    notes = [
        at
        for at in texts
        if len(set(said[at])) > 1 and np.mean([len(cell.split()) for cell in said[at]]) >= 2.5
    ]
    if len(notes) == 1:
        yield notes[0], "note", 0.52
    places = [
        at
        for at in texts
        if at not in notes
        and of.filled(at).mean() >= _MOST
        and 2 <= len(set(said[at])) < len(said[at])
    ]
    if len(places) == 1:
        yield places[0], "area", 0.52


def _share(cells: Sequence[str], fits: Callable[[str], object]) -> float:
    written = [cell for cell in cells if cell]
    return sum(bool(fits(cell)) for cell in written) / len(written) if written else 0.0


def _share_of_words(cells: Sequence[str], words: Collection[str]) -> float:
    return _share(cells, lambda cell: set(folded(cell).split("_")).intersection(words))


def _numeric(of: _Table, at: int) -> bool:
    filled = of.filled(at)
    return bool(filled.any()) and bool((~np.isnan(of.numbers(at)))[filled].mean() >= _MOST)


def _text(of: _Table, at: int) -> bool:
    cells = of.columns[at]
    other = _share(cells, lambda c: number_of(c) is not None or read_date(c) or yearless(c))
    words = _share(cells, lambda c: any(letter.isalpha() for letter in c))
    return not _numeric(of, at) and other <= _FEW and words >= _MOST


def _stepped(numbers: npt.NDArray[np.float64]) -> bool:
    """Whether numbers are those of a dial: whole ones, halves and quarters."""
    given = numbers[~np.isnan(numbers)]
    return bool(len(given)) and bool(np.all(given * 4 == np.round(given * 4)))


def _groups(of: _Table, by: int, at: int) -> list[list[str]]:
    found = defaultdict(list)
    for key, cell in zip(of.columns[by], of.columns[at], strict=True):
        if key and cell:
            found[key].append(cell)
    return list(found.values())


def _follows(of: _Table, by: int, at: int) -> float:
    """Return the share of rows in which a column has what it mostly has beside that word."""
    groups = _groups(of, by, at)
    rows = sum(map(len, groups))
    usual = sum(Counter(group).most_common(1)[0][1] for group in groups)
    return usual / rows if rows > len(groups) else 0.0


def _with_rod(of: _Table, rod: int, at: int) -> bool:
    """Whether a column is filled for some rods only, and for those always."""
    shares = defaultdict(list)
    for label, cell in zip(of.columns[rod], of.columns[at], strict=True):
        shares[label].append(bool(cell))
    parts = [sum(share) / len(share) for share in shares.values()]
    return all(part <= _FEW or part >= _MOST for part in parts) and min(parts) <= _FEW


def _of_rod(of: _Table, rod: int, at: int) -> float:
    """Return the part of a column's spread that lies between rods, from 0 to 1."""
    numbers = of.numbers(at)
    every = numbers[~np.isnan(numbers)]
    total = float(np.var(every)) * len(every)
    if total == 0:
        return 1.0
    labels = np.array(of.columns[rod])
    within = 0.0
    for label in set(of.columns[rod]):
        mine = numbers[(labels == label) & ~np.isnan(numbers)]
        within += float(np.var(mine)) * len(mine) if len(mine) else 0.0
    return 1.0 - within / total
