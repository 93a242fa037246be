"""Owns the result tables as one workbook for people: a sheet a table, in the boat's own units."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import xlsxwriter

from analysis.csv_files import harmless
from analysis.names import Column
from analysis.result_schema import RESULTS
from analysis.units import QUANTITIES, Units, from_si

FILE = "results.xlsx"
MEANINGS = "meanings"
"""The first sheet: what every column of the others is."""
MOST_ROWS = 20_000
"""A longer table, most often the exposure, is told of and left out: no one reads it by eye."""
_LONGEST_TEXT = 32_767  # characters of a cell (Microsoft, "Excel specifications and limits")
_ALONG_THE_LINE = ("line_out", "lead", "leader", "lateral", "setback", "tip")
_OF_A_FISH = {"m": "fish_length", "kg": "fish_weight"}
_FIXED_TIME = datetime.fromisoformat("2000-01-01")  # the same results make the same file
_SAYS_ITSELF = ("text", "-", "true/false", "local date", "unit column", "unit of the term")
_FROM_TERM = "unit of the term"


@dataclass(frozen=True, kw_only=True)
class _Shown:
    """One column of a sheet: its heading, what is said of it, and its cells."""

    heading: str
    unit: str
    meaning: str
    name: str
    cells: pd.Series


def quantity_of(column: Column) -> str | None:
    """Return what a column of SI numbers is of, a key of `analysis.units.QUANTITIES`, or None.

    Examples
    --------
    >>> [quantity_of(Column(name=name, unit="m", meaning="")) for name in
    ...  ("depth_m", "line_out_m", "biggest_length_m")]
    ['depth', 'length', 'fish_length']
    """
    if column.unit in _OF_A_FISH and column.name.startswith("biggest_"):
        return _OF_A_FISH[column.unit]
    if column.unit == "m":
        return "length" if column.name.startswith(_ALONG_THE_LINE) else "depth"
    return next((q for q in ("speed", "temperature") if QUANTITIES[q] == column.unit), None)


def write_book(tables: Mapping[str, pd.DataFrame], units: Units, file: Path) -> None:
    """Write the result tables as a workbook.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Each known to `analysis.result_schema`.
    units : Units
        The boat's own; a column's unit stands behind its heading.
    file : pathlib.Path
        Text is typed as text: a cell that begins with = + - or @ is no formula. Numbers are
        numbers, unknown ones empty.
    """
    short = {name: frame for name, frame in tables.items() if len(frame) <= MOST_ROWS}
    shown = {name: list(_columns(name, frame, units)) for name, frame in short.items()}
    with xlsxwriter.Workbook(str(file), {"constant_memory": True}) as book:
        book.set_properties({"title": "Season results", "created": _FIXED_TIME})
        sheets = _Sheets(book)
        left_out = [name for name in tables if name not in short]
        sheets.add(MEANINGS, list(_meanings(shown, left_out)))
        for name, columns in shown.items():
            sheets.add(name, columns)


def _columns(table: str, frame: pd.DataFrame, units: Units) -> Iterator[_Shown]:
    """Yield the columns of a table in the boat's own units."""
    says = {column.name: column for column in RESULTS[table].columns}
    for name in map(str, frame.columns):
        column, cells = says[name], frame[name]
        if column.unit == _FROM_TERM and pd.api.types.is_numeric_dtype(cells):
            of = [quantity_of(_term(term)) for term in frame["term"]]
            own = [
                float(_in_own(cell, quantity, name, units))
                for cell, quantity in zip(cells, of, strict=True)
            ]
            yield _shown(column, name, "unit column", pd.Series(own, index=cells.index))
            if name == "at":
                words = [units.of(quantity) if quantity else "" for quantity in of]
                meaning = "unit of at, reference and step"
                said = Column(name="", unit="text", meaning=meaning)
                yield _shown(said, "unit", "text", pd.Series(words, index=cells.index))
            continue
        quantity = quantity_of(column)
        if quantity is None:
            unit = "" if column.unit in _SAYS_ITSELF else column.unit
            yield _shown(column, _headed(name, unit, column.unit), column.unit, cells)
            continue
        unit = units.of(quantity)
        own_cells = pd.Series(_in_own(cells, quantity, name, units), index=cells.index)
        yield _shown(column, _headed(name, unit, column.unit), unit, own_cells)


def _term(name: str) -> Column:
    """Return the column that a term of the rate is named after."""
    unit = {"m": "m", "mps": "m/s", "c": "C"}.get(name.rpartition("_")[2], "-")
    return Column(name=name, unit=unit, meaning="")


