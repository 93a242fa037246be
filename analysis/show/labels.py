"""Owns how numbers, bands and periods are written: in the boat's own units, in plain words."""

import math
from datetime import date

from analysis.units import Units, from_si

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

UNIT_MARKS = {"F": "°F", "C": "°C"}
"""Units that are written otherwise than the log spells them."""

TERM_QUANTITY = {
    "depth_m": "depth",
    "speed_mps": "speed",
    "lure_temp_c": "temperature",
    "surface_temp_c": "temperature",
    "leader_length_m": "length",
}
"""The quantity of each term of the model."""

TERM_WORDS = {
    "depth_m": "depth",
    "speed_mps": "speed",
    "lure_temp_c": "temperature at the lure",
    "surface_temp_c": "surface temperature",
    "leader_length_m": "leader length",
}
"""Each term of the model in plain words."""


def number(value: float, digits: int = 0) -> str:
    """Write a number, or a dash for one that is not known.

    Examples
    --------
    >>> number(1234.5), number(0.1234, 2), number(float("nan"))
    ('1,234', '0.12', '–')
    """
    if value is None or not math.isfinite(value):
        return "–"
    return f"{value:,.{digits}f}"


def short(value: float) -> str:
    """Write a band's edge or a line-out: whole where it is whole, else with one decimal.

    Examples
    --------
    >>> short(30.0), short(5.5)
    ('30', '5.5')
    """
    return number(value, 0 if abs(value - round(value)) < 0.05 else 1)


def count(number_of: float, word: str) -> str:
    """Write how many there are of something.

    Examples
    --------
    >>> count(1, "trip"), count(1204, "strike")
    ('1 trip', '1,204 strikes')
    """
    return f"{number(number_of)} {word}" if number_of == 1 else f"{number(number_of)} {word}s"


def rate(value: float) -> str:
    """Write strikes per rod-hour, always to the same decimal below one, so that columns line up.

    Examples
    --------
    >>> rate(0.1234), rate(0.0123), rate(1.5)
    ('0.123', '0.012', '1.5')
    """
    if value is None or not math.isfinite(value):
        return "–"
    return f"{value:.1f}" if value >= 1 else f"{value:.3f}"


def percent(share: float) -> str:
    """Write a share as a percentage.

    Examples
    --------
    >>> percent(0.256), percent(float("nan"))
    ('26 %', '–')
    """
    return "–" if not math.isfinite(share) else f"{100 * share:.0f} %"


def unit_of(quantity: str, units: Units) -> str:
    """Return the mark of the boat's unit of a quantity.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> unit_of("temperature", feet)
    '°F'
    """
    unit = units.of(quantity)
    return UNIT_MARKS.get(unit, unit)


def amount(value: float, quantity: str, units: Units, digits: int = 0) -> str:
    """Write an SI value in the boat's unit, with the unit.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> amount(30.48, "depth", feet)
    '100 ft'
    """
    inside = float(from_si(value, quantity, units.of(quantity)))
    return f"{number(inside, digits)} {unit_of(quantity, units)}"


def band(low_m: float, high_m: float, units: Units, *, unit: bool = True) -> str:
    """Write a depth band in the boat's unit.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> band(9.144, 12.192, feet)
    '30–40 ft'
    >>> band(9.144, 12.192, feet, unit=False)
    '30–40'
    """
    low, high = (short(float(end)) for end in from_si([low_m, high_m], "depth", units.depth))
    mark = f" {unit_of('depth', units)}" if unit else ""
    return f"{low}–{high}{mark}"


def period(name: str) -> str:
    """Write a period of the tables in words.

    Examples
    --------
    >>> period("season"), period("2026-07")
    ('Season', 'July 2026')
    """
    if name == "season":
        return "Season"
    year, month = name.split("-")
    return f"{_MONTHS[int(month) - 1]} {year}"


def month(name: str) -> str:
    """Write a month's period in three letters.

    Examples
    --------
    >>> month("2026-07")
    'Jul'
    """
    return _MONTHS[int(name.split("-")[1]) - 1][:3]


def day(when: date) -> str:
    """Write a date as people say it.

    Examples
    --------
    >>> day(date(2026, 7, 4))
    '4 July 2026'
    """
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def listing(items: list[str]) -> str:
    """Join items as a sentence does.

    Examples
    --------
    >>> listing(["Dunlin"]), listing(["Dunlin", "Petrel", "Whimbrel"])
    ('Dunlin', 'Dunlin, Petrel and Whimbrel')
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"
