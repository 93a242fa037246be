"""Owns how numbers, bands, periods, rates and chances are written; every text takes them here."""

import math
from collections.abc import Callable, Sequence
from datetime import date

from analysis.units import LINE_STEP, Units, from_si

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

Z90 = 1.645
"""Half the width of a 90 % interval of a normal, in standard deviations: every ± is one."""
_FINE = ("m", "C")
"""Units of which a tenth may be known."""
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
    """Write strikes per rod-hour: to three decimals below one, so that columns line up.

    A smaller rate gets the decimals that two digits need: one that is not 0 never reads 0.

    Examples
    --------
    >>> rate(0.1234), rate(0.0123), rate(0.00345), rate(1.5)
    ('0.123', '0.012', '0.0034', '1.5')
    >>> rate(0.0), rate(4e-7)
    ('0', 'under 0.0001')
    """
    if value is None or not math.isfinite(value):
        return "–"
    if value >= 1:
        return number(value, 1)
    return _small(value, 3)


def ratio(value: float) -> str:
    """Write how many times one rate is another: to two decimals below ten, or two digits.

    From a hundred on it is two digits again: so wide a ratio is not known to the tenth.

    Examples
    --------
    >>> ratio(1.064), ratio(0.0042), ratio(12.34), ratio(582.7), ratio(float("nan"))
    ('1.06', '0.0042', '12.3', '580', '–')
    """
    if value is None or not math.isfinite(value):
        return "–"
    if value >= 100:
        return number(float(f"{value:.2g}"))
    return number(value, 1) if value >= 10 else _small(value, 2)


def _small(value: float, digits: int) -> str:
    """Write a number with some decimals, or so many more that two of its digits show."""
    if 0 < value < 0.0001:
        return "under 0.0001"
    if value == 0:
        return "0"
    needed = 1 - math.floor(math.log10(value))
    return f"{value:.{max(digits, needed)}f}"


def interval(low: float, high: float, write: Callable[[float], str] = rate) -> str:
    """Write an interval; a dash where there is none.

    Examples
    --------
    >>> interval(0.1, 0.25), interval(0.94, 1.19, ratio), interval(math.nan, math.nan)
    ('0.100 to 0.250', '0.94 to 1.19', '–')
    """
    if low is None or not math.isfinite(low):
        return "–"
    return f"{write(low)} to {write(high)}"


def as_known(low: float, high: float) -> Callable[[float], str]:
    """Return how to write a count with this interval: to no finer a step than it is known.

    The step is the power of ten that fits into a quarter of the interval.

    Examples
    --------
    >>> write = as_known(1223.0, 1363.0)
    >>> write(1284.0), write(1223.0), as_known(49.0, 100.0)(72.0), as_known(3.0, 9.0)(6.0)
    ('1,280', '1,220', '70', '6')
    """
    digits = _digits_known(low, high, 0)
    return lambda value: number(round(value, digits) if math.isfinite(value) else value)


def rate_as_known(low: float, high: float) -> Callable[[float], str]:
    """Return how to write a rate with this interval: to no finer a decimal than it is known.

    The step is that of `as_known`; what it would make 0 keeps one digit.

    Examples
    --------
    >>> write = rate_as_known(0.59, 1.39)
    >>> write(0.998), write(0.59), write(0.03), write(0.0)
    ('1.0', '0.6', '0.03', '0')
    >>> rate_as_known(0.094, 0.108)(0.1014), rate_as_known(0.114, 0.157)(0.1342)
    ('0.101', '0.13')
    >>> rate_as_known(120.0, 170.0)(143.2)
    '140'
    """
    digits = _digits_known(low, high, 3)

    def write(value: float) -> str:
        if value is None or not math.isfinite(value):
            return "–"
        known = round(value, digits)
        if known == 0:
            return "0" if value == 0 else f"{value:.1g}" if value >= 0.0001 else "under 0.0001"
        return number(known, max(digits, 0))

    return write


def _digits_known(low: float, high: float, most: int) -> int:
    """Digits after the point, fewer than none for tens, of the power that fits into a quarter."""
    quarter = (high - low) / 4.0
    return min(-math.floor(math.log10(quarter)), most) if quarter > 0 else most


def rate_and_interval(middle: float, low: float, high: float) -> tuple[str, str]:
    """Write a rate and its interval, both as `rate_as_known` does.

    Examples
    --------
    >>> rate_and_interval(0.335, 0.06, 0.802), rate_and_interval(0.1014, 0.094, 0.108)
    (('0.3', '0.1 to 0.8'), ('0.101', '0.094 to 0.108'))
    """
    write = rate_as_known(low, high)
    return write(middle), interval(low, high, write)


def give(mean: float, sd: float, quantity: str, units: Units) -> str:
    """Write an SI amount in the boat's unit, give or take its 90 % interval.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> give(15.24, 1.0, "depth", feet), give(15.24, 0.05, "depth", feet)
    ('50 ± 5 ft', '50 ± 1 ft')
    >>> metres = Units(length="m", depth="m", speed="kn", temperature="C", fish_length="cm",
    ...                fish_weight="kg")
    >>> give(15.24, 0.2, "depth", metres), give(12.0, 0.02, "temperature", metres)
    ('15.2 ± 0.3 m', '12.0 ± 0.1 °C')
    """
    unit = units.of(quantity)
    middle = float(from_si(mean, quantity, unit))
    wide = Z90 * sd * abs(float(from_si(1.0, quantity, unit) - from_si(0.0, quantity, unit)))
    digits = 1 if wide < 1.0 and unit in _FINE else 0
    shown = max(wide, 10.0**-digits)
    return f"{number(middle, digits)} ± {number(shown, digits)} {unit_of(quantity, units)}"


