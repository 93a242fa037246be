"""Owns numbers as people type them: decimal commas, thousands marks, and units in cells."""

import re
from typing import NamedTuple

import numpy as np
import pandas as pd

from analysis.errors import LogError
from analysis.log.reading.draft import Draft
from analysis.log.schema import Field, fields_of
from analysis.log.wording.settings import Wording
from analysis.log.wording.unit_words import heading_unit, unit_word, value_in
from analysis.units import UNITS, Units

_PLAIN = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+|[+-]?[1-9]\d{0,2}(?:\.\d{3}){2,}")
_COMMA = re.compile(r"[+-]?(?:\d+,\d*|,\d+)")
_COMMA_SURE = re.compile(r"[+-]?\d*,(?:\d{1,2}|\d{4,})|[+-]?0,\d+|[+-]?\d{1,3}(?:\.\d{3})+,\d+")
_POINT_SURE = re.compile(r"[+-]?\d*\.\d+|[+-]?\d{1,3}(?:,\d{3})+\.\d+")
_PAIR = re.compile(r"\s*([+-]?(?:\d+(?:[.,]\d+)*|[.,]\d+))\s*([^\d\s,;+-][^\d\s,;]*)?[,;]?")
_SMALLER = {"lb": ("oz",), "ft": ("in",), "kg": ("g",), "m": ("cm",)}


class Amount(NamedTuple):
    """A number with the units typed behind it."""

    value: float
    unit: str


def read_amount(text: str, quantity: str, unit: str, mark: str = ".") -> Amount | None:
    r"""Return a number typed with its unit, in another unit; None where it is not one of these.

    Parameters
    ----------
    text : str
    quantity : str
        What it is of, a key of `analysis.units.QUANTITIES`.
    unit : str
        The unit it is wanted in.
    mark : str
        The decimal mark of the column.

    Returns
    -------
    Amount or None
        The value in `unit`, and the unit of the package that was typed first.

    Examples
    --------
    >>> read_amount("7 lb 8 oz", "fish_weight", "lb")
    Amount(value=7.5, unit='lb')
    >>> read_amount("8ft", "length", "ft"), read_amount("5'6\"", "length", "ft")
    (Amount(value=8.0, unit='ft'), Amount(value=5.5, unit='ft'))
    >>> read_amount("2,4 kn", "speed", "kn", mark=","), read_amount("80 lb", "length", "ft")
    (Amount(value=2.4, unit='kn'), None)
    """
    parts, at = [], 0
    while at < len(text):
        found = _PAIR.match(text, at)
        if found is None or not found[2]:
            return None
        parts.append((found[1], found[2]))
        at = found.end()
    total, first = 0.0, ""
    for number, (digits, word) in enumerate(parts):
        of = unit_word(word, quantity)
        value = _value(digits, mark)
        if of is None or value is None or number > 1:
            return None
        if number == 1 and (of.times == 1.0 and of.unit not in _SMALLER.get(first, ())):
            return None
        total += value_in(value, of, quantity, unit)
        first = first or of.unit
    return Amount(round(total, 10), first) if parts else None


def read_plain(text: str) -> bool:
    """Whether a text is a number without a unit, whichever its decimal mark is."""
    return number_of(text) is not None


def sure_number(text: str) -> float | None:
    """Return the number that a text alone can only mean, None where it is none or may be two.

    >>> sure_number("99,5"), sure_number("1,250"), sure_number("-2.5")
    (99.5, None, -2.5)
    """
    return _value(text.strip(), ".")


def number_of(text: str) -> float | None:
    """Return the number that a text is by either decimal mark, None where it is none."""
    value = _value(text, ".")
    return _value(text, ",") if value is None else value


def _value(digits: str, mark: str) -> float | None:
    """Return the number that digits with marks stand for, None where that is not certain."""
    if re.fullmatch(_PLAIN, digits) and (mark == "." or "." not in digits):
        return float(digits)
    if mark == "," or _COMMA_SURE.fullmatch(digits):
        plain = digits.replace(".", "").replace(",", ".")
    elif _POINT_SURE.fullmatch(digits) or _THOUSANDS.fullmatch(digits):
        if _THOUSANDS.fullmatch(digits):
            return None
        plain = digits.replace(",", "")
    else:
        return None
    return float(plain) if re.fullmatch(_PLAIN, plain) else None


def _marks(words: list[str]) -> set[str]:
    """Return the decimal marks that cells of a column can only mean."""
    numbers = [found[1] for word in words for found in [_PAIR.match(word)] if found]
    sure = {"," for n in numbers if _COMMA_SURE.fullmatch(n)}
    return sure | {"." for n in numbers if _POINT_SURE.fullmatch(n)}