def _in_own(values: Any, quantity: str | None, name: str, units: Units) -> Any:
    """Return SI numbers in the boat's unit; a difference has no zero point to be moved."""
    if quantity is None:
        return values
    own = from_si(np.asarray(values, dtype=float), quantity, units.of(quantity))
    difference = "_sd_" in name or name == "step"
    return own - from_si(0.0, quantity, units.of(quantity)) if difference else own


def _headed(name: str, unit: str, si: str) -> str:
    """Return a heading with its unit behind it, in place of the one in the name.

    Examples
    --------
    >>> _headed("depth_m", "ft", "m"), _headed("rate", "1/h", "1/h"), _headed("trip", "", "text")
    ('depth (ft)', 'rate (1/h)', 'trip')
    """
    ending = {"m": "_m", "m/s": "_mps", "C": "_c", "kg": "_kg", "N": "_n"}.get(si, "")
    stem = name.removesuffix(ending) if ending else name
    plain = stem.replace("_", " ")
    return f"{plain} ({unit})" if unit else plain


def _shown(column: Column, heading: str, unit: str, cells: pd.Series) -> _Shown:
    return _Shown(heading=heading, unit=unit, meaning=column.meaning, name=column.name, cells=cells)


def _meanings(shown: Mapping[str, list[_Shown]], left_out: list[str]) -> Iterator[_Shown]:
    """Yield the columns of the first sheet."""
    rows = [
        (table, one.heading, one.unit, one.meaning, one.name)
        for table, columns in shown.items()
        for one in [_table_row(table), *columns]
    ]
    for table in left_out:
        row = _table_row(table)
        why = f"{row.meaning}; too long for a sheet, see the file {table} beside this one"
        rows.append((table, "", "", why, ""))
    headings = ("sheet", "column", "unit", "meaning", "name in the other files")
    frame = pd.DataFrame(rows, columns=list(headings))
    for heading in headings:
        yield _Shown(heading=heading, unit="text", meaning="", name="", cells=frame[heading])


def _table_row(table: str) -> _Shown:
    meaning = f"each row: {RESULTS[table].meaning}"
    return _Shown(heading="", unit="", meaning=meaning, name="", cells=pd.Series(dtype="str"))


class _Sheets:
    """The sheets of one workbook, with the forms of their cells."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._head = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self._day = book.add_format({"num_format": "yyyy-mm-dd"})
        self._moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        # typed as text even where somebody edits it
        self._quoted = book.add_format({"quote_prefix": True})

    def add(self, name: str, columns: list[_Shown]) -> None:
        """Add a sheet; its first row is the headings, and stays in sight."""
        sheet = self._book.add_worksheet(name)
        sheet.freeze_panes(1, 0)
        for at, one in enumerate(columns):
            shown = [one.heading, *map(str, one.cells.iloc[:50].tolist())]
            sheet.set_column(at, at, min(max(map(len, shown)) + 2, 60))
        for at, one in enumerate(columns):
            sheet.write_string(0, at, one.heading, self._head)
        writers = [self._writer(sheet, one.cells) for one in columns]
        cells = [_plain(one.cells) for one in columns]
        for row in range(len(cells[0]) if cells else 0):
            for at, write in enumerate(writers):
                write(row + 1, at, cells[at][row])

    def _writer(self, sheet: Any, cells: pd.Series) -> Callable[[int, int, Any], None]:
        """Return what writes the cells of a column."""
        if pd.api.types.is_bool_dtype(cells):
            return lambda row, at, cell: sheet.write_boolean(row, at, cell)
        if pd.api.types.is_datetime64_any_dtype(cells):
            form = self._day if cells.dt.tz is None else self._moment

            def moment(row: int, at: int, cell: Any) -> None:
                if cell is not None:
                    sheet.write_datetime(row, at, cell, form)

            return moment
        if pd.api.types.is_numeric_dtype(cells):

            def number(row: int, at: int, cell: Any) -> None:
                if isinstance(cell, int | float) and math.isfinite(cell):
                    sheet.write_number(row, at, cell)

            return number

        def mixed(row: int, at: int, cell: Any) -> None:
            if isinstance(cell, bool):
                sheet.write_boolean(row, at, cell)
            elif isinstance(cell, int | float):
                if math.isfinite(cell):
                    sheet.write_number(row, at, cell)
            elif cell is not None and cell is not pd.NaT and cell is not pd.NA and str(cell):
                text = str(cell)
                form = self._quoted if harmless(text) != text else None
                sheet.write_string(row, at, text[:_LONGEST_TEXT], form)

        return mixed


def _plain(cells: pd.Series) -> list[Any]:
    """Return the cells of a column as Python has them."""
    if pd.api.types.is_datetime64_any_dtype(cells):
        naive = cells if cells.dt.tz is None else cells.dt.tz_convert("UTC").dt.tz_localize(None)
        return [None if pd.isna(cell) else cell.to_pydatetime() for cell in naive]
    return cells.tolist()
