"""Owns ISO weeks: their names, their days, and the weeks to compare with."""

import re
from datetime import date, timedelta

from analysis.errors import UsageError

_WEEK = re.compile(r"(\d{4})-W(\d{2})")


class WeekError(UsageError):
    """A week that is none or in no log's years, or a range that runs backwards."""


def check_week(text: str) -> str:
    """Return an ISO week if it is one.

    Raises
    ------
    WeekError
        For anything else, with an example.

    Examples
    --------
    >>> check_week("2026-W27")
    '2026-W27'
    """
    found = _WEEK.fullmatch(str(text))  # a notebook's parameter may be a number
    try:
        if found:
            return week_label(date.fromisocalendar(int(found[1]), int(found[2]), 1))
    except ValueError:
        found = None
    msg = f"{text!r} is no ISO week. Remedy: write year and week such as 2026-W27."
    raise WeekError(msg)


def weeks_between(first: str, last: str) -> list[str]:
    """Return all weeks of a range, both ends included.

    Raises
    ------
    WeekError
        For a range that ends before it begins.

    Examples
    --------
    >>> weeks_between("2026-W52", "2027-W01")
    ['2026-W52', '2026-W53', '2027-W01']
    """
    start, end = monday_of(first), monday_of(last)
    if end < start:
        msg = f"{first}:{last} ends before it begins. Remedy: write the earlier week first."
        raise WeekError(msg)
    return [week_label(start + timedelta(days=7 * n)) for n in range((end - start).days // 7 + 1)]


def monday_of(week: str) -> date:
    """Return the first day of an ISO week.

    Examples
    --------
    >>> monday_of("2026-W27")
    datetime.date(2026, 6, 29)
    """
    year, number = week.split("-W")
    return date.fromisocalendar(int(year), int(number), 1)


def week_label(day: date) -> str:
    """Return the ISO week of a day.

    Examples
    --------
    >>> week_label(date(2027, 1, 1))
    '2026-W53'
    """
    year, number, _ = day.isocalendar()
    return f"{year}-W{number:02d}"


def week_before(week: str) -> str:
    """Return the week before.

    Examples
    --------
    >>> week_before("2027-W01")
    '2026-W53'
    """
    return week_label(monday_of(week) - timedelta(days=7))


def same_week_last_year(week: str) -> str | None:
    """Return the week of the same number a year before; None where that year has no week 53.

    Examples
    --------
    >>> same_week_last_year("2026-W27"), same_week_last_year("2026-W53")
    ('2025-W27', None)
    """
    year, number = week.split("-W")
    try:
        return week_label(date.fromisocalendar(int(year) - 1, int(number), 1))
    except ValueError:
        return None
