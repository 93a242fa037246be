"""Owns the units of an unknown log: what headings, cells and nature say, and what is asked."""

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from analysis.log.reading.numbers import number_of, read_amount
from analysis.log.schema import TABLES
from analysis.log.suggest.columns import Match
from analysis.log.suggest.line import Line
from analysis.log.suggest.rod_grid import RodGrid
from analysis.log.wording.unit_words import heading_unit, unit_within
from analysis.units import UNITS

# water neither freezes nor boils off: below 31 F it would be ice, above 40 C no fish's
_COLD_F, _WARM_C = 31.0, 40.0
_WIDELY = 0.5


class _Told(NamedTuple):
    """The unit of one column, empty where nothing tells it, why, and rows that show it."""

    table: str
    column: str
    unit: str
    why: str
    rows: tuple[str, ...]


def propose_units(matches: Sequence[Match], *, unread: bool) -> Iterator[Line]:
    """Propose the units that a log surely has, and ask for the others.

    A unit comes from a heading or from cells that name it; of temperatures also from what water
    can have: no number alone tells feet from metres, nor knots from miles an hour. Where some
    columns are `unread`, it cannot be said that a log has none of a quantity.
    """
    system = ""
    for quantity in UNITS:
        told = [one for match in matches for one in _columns(match, quantity)]
        known = Counter(one.unit for one in told if one.unit)
        if known:
            unit = known.most_common(1)[0][0]
            first = next(one for one in told if one.unit == unit)
            silent = [one for one in told if not one.unit]
            # a column that says nothing takes the boat's unit: it is said which they are
            also = f"; so are taken {', '.join(o.column for o in silent)}" if silent else ""
            yield _line("units", quantity, unit, first.why + also, first.rows, ask=bool(silent))
            for one in told:
                if one.unit and one.unit != unit:
                    yield _line(f"units.{one.table}", one.column, one.unit, one.why, one.rows)
            system = system or {"ft": "ft", "m": "m"}.get(unit, "")
        elif told:
            names = ", ".join(f"{one.table}.{one.column}" for one in told)
            choices = " or ".join(UNITS[quantity])
            why = f"{choices}? Nothing in the log tells the unit of {names}"
            yield _line("units", quantity, UNITS[quantity][0], why, told[0].rows, ask=True)
        else:
            unit = UNITS[quantity][0] if system != "m" else _metric(quantity)
            why = "no column of the log has one; any will do"
            if unread:
                why = "is one of the columns that no meaning was found for measured in it?"
            yield _line("units", quantity, unit, why, (), ask=unread)


def _metric(quantity: str) -> str:
    return {"speed": "km/h"}.get(quantity, UNITS[quantity][-1])


def _line(
    table: str, key: str, unit: str, why: str, rows: tuple[str, ...], *, ask: bool = False
) -> Line:
    value = json.dumps(unit)
    return Line(table=table, key=key, value=value, reason=why, rows=rows, question=ask)


def _columns(one: Match, quantity: str) -> Iterator[_Told]:
    for field in TABLES[one.table]:
        at = one.at(field.name)
        if at is None or field.quantity != quantity:
            continue
        heading, cells = one.source.headed(at), one.source.cells(at)
        shown = tuple(f"{one.source.name}, {row}" for row in one.source.shown(at))
        unit = heading_unit(heading, quantity) or unit_within(heading, quantity)
        why = f"its heading {heading} says so"
        if not unit:
            unit, why = _typed(cells, quantity), "its cells are typed with it"
        if not unit and quantity == "temperature":
            unit, why = _natural(cells)
        yield _Told(one.table, field.name, unit, why, shown)
    grid = one.source.grid
    if grid is not None and grid.table != "strikes" and quantity == "length":
        yield _line_out(grid)


def _line_out(grid: RodGrid) -> _Told:
    """Tell the unit of line-outs that stand under the headings of rods."""
    headed = {heading_unit(heading, "length") for heading in grid.rods}
    unit = headed.pop() if len(headed) == 1 else ""
    why = "the headings of its rods say so"
    if not unit:
        unit, why = _typed(grid.lengths(), "length"), "its cells are typed with it"
    return _Told(grid.table, "line_out", unit, why, grid.shown())


def _typed(cells: Sequence[str], quantity: str) -> str:
    """Return the one unit that most cells are typed with, empty where they are not."""
    units = Counter(
        amount.unit for cell in cells if (amount := read_amount(cell, quantity, UNITS[quantity][0]))
    )
    whole = {unit for unit in units if unit in UNITS[quantity]}
    if len(whole) != 1 or units.total() < _WIDELY * len(cells):
        return ""
    return whole.pop()


def _natural(cells: Sequence[str]) -> tuple[str, str]:
    values = [value for cell in cells if (value := number_of(cell)) is not None]
    if values and min(values) > _WARM_C:
        return "F", f"no water is {min(values):g} degrees warm in C"
    if values and max(values) < _COLD_F:
        return "C", f"water of {max(values):g} F would be ice"
    return "", ""