def read_numbers(draft: Draft, wording: Wording, units: Units) -> list[str]:
    """Bring the numbers of a table into our form, in the boat's units.

    Parameters
    ----------
    draft : Draft
        The table, changed in place.
    wording : analysis.log.wording.settings.Wording
    units : analysis.units.Units
        What the tables are written in.

    Returns
    -------
    list of str
        Notes on columns whose unit is another than the boat's.

    Raises
    ------
    LogError
        Where some cells of a column have a unit that is not the column's, and others have none.
    """
    notes: list[str] = []
    for field in fields_of(draft.name):
        if field.kind == "number" and field.name in draft.frame:
            notes += _Column(draft, field, wording, units).read()
    return notes


class _Column:
    """One column of numbers."""

    def __init__(self, draft: Draft, field: Field, wording: Wording, units: Units) -> None:
        self.draft, self.field = draft, field
        self.boats = units.of(field.quantity) if field.quantity else ""
        self.told = wording.unit_of(draft.name, field.name)
        heading = draft.table.headings.get(field.name, "")
        if field.name in draft.table.units:
            heading = f"{field.name} ({draft.table.units[field.name]})"
        self.headed = heading_unit(heading, field.quantity) if wording.reads("headings") else ""
        self.unit = self.told or self.headed or self.boats
        self.generous = wording.reads("numbers")

    def read(self) -> list[str]:
        name = self.field.name
        text = self.draft.frame[name]
        notes: list[str] = []
        if self.unit != self.boats:
            source = "boat.toml says so" if self.told else "its heading says so"
            notes.append(f"{self.draft.name}.{name}: read in {self.unit}, for {source}")
        every = [str(word) for word in text.unique()]
        words = [word for word in every if word and not re.fullmatch(_PLAIN, word)]
        if self.unit == self.boats and not words:
            return notes
        plain = ~text.isin([*words, ""]).to_numpy()
        marks = _marks(every) if self.generous else {"."}
        mark = marks.pop() if len(marks) == 1 else "."
        amounts: dict[str, Amount] = {}
        if self.field.quantity and self.generous:
            read = {
                word: read_amount(word, self.field.quantity, self.boats, mark) for word in words
            }
            amounts = {word: amount for word, amount in read.items() if amount}
        self._check_units(text, amounts, plain)
        self.draft.each(name, lambda word: self._ours(word, amounts, mark))
        return notes

    def _check_units(
        self, text: "pd.Series[str]", amounts: dict[str, Amount], plain: "np.ndarray"
    ) -> None:
        """Ask where cells without a unit may be of the column's unit or of their neighbours'."""
        typed = {_whole(amount.unit, str(self.field.quantity)) for amount in amounts.values()}
        strange = typed - {self.unit, ""}
        if not strange or not plain.any():
            return
        with_unit = text.isin([w for w, a in amounts.items() if a.unit in strange]).to_numpy()
        other = sorted(strange)[0]
        msg = (
            f"{int(with_unit.sum())} numbers are typed with {other} (line "
            f"{self.draft.lines(with_unit)}) and {int(plain.sum())} without a unit (line "
            f"{self.draft.lines(plain)}), which boat.toml takes for {self.unit}"
        )
        remedy = (
            f"write the unit behind every number of this column, or {self.field.name} = "
            f'"{other}" under [units.{self.draft.name}] if all are in {other}'
        )
        if self.told:
            return
        raise LogError(
            msg,
            file=self.draft.file,
            column=self.field.name,
            value=str(text[with_unit].iloc[0]),
            remedy=remedy,
        )

    def _ours(self, word: str, amounts: dict[str, Amount], mark: str) -> tuple[str, str]:
        if word in amounts:
            amount = amounts[word]
            of = "" if amount.unit == self.boats else f", and brought into {self.boats}"
            return f"{amount.value:.15g}", f"the unit is typed with the number{of}"
        value, how = self._number(word, mark)
        if value is None:
            return word, ""
        if self.unit != self.boats and self.field.quantity:
            of_unit = unit_word(self.unit, self.field.quantity)
            assert of_unit is not None
            inside = value_in(value, of_unit, self.field.quantity, self.boats)
            return f"{inside:.15g}", ""  # the heading or boat.toml says so: a note does
        return (word, "") if not how else (f"{value:.15g}", how)

    def _number(self, word: str, mark: str) -> tuple[float | None, str]:
        if re.fullmatch(_PLAIN, word):
            return float(word), ""
        if not self.generous:
            return None, ""
        value = _value(word, mark)
        if value is None:
            return None, ""
        comma = _COMMA.fullmatch(word) is not None
        return (
            value,
            "decimal comma, read as a decimal point"
            if comma
            else "thousands mark, read without it",
        )


def _whole(unit: str, quantity: str) -> str:
    """Return a typed unit where the boat could write the column in it, else nothing."""
    return unit if unit in UNITS.get(quantity, ()) else ""
