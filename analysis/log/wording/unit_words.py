"""Owns units as people type them: in a heading, or behind a number in a cell."""

import re
from collections.abc import Mapping
from typing import NamedTuple

from analysis.units import UNITS, from_si, to_si

LENGTHS = ("length", "depth", "fish_length")
"""Quantities that share their units, however the boat's own are called."""


class UnitWord(NamedTuple):
    """What one typed unit is: so many of a unit of the package, by a quantity that has it."""

    times: float
    quantity: str
    unit: str


# spellings are common practice, no source; factors beside those of `analysis.units` are exact
_SPELT: Mapping[UnitWord, str] = {
    UnitWord(1.0, "length", "ft"): "ft ft. feet foot fot fod fuß fuss pied pieds ' ′ ’",
    UnitWord(1.0, "length", "m"): "m m. meter meters metre metres mètre mètres",
    UnitWord(3.0, "length", "ft"): "yd yds yard yards",
    UnitWord(1.0, "fish_length", "in"): "in in. inch inches tommer tum zoll \" ″ ” ''",
    UnitWord(1.0, "fish_length", "cm"): "cm cm. centimeter centimetre centimeters centimetres",
    UnitWord(1.0, "speed", "mph"): "mph mi/h m.p.h.",
    UnitWord(1.0, "speed", "kn"): "kn kt kts knot knots knop knob knoten nœuds noeuds",
    UnitWord(1.0, "speed", "km/h"): "km/h km/t kmh kmt kph kmph",
    UnitWord(1.0, "speed", "m/s"): "m/s ms mps m/sec",
    UnitWord(1.0, "temperature", "F"): "f °f ºf degf fahrenheit",
    UnitWord(1.0, "temperature", "C"): "c °c ºc degc celsius",
    UnitWord(1.0, "fish_weight", "lb"): "lb lbs lb. lbs. pound pounds #",
    UnitWord(1.0 / 16.0, "fish_weight", "lb"): "oz oz. ounce ounces",
    UnitWord(1.0, "fish_weight", "kg"): "kg kg. kilo kilos kilogram kilograms",
    UnitWord(0.001, "fish_weight", "kg"): "g gr gram grams gramm",
}
_WORDS = {word: unit for unit, words in _SPELT.items() for word in words.split()}
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_SPACES = re.compile(r"[\s_,;:()\[\]?-]+")
_IN_BRACKETS = re.compile(r"(.*?)[\s_]*[(\[]\s*([^)\]]+?)\s*[)\]]\s*\.?")
_BEHIND = re.compile(r"(.*?)[\s,]*(?:,|\s|_|(?=°|º))([^\s_,]+)")


def unit_word(word: str, quantity: str) -> UnitWord | None:
    """Return the unit that a word names, None where the quantity has no such unit.

    Examples
    --------
    >>> unit_word("Feet", "depth").unit, unit_word("kts", "speed").unit, unit_word("m", "speed")
    ('ft', 'kn', None)
    """
    found = _WORDS.get(word.casefold())
    if found is None:
        return None
    kin = LENGTHS if quantity in LENGTHS else (quantity,)
    return found if found.quantity in kin else None


def unit_quantity(word: str) -> str:
    """Return the quantity that a unit's word is first of, empty for none.

    Examples
    --------
    >>> unit_quantity("kts"), unit_quantity("cm"), unit_quantity("spoons")
    ('speed', 'fish_length', '')
    """
    found = _WORDS.get(word.strip().casefold())
    return found.quantity if found else ""


def value_in(number: float, word: UnitWord, quantity: str, unit: str) -> float:
    """Return a number typed with one unit in another of the same quantity.

    Examples
    --------
    >>> value_in(8.0, unit_word("oz", "fish_weight"), "fish_weight", "lb")
    0.5
    """
    if word.unit == unit:
        return number * word.times
    return float(from_si(to_si(number * word.times, word.quantity, word.unit), quantity, unit))


def split_heading(heading: str) -> tuple[str, str]:
    """Return a heading without the unit it ends in, and that unit's word, empty for none.

    Examples
    --------
    >>> split_heading("Line out (ft)"), split_heading("Temp °C"), split_heading("Time out")
    (('Line out', 'ft'), ('Temp', '°C'), ('Time out', ''))
    >>> split_heading("line_out_m")
    ('line_out', 'm')
    """
    for pattern in (_IN_BRACKETS, _BEHIND):
        found = pattern.fullmatch(heading)
        if found and found[1] and found[2].casefold() in _WORDS:
            return found[1], found[2]
    return heading, ""


def heading_unit(heading: str, quantity: str | None) -> str:
    """Return the unit that a heading names for its column, empty where it names none of it."""
    _, word = split_heading(heading)
    if not word or quantity is None:
        return ""
    found = unit_word(word, quantity)
    known = found is not None and found.times == 1.0 and found.unit in UNITS[quantity]
    return found.unit if found is not None and known else ""


def unit_within(heading: str, quantity: str) -> str:
    """Return the one unit of a quantity that stands anywhere among a heading's words.

    Only for a column that is known to be of that quantity: short words that mean more than a
    unit, such as in, count at the end alone.

    Examples
    --------
    >>> unit_within("Feet behind ball", "length"), unit_within("fishLengthIn", "fish_length")
    ('ft', 'in')
    >>> unit_within("Weight in the net", "fish_weight"), unit_within("Length in cm", "fish_length")
    ('', 'cm')
    """
    words = [word for word in _SPACES.split(_CAMEL.sub(" ", heading).casefold()) if word]
    units = []
    for number, word in enumerate(words, start=1):
        found = unit_word(word, quantity)
        clear = len(word) > 1 and word != "in"
        if found is not None and (clear or number == len(words)):
            units.append(found)
    told = {one.unit for one in units if one.times == 1.0 and one.unit in UNITS[quantity]}
    return told.pop() if len(told) == 1 and len(units) == 1 else ""