def percent(share: float) -> str:
    """Write a share as a percentage; one that is not 0 never reads 0.

    Examples
    --------
    >>> percent(0.256), percent(0.002), percent(0.0), percent(float("nan"))
    ('26 %', 'under 1 %', '0 %', '–')
    """
    if share is None or not math.isfinite(share):
        return "–"
    return "under 1 %" if 0 < share < 0.005 else f"{100 * share:.0f} %"


def too_little_fished(sides: Sequence[str]) -> str:
    """Say that ``shallower`` or ``deeper`` water than the best may be better still."""
    where = " and ".join(sides).capitalize()
    return f"{where} water was fished too little to judge, and may be better still."


def chance(share: float) -> str:
    """Write a chance as a percentage; no log makes one certain.

    Examples
    --------
    >>> chance(0.256), chance(0.998), chance(0.0), chance(float("nan"))
    ('26 %', 'over 99 %', 'under 1 %', '–')
    """
    if share is None or not math.isfinite(share):
        return "–"
    if share > 0.99:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else f"{100 * share:.0f} %"


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


def between(low: float, high: float, quantity: str, units: Units, digits: int = 0) -> str:
    """Write a range of SI values in the boat's unit; one amount where both ends read alike.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> between(30.48, 45.72, "length", feet), between(9.9, 10.1, "temperature", feet)
    ('100–150 ft', '50 °F')
    """
    start, _, _ = amount(low, quantity, units, digits).rpartition(" ")
    end = amount(high, quantity, units, digits)
    return end if end.startswith(f"{start} ") else f"{start}–{end}"


def line_outs(low_m: float, high_m: float, units: Units) -> str:
    """Write between which line-outs a rod is let out, in the steps of a hand; one where they agree.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> line_outs(29.9, 33.2, feet), line_outs(31.4, 31.4, feet)
    ('100–110 ft', '105 ft')
    """
    unit = units.length
    step = LINE_STEP[unit]
    low, high = (
        number(step * round(float(from_si(end, "length", unit)) / step)) for end in (low_m, high_m)
    )
    return f"{low} {unit}" if low == high else f"{low}–{high} {unit}"


def band(low_m: float, high_m: float, units: Units, *, unit: bool = True) -> str:
    """Write a depth band in the boat's unit, its edges with as many digits as its height needs.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> band(9.144, 12.192, feet)
    '30–40 ft'
    >>> band(9.144, 12.192, feet, unit=False)
    '30–40'
    >>> metres = Units(length="m", depth="m", speed="kn", temperature="C", fish_length="cm",
    ...                fish_weight="kg")
    >>> band(4.5, 6.0, metres), band(1.25, 2.5, metres), band(4.572, 5.334, metres)
    ('4.5–6 m', '1.25–2.5 m', '4.57–5.33 m')
    """
    text = band_in(low_m, high_m, units.depth)
    return text if unit else text.rpartition(" ")[0]


def band_in(low_m: float, high_m: float, depth_unit: str) -> str:
    """Write a depth band in a unit, as `band` does.

    Examples
    --------
    >>> band_in(9.144, 12.192, "ft")
    '30–40 ft'
    """
    low, high = (float(end) for end in from_si([low_m, high_m], "depth", depth_unit))
    return f"{_edge(low, high - low)}–{_edge(high, high - low)} {depth_unit}"


def _edge(value: float, height: float) -> str:
    """Write a band's edge with the fewest decimals that put it off by a hundredth of the height."""
    fits = (n for n in range(2) if abs(value - round(value, n)) <= 0.01 * height + 1e-9)
    return number(value, next(fits, 2))


def period(name: str) -> str:
    """Write a period of the tables in words.

    Examples
    --------
    >>> period("season"), period("2026-07")
    ('Season', 'July 2026')
    """
    return "Season" if name == "season" else f"{month(name)} {name[:4]}"


def month(name: str) -> str:
    """Write the month of a period.

    Examples
    --------
    >>> month("2026-07")
    'July'
    """
    return _MONTHS[int(name[5:7]) - 1]


def short_month(name: str) -> str:
    """Write the month of a period in three letters.

    Examples
    --------
    >>> short_month("2026-07")
    'Jul'
    """
    return month(name)[:3]


def week(name: str) -> str:
    """Write an ISO week within its year.

    Examples
    --------
    >>> week("2026-W07")
    'week 7'
    """
    return f"week {int(name.split('-W')[1])}"


def day(when: date, *, year: bool = True) -> str:
    """Write a date as people say it.

    Examples
    --------
    >>> day(date(2026, 7, 4)), day(date(2026, 7, 4), year=False)
    ('4 July 2026', '4 July')
    """
    text = f"{when.day} {_MONTHS[when.month - 1]}"
    return f"{text} {when.year}" if year else text


def listing(items: Sequence[str]) -> str:
    """Join items as a sentence does.

    Examples
    --------
    >>> listing(["Dunlin"]), listing(["Dunlin", "Petrel", "Whimbrel"])
    ('Dunlin', 'Dunlin, Petrel and Whimbrel')
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def opening(text: str) -> str:
    """Return a text with a capital at its beginning, all else as it is.

    Examples
    --------
    >>> opening("lake trout of the Sound")
    'Lake trout of the Sound'
    """
    return text[:1].upper() + text[1:]


def gear_and_setting(gear: str, setting: float) -> str:
    """Name a gear with its dial setting, where it has one.

    Examples
    --------
    >>> gear_and_setting("diver", 3.5), gear_and_setting("rigger", float("nan"))
    ('diver, setting 3.5', 'rigger')
    """
    return gear if setting != setting else f"{gear}, setting {setting:g}"
