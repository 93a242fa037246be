"""Owns what cells alone say of an unknown log's columns: units, clocks, and what tables share."""

import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise, product

import numpy as np

from analysis.log.files.headings import folded
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
_SHORTEST_UNIT = 2
_BEHIND_NUMBER = re.compile(r"\s*[+-]?\d+(?:[.,]\d+)?\s*([^\d\s.,;].*)")
_SIDES = {bare(word) for words in WORDS["side"].values() for word in words.split("|")}


def quantity_of(heading: str, cells: Sequence[str]) -> str:
    """Return the quantity whose unit stands in a heading or behind most numbers, empty for none.

    Examples
    --------
    >>> quantity_of("Vitesse (kn)", ["2.1"]), quantity_of("Bait", ["spoon"])
    ('speed', '')
    >>> quantity_of("Knots", ["2.1"])
    'speed'
    >>> quantity_of("How heavy", ["4.2 lb", "5 lb"]), quantity_of("Down", ["30 ft"])
    ('fish_weight', 'length')
    """
    if not any(map(str.strip, cells)):
        return ""
    word = split_heading(heading)[1] or (heading if len(heading) > _SHORTEST_UNIT else "")
    if unit_quantity(word) and all(number_of(cell) is not None for cell in cells):
        return unit_quantity(word)
    units = [found[1] for cell in cells if (found := _BEHIND_NUMBER.fullmatch(cell))]
    said = {unit_quantity(unit) for unit in units}
    return said.pop() if len(said) == 1 and len(units) >= _MOST * len(cells) else ""


def by_unit(
    quantities: Mapping[int, str], table: str, known: Collection[str] = ()
) -> dict[int, str]:
    """Tell the columns of a table whose unit no other open one has, and only one of ours.

    Parameters
    ----------
    quantities : mapping
        `quantity_of` each column that is open.
    table : str
    known : collection of str
        Our columns that are found already.

    Returns
    -------
    dict
        Number of the column -> our column.
    """
    found: dict[int, str] = {}
    # where lines are told, one length may be of any part of them
    lines = any(one.name == "line_out" for one in TABLES[table])
    for quantity in sorted(set(quantities.values()) - {""} - ({"length"} if lines else set())):
        ours = [one.name for one in TABLES[table] if _measured(one) == quantity]
        ours = [name for name in ours if name not in known]
        mine = [at for at, said in quantities.items() if said == quantity]
        if ours and len(mine) == 1:
            found[mine[0]] = ours[0]
    return found


def _measured(one: Field) -> str:
    return "length" if one.quantity == "depth" else one.quantity or ""


def shared_keys(tables: Mapping[int, Sequence[Sequence[str]]]) -> dict[tuple[int, int], str]:
    """Tell the columns by which tables hang together: trips by their ids, rods by their labels.

    An id stands once in each row of one table, and in another in many rows one after the other.
    A rod's label is short, or says a side, and the same few stand in two tables.

    Parameters
    ----------
    tables : mapping
        By table the cells of each of its columns.

    Returns
    -------
    dict
        Table and number of the column -> ``trip``, ``rod``, ``rods`` or ``spread``.
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
            among = set(cells) <= set(ids) and not _numbered(cells)
            if other[0] != one[0] and again and among and _in_blocks(cells):
                found |= {one: "trip", other: "trip"}
    labels = {at: cells for at, cells in words.items() if at not in found and _labels(cells)}
    for one, cells in labels.items():
        for other, more in labels.items():
            if other[0] != one[0] and set(cells) <= set(more):
                found |= {one: "rod", other: "rod"}
    return found | _rod_counts(tables, found) | _spread_names(tables, found)


def _rod_counts(
    tables: Mapping[int, Sequence[Sequence[str]]], keys: Mapping[tuple[int, int], str]
) -> dict[tuple[int, int], str]:
    """Tell the column that says of each trip how many rods another table has for it."""
    found: dict[tuple[int, int], str] = {}
    trips = {at: tables[at[0]][at[1]] for at, key in keys.items() if key == "trip"}
    for (table, rod), key in keys.items():
        of = next((cells for at, cells in trips.items() if at[0] == table), None)
        labels = tables[table][rod]
        if key != "rod" or of is None or len(of) != len(labels):
            continue
        counts = Counter(trip for trip, _ in set(zip(of, labels, strict=True)))
        for (other, at), ids in trips.items():
            if other == table or len(set(ids)) < len(ids) or set(ids) != set(counts):
                continue
            wanted = [str(counts[trip]) for trip in ids]
            alike = [n for n, cells in enumerate(tables[other]) if n != at and cells == wanted]
            if len(alike) == 1 and len(wanted) > 1:
                found[other, alike[0]] = "rods"
    return found


def _spread_names(
    tables: Mapping[int, Sequence[Sequence[str]]], keys: Mapping[tuple[int, int], str]
) -> dict[tuple[int, int], str]:
    """Tell the column in which trips name what a table of rods without trips has."""
    with_trips = {table for (table, _), key in keys.items() if key == "trip"}
    of_rods = {table for (table, _), key in keys.items() if key == "rod"} - with_trips
    found: dict[tuple[int, int], str] = {}
    for (table, at), key in keys.items():
        ids = tables[table][at]
        if key != "trip" or len(set(ids)) < len(ids):
            continue
        for other in sorted(of_rods):
            for (n, cells), (m, names) in product(
                enumerate(tables[table]), enumerate(tables[other])
            ):
                worded = bool(cells) and not any(map(read_plain, cells))
                if worded and set(cells) <= set(names) and (other, m) not in keys:
                    found |= {(table, n): "spread", (other, m): "spread"}
    return found


def _numbered(cells: Sequence[str]) -> bool:
    """Whether these may be measured: whole numbers are ids only where they have no gap."""
    numbers = {number for cell in cells if (number := number_of(cell)) is not None}
    return bool(numbers) and numbers != {min(numbers) + step for step in range(len(numbers))}


def _in_blocks(cells: Sequence[str]) -> bool:
    """Whether equal cells stand together, as the rows of a trip do and those of a rod do not."""
    blocks = 1 + sum(one != other for one, other in pairwise(cells))
    return blocks <= 1.2 * len(set(cells))


def _labels(cells: Sequence[str]) -> bool:
    """Whether cells may name rods: P1, port long, or numbers from 1 on without a gap."""
    kinds = set(cells)
    if len(kinds) > _MOST_RODS or {bare(cell) for cell in kinds} <= _SIDES:
        return False
    if all(cell.isdecimal() for cell in kinds):
        return len(cells) > len(kinds) and "1" in kinds and not _numbered(cells)
    short = all(map(_LABEL.fullmatch, kinds)) and any(re.search(r"\d", cell) for cell in kinds)
    sided = [cell for cell in kinds if _SIDES & set(folded(cell).split("_"))]
    return short or len(sided) >= _MOST * len(kinds)


def labels_of_rods(cells: Sequence[str]) -> bool:
    """Whether cells are the few labels of a boat's rods: a letter or more, and a number."""
    kinds = set(cells)
    few = 1 < len(kinds) <= min(_MOST_RODS, len(cells) - 1)
    return few and all(re.fullmatch(r"[^\W\d_]{1,3}\s?\d", cell) for cell in kinds)


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
