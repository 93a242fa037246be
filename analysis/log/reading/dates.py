"""Owns dates as people type them: forms that say one thing, and orders that a column decides."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

_MONTHS = (
    "january januar januari janvier enero gennaio",
    "february februar februari février fevrier febrero febbraio",
    "march mars märz maerz mrz maart marzo",
    "april avril abril aprile",
    "may mai maj mei mayo maggio",
    "june juni juin junio giugno",
    "july juli juillet julio luglio",
    "august augusti augustus août aout agosto",
    "september septembre septiembre settembre sept",
    "october oktober octobre octubre ottobre",
    "november novembre noviembre",
    "december desember dezember décembre decembre diciembre dicembre",
)
_SERIAL_START = date(1899, 12, 30)  # day 0 of spreadsheets, ISO/IEC 29500-1, 18.17.4.1
_SERIALS = (36526, 73050)  # 2000 to 2099
_WEEKDAY = r"(?:[^\W\d_]{2,10}\.?,?\s+)?"
_NUMBERS = re.compile(_WEEKDAY + r"(\d{1,2})([./-])\s?(\d{1,2})\2\s?(\d{4}|\d{2})", re.ASCII)
_YEARLESS = re.compile(_WEEKDAY + r"(\d{1,2})([./])\s?(\d{1,2})\.?", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})", re.ASCII)
_RUN_TOGETHER = re.compile(r"(20\d\d)(\d\d)(\d\d)", re.ASCII)
_DAY_WORD = re.compile(
    _WEEKDAY
    + r"(\d{1,2})(?:st|nd|rd|th|\.)?[\s.-]*(?:de |of )?([^\W\d_]{3,})\.?,?[\s-]*(\d{4}|\d{2})?"
)
_WORD_DAY = re.compile(_WEEKDAY + r"([^\W\d_]{3,})\.?\s*(\d{1,2})(?:st|nd|rd|th)?(?:,?\s+(\d{4}))?")
_SERIAL = re.compile(r"(\d{5})(?:[.,](\d+))?", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class Written:
    """One date as read: certain, or three numbers whose order the column decides.

    Parameters
    ----------
    days : mapping
        Order (``day-month``, ``month-day``, ``year-month``) -> the date, where it is one.
    clock : str
        What stands behind the date, empty for nothing.
    certain : bool
        Whether the order does not matter.
    """

    days: dict[str, date]
    clock: str = ""
    certain: bool = True


def _month(word: str) -> int:
    """Return the month whose names begin with a word, 0 for none or two."""
    word = word.casefold()
    found = {
        number
        for number, names in enumerate(_MONTHS, start=1)
        if any(name.startswith(word) for name in names.split())
    }
    return found.pop() if len(found) == 1 else 0


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


def read_date(text: str, year: int | None = None) -> Written | None:
    """Read a date as typed, with or without a clock behind it.

    Parameters
    ----------
    text : str
    year : int, optional
        The year of dates that have none.

    Returns
    -------
    Written or None
        None where it is no date.

    Examples
    --------
    >>> read_date("4 July 2026").days["day-month"].isoformat()
    '2026-07-04'
    >>> sorted(read_date("04/07/2026").days), read_date("Jul 4, 2026 5:20 AM").clock
    (['day-month', 'month-day'], '5:20 AM')
    >>> read_date("46207.25").clock, read_date("46207").days["day-month"].isoformat()
    ('06:00', '2026-07-04')
    """
    whole = _alone(text, year)
    if whole is not None:
        return whole
    # from the right: the clock may hold a blank itself, as in 4 July 2026 5:20 PM
    for cut in reversed([at for at, letter in enumerate(text) if letter in " T"]):
        part = _alone(text[:cut].rstrip(" ,"), year)
        if part is not None and text[cut + 1 :].strip():
            return Written(days=part.days, clock=text[cut + 1 :].strip(), certain=part.certain)
    return None


def _sure(day: date | None, clock: str = "") -> Written | None:
    return Written(days={"day-month": day}, clock=clock) if day else None


def _alone(text: str, year: int | None) -> Written | None:
    """Read a date without a clock."""
    if found := _YEAR_FIRST.fullmatch(text) or _RUN_TOGETHER.fullmatch(text):
        numbers = found.groups() if found.re is _RUN_TOGETHER else (found[1], found[3], found[4])
        return _sure(_day(*map(int, numbers)))
    if found := _NUMBERS.fullmatch(text):
        return _orders(int(found[1]), int(found[3]), found[4], found[2])
    if (found := _YEARLESS.fullmatch(text)) and year:
        return _orders(int(found[1]), int(found[3]), str(year), found[2])
    if (found := _DAY_WORD.fullmatch(text)) and _month(found[2]) and (found[3] or year):
        return _sure(_day(int(found[3] or year or 0), _month(found[2]), int(found[1])))
    if (found := _WORD_DAY.fullmatch(text)) and _month(found[1]) and (found[3] or year):
        return _sure(_day(int(found[3] or year or 0), _month(found[1]), int(found[2])))
    if (found := _SERIAL.fullmatch(text)) and _SERIALS[0] <= int(found[1]) <= _SERIALS[1]:
        minutes = round(float(f"0.{found[2] or 0}") * 1440)
        day = _SERIAL_START + timedelta(days=int(found[1]) + minutes // 1440)
        clock = f"{minutes % 1440 // 60:02d}:{minutes % 60:02d}" if found[2] else ""
        return _sure(day, clock)
    return None


def _orders(first: int, second: int, last: str, mark: str) -> Written | None:
    """Read three numbers in every order that makes a date."""
    days = {
        "day-month": _day(int(last), second, first),
        "month-day": _day(int(last), first, second),
    }
    if mark == "-" and len(last) == 2:
        days["year-month"] = _day(first, second, int(last))
    possible = {order: day for order, day in days.items() if day}
    if not possible:
        return None
    return Written(days=possible, certain=len(set(possible.values())) == 1 and len(possible) > 1)


def yearless(text: str) -> bool:
    """Whether a text would be a date if it had a year.

    Examples
    --------
    >>> yearless("4/7"), yearless("4 July"), yearless("4/7/2026"), yearless("05.20")
    (True, True, False, True)
    """
    return _alone(text, None) is None and _alone(text, 2024) is not None
