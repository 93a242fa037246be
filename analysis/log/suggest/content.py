"""Owns what cells alone say of an unknown log's columns: units, clocks, and what tables share."""

import re
from collections.abc import Mapping, Sequence

import numpy as np

from analysis.log.reading.clocks import read_clock
from analysis.log.reading.dates import read_date
from analysis.log.reading.numbers import number_of, read_plain
from analysis.log.schema import TABLES, Field
from analysis.log.suggest.lexicon import WORDS
from analysis.log.wording.spelling import bare
from analysis.log.wording.unit_words import split_heading, unit_quantity

SAID = 0.6
"""How much cells say that can hardly be of another column."""
_MOST = 0.8
_LABEL = re.compile(r"[^\W\d_]{1,4}\s?\d{0,2}")
_MOST_RODS = 16
_BEHIND_NUMBER = re.compile(r"\s*[+-]?\d+(?:[.,]\d+)?\s*([^\d\s.,;].*)")
_SIDES = {bare(word) for words in WORDS["side"].values() for word in words.split("|")}


def quantity_of(heading: str, cells: Sequence[str]) -> str:
    """Return the quantity whose unit stands in a heading or behind most numbers, empty for none.

    Examples
    --------
    >>> quantity_of("Vitesse (kn)", ["2.1"]), quantity_of("Bait", ["spoon"])
    ('speed', '')
    >>> quantity_of("How heavy", ["4.2 lb", "5 lb"]), quantity_of("Down", ["30 ft"])
    ('fish_weight', 'length')
    """
    if not any(map(str.strip, cells)):
        return ""
    word = split_heading(heading)[1]
    if word and all(number_of(cell) is not None for cell in cells):
        return unit_quantity(word)
    units = [found[1] for cell in cells if (found := _BEHIND_NUMBER.fullmatch(cell))]
    said = {unit_quantity(unit) for unit in units}
    return said.pop() if len(said) == 1 and len(units) >= _MOST * len(cells) else ""


def by_unit(
    quantities: Sequence[str], columns: Sequence[Sequence[str]], table: str
) -> dict[int, str]:
    """Tell the columns of a table whose unit only one of ours has; of lengths the longest.

    Parameters
    ----------
    quantities : sequence of str
        `quantity_of` each column.
    columns : sequence of sequence of str
        Their cells.
    table : str

    Returns
    -------
    dict
        Number of the column -> our column.
    """
    found: dict[int, str] = {}
    for quantity in set(quantities) - {""}:
        ours = [one.name for one in TABLES[table] if _measured(one) == quantity]
        mine = [at for at, said in enumerate(quantities) if said == quantity]
        if ours:
            found[max(mine, key=lambda at: _middle(columns[at]))] = ours[0]
    return found


def _measured(one: Field) -> str:
    return "length" if one.quantity == "depth" else one.quantity or ""


def _middle(cells: Sequence[str]) -> float:
    numbers = [float(found[0]) for cell in cells if (found := re.search(r"\d+", cell))]
    return float(np.median(numbers)) if numbers else 0.0


def by_clock(columns: Sequence[Sequence[str]], table: str) -> dict[int, str]:
    """Tell the columns of clocks where they are as many as ours, in the same order."""
    ours = [one.name for one in TABLES[table] if one.kind == "time"]
    mine = [at for at, cells in enumerate(columns) if _of_clocks(cells)]
    return dict(zip(mine, ours, strict=True)) if len(mine) == len(ours) else {}


def _of_clocks(cells: Sequence[str]) -> bool:
    clocks = sum(bool(read_clock(cell)[0]) for cell in cells)
    # 120 is a line-out as often as a time: a bare number counts where a nought leads it
    written = any(not read_plain(cell) or re.fullmatch(r"0\d\.?\d\d", cell) for cell in cells)
    return bool(cells) and clocks >= _MOST * len(cells) and written


def shared_keys(tables: Mapping[int, Sequence[Sequence[str]]]) -> dict[tuple[int, int], str]:
    """Tell the columns by which tables hang together: trips by their ids, rods by their labels.

    An id stands once in each row of one table and again and again in another. A rod's label is
    short, and the same few stand in two tables.

    Parameters
    ----------
    tables : mapping
        By table the cells of each of its columns.

    Returns
    -------
    dict
        Table and number of the column -> ``trip`` or ``rod``.
    """
    words = {
        (table, at): cells
        for table, columns in tables.items()
        for at, cells in enumerate(columns)
        if len(set(cells)) > 1 and not all(read_date(cell) or read_clock(cell)[0] for cell in cells)
    }
    found: dict[tuple[int, int], str] = {}
    for one, ids in words.items():
        if len(set(ids)) < len(ids) or any(set(".,") & set(cell) for cell in ids):
            continue
        for other, cells in words.items():
            again = len(set(cells)) < len(cells)
            if other[0] != one[0] and again and set(cells) <= set(ids) and not _numbered(cells):
                found |= {one: "trip", other: "trip"}
    labels = {at: cells for at, cells in words.items() if at not in found and _labels(cells)}
    for one, cells in labels.items():
        for other, more in labels.items():
            if other[0] != one[0] and set(cells) <= set(more):
                found |= {one: "rod", other: "rod"}
    return found


def _numbered(cells: Sequence[str]) -> bool:
    """Whether these may be measured: whole numbers are ids only from 1 on, without a gap."""
    numbers = {number for cell in cells if (number := number_of(cell)) is not None}
    return bool(numbers) and numbers != set(range(1, len(numbers) + 1))


def _labels(cells: Sequence[str]) -> bool:
    kinds = set(cells)
    short = all(map(_LABEL.fullmatch, kinds)) and any(re.search(r"\d", cell) for cell in kinds)
    return short and len(kinds) <= _MOST_RODS and not {bare(cell) for cell in kinds} <= _SIDES


def header_row(rows: Sequence[Sequence[str]]) -> int:
    """Return which of the first rows is the header: the first as full as most, without a number.

    Examples
    --------
    >>> header_row([["My log", ""], ["trip", "rod"], ["1", "P1"], ["1", "S1"]])
    1
    """
    filled = [sum(map(bool, row)) for row in rows]
    usual = float(np.median(filled)) if filled else 0.0
    for at, row in enumerate(rows):
        if filled[at] >= _MOST * usual and not any(map(read_plain, filter(None, row))):
            return at
    return 0
