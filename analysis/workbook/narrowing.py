"""Owns what a part of a season may be asked by, and which slices and strikes belong to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis import labels
from analysis.errors import UsageError
from analysis.log.wording.spelling import nearest, same_name
from analysis.units import UNITS, to_si
from analysis.weeks import WeekError, check_week
from analysis.workbook.counted import Counted
from analysis.workbook.trip_wishes import MOONS, WEEKDAYS, by_days, by_moon, by_note

Flags = NDArray[np.bool_]
_NO_NAME = "not logged"
"""Asks for what has no name in the log: a fish not seen, an outcome not written."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a season.

    Attributes
    ----------
    slices : (slices,) bool array
        Of `Counted.hourly`: whose rod-hours count.
    strikes : (strikes,) bool array
        Of `Counted.strikes`: which count, placed or not.
    said : mapping of str to str
        What was asked for, by the control's name, in words.
    """

    slices: Flags
    strikes: Flags
    said: Mapping[str, str]

    @classmethod
    def whole(cls, counted: Counted) -> Part:
        """Everything."""
        return cls(
            slices=np.ones(len(counted.hourly.table), dtype=bool),
            strikes=np.ones(len(counted.strikes), dtype=bool),
            said={},
        )


def narrowed(counted: Counted, part: Part, wishes: Mapping[str, Any]) -> Part:
    """Return the part of a part that some wishes leave; a wish of None leaves all.

    Raises
    ------
    UsageError
        For a wish that the season cannot grant, with the nearest name or what is allowed.
    """
    slices, strikes, said = part.slices, part.strikes, dict(part.said)
    for name, wish in wishes.items():
        if wish is None:
            continue
        if name not in _CONTROLS:
            raise UsageError(nearest_of("where() has no", name, _CONTROLS))
        kept, struck, words = _CONTROLS[name](counted, wish)
        slices, strikes = slices & kept, strikes & struck
        said[name] = words
    return Part(slices=slices, strikes=strikes, said=said)


def choices(counted: Counted, name: str) -> list[str]:
    """Return the names that a control of names may take, as the season has them, most first."""
    if name in ("species", "outcome"):
        found = counted.strikes[name].value_counts().index
        return [_NO_NAME if text == "" else str(text) for text in found]
    if name in ("weekday", "moon"):
        return list(WEEKDAYS if name == "weekday" else MOONS)
    column = "period" if name == "month" else name
    if name == "setting":
        known = counted.hourly.table.dropna(subset="setting")
        return [f"{value:g}" for value in sorted(known["setting"].unique())]
    hours = counted.hourly.table.groupby(column, observed=True)["hours"].sum()
    order = hours.sort_index() if name in ("month", "week") else hours.sort_values(ascending=False)
    return [str(text) for text in order.index if str(text)]


def nearest_of(what: str, name: object, known: Sequence[str] | Mapping[str, Any]) -> str:
    """Say that there is no such name, which one may be meant, and which there are.

    Examples
    --------
    >>> nearest_of("this season has no gear", "riger", ["rigger", "diver"])
    "this season has no gear 'riger'; did you mean 'rigger'? There are: 'rigger' and 'diver'."
    """
    like = nearest(str(name), [str(one) for one in known])
    hint = f"; did you mean {like!r}?" if like else "."
    there = labels.listing([repr(one) for one in known]) if known else "none at all"
    return f"{what} {name!r}{hint} There {'is' if len(known) == 1 else 'are'}: {there}."


def _several(wish: Any) -> list[Any]:
    return [wish] if isinstance(wish, str) or not isinstance(wish, Sequence) else list(wish)


def _names(what: str, wish: Any, known: Sequence[str]) -> list[str]:
    """Return wished names as the season writes them; capitals and spaces do not matter."""
    of = {same_name(name): name for name in known}
    found = []
    for one in _several(wish):
        if same_name(str(one)) not in of:
            raise UsageError(nearest_of(f"this season has no {what}", one, known))
        found.append(of[same_name(str(one))])
    return found


Narrowing = Callable[[Counted, Any], tuple[Flags, Flags, str]]


def _of_rows(counted: Counted, kept: Flags) -> tuple[Flags, Flags]:
    """Strikes go with the slice they fell in; one without a slice cannot be told to belong."""
    return kept, np.append(kept, False)[counted.strikes["row"].to_numpy()]


def _by_name(column: str, what: str) -> Narrowing:
    def narrow(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
        names = _names(what, wish, choices(counted, column))
        kept = counted.hourly.table[column].isin(names).to_numpy(dtype=bool)
        return *_of_rows(counted, kept), labels.listing(names)

    return narrow


def _by_fish(column: str, what: str) -> Narrowing:
    def narrow(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
        names = _names(what, wish, choices(counted, column))
        written = ["" if name == _NO_NAME else name for name in names]
        struck = counted.strikes[column].isin(written).to_numpy(dtype=bool)
        every = np.ones(len(counted.hourly.table), dtype=bool)
        words = [f"{what} {name}" if name == _NO_NAME else name for name in names]
        return every, struck, labels.listing(words)

    return narrow


def _hours(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Local hours from the first to before the last; over midnight where the first is later."""
    first, last = _pair("hours", wish, "two hours of the day such as (4, 10)")
    good = first == int(first) and last == int(last) and 0 <= first <= 24 and 0 <= last <= 24
    if not good or first == last:
        msg = f"hours {wish!r}: write two whole hours of the day, from 0 to 24, such as (4, 10)."
        raise UsageError(msg)
    hour = counted.hourly.table["hour"].to_numpy()
    kept = (hour >= first) & (hour < last) if first < last else (hour >= first) | (hour < last)
    return *_of_rows(counted, kept), f"from {int(first):02d}:00 to {int(last):02d}:00"


def _pair(name: str, wish: Any, example: str) -> tuple[float, float]:
    try:
        first, last = (float(one) for one in wish)
    except (TypeError, ValueError) as error:
        msg = f"{name} {wish!r}: write {example}."
        raise UsageError(msg) from error
    return first, last


def _depth(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Modelled depth of the lure, to before the last, with its unit or the boat's."""
    parts = _several(wish)
    unit = str(parts[2]) if len(parts) == 3 else counted.units.depth
    if unit not in UNITS["depth"]:
        raise UsageError(nearest_of("depth: there is no unit", unit, UNITS["depth"]))
    low, high = _pair("depth", parts[:2], f"two depths such as (60, 70, {unit!r})")
    if not 0 <= low < high:
        msg = f"depth {wish!r}: write the shallower end first, as in (60, 70, {unit!r})."
        raise UsageError(msg)
    low_m, high_m = to_si([low, high], "depth", unit)
    depth = counted.hourly.depth_m
    kept = (depth >= low_m - 1e-9) & (depth < high_m - 1e-9)
    return *_of_rows(counted, kept), f"{labels.band_in(low_m, high_m, unit)} deep"


def _setting(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Dial settings of a diver."""
    setting = counted.hourly.table["setting"].to_numpy(dtype=float)
    known = choices(counted, "setting")
    names = _names("setting", [_plain(one) for one in _several(wish)], known)
    kept = np.isin(setting, [float(name) for name in names])
    return *_of_rows(counted, kept), f"on {labels.listing(names)}"


def _plain(value: Any) -> str:
    try:
        return f"{float(value):g}"
    except (TypeError, ValueError):
        return str(value)


def _month(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Months by name, number, or as YYYY-MM."""
    known = choices(counted, "month")
    of = {
        same_name(form): name
        for name in known
        for form in (name, str(int(name[5:])), labels.month(name), labels.short_month(name))
    }
    written = [of.get(same_name(str(one)), one) for one in _several(wish)]
    told = [labels.month(one) if one in known else one for one in written]
    months = {labels.month(name): name for name in known}
    names = [months[one] for one in _names("month", told, list(months))]
    kept = counted.hourly.table["period"].isin(names).to_numpy(dtype=bool)
    return *_of_rows(counted, kept), labels.listing([labels.month(name) for name in names])


def _week(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """ISO weeks by number or as YYYY-Wnn."""
    known = choices(counted, "week")
    written = [
        f"{counted.year}-W{int(one):02d}" if str(one).isdigit() else str(one)
        for one in _several(wish)
    ]
    for one in written:
        try:
            check_week(one)
        except WeekError as error:
            raise UsageError(str(error)) from error
    names = _names("week", written, known)
    kept = counted.hourly.table["week"].isin(names).to_numpy(dtype=bool)
    return *_of_rows(counted, kept), labels.listing([labels.week(name) for name in names])


def _trips(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Trips by id, or flagged by a column of true and false as long as the table of trips."""
    trips = counted.trips
    flags = np.atleast_1d(np.asarray(wish))
    if flags.dtype == bool:
        if len(flags) != len(trips):
            msg = (
                f"trips: {len(flags)} flags for {labels.count(len(trips), 'trip')}. Remedy: make "
                "them from season.trips, a row a trip."
            )
            raise UsageError(msg)
        chosen = flags
    else:
        wished = _names("trip", [str(one) for one in _several(wish)], list(trips["trip"]))
        chosen = trips["trip"].isin(wished).to_numpy(dtype=bool)
    return *_of_trips(counted, chosen), labels.count(int(chosen.sum()), "chosen trip")


def _of_trips(counted: Counted, chosen: Flags) -> tuple[Flags, Flags]:
    """Slices and strikes go with their trip, strikes that could not be placed, too."""
    key = counted.hourly.table["key"].to_numpy()
    of_strike = counted.strikes["key"].to_numpy()
    return (key >= 0) & chosen[key], (of_strike >= 0) & chosen[of_strike]


def _days(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Local days from the first to the last, either of which may be open."""
    chosen, words = by_days(counted.trips, wish, counted.year)
    return *_of_trips(counted, chosen), words


def _weekday(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Days of the week."""
    names = _names("day of the week", wish, WEEKDAYS)
    chosen = counted.trips["weekday"].isin(names).to_numpy(dtype=bool)
    return *_of_trips(counted, chosen), labels.listing([f"{name}s" for name in names])


def _moon(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """How much of the moon is lit."""
    names = _names("moon", wish, list(MOONS))
    chosen = np.logical_or.reduce([by_moon(counted.trips, name) for name in names])
    return *_of_trips(counted, chosen), f"{labels.listing(names)} moon"


def _note(counted: Counted, wish: Any) -> tuple[Flags, Flags, str]:
    """Words of a trip's note."""
    words = [str(one).strip() for one in _several(wish)]
    if not all(words):
        msg = f"note {wish!r}: write a word that stands in the notes of the trips."
        raise UsageError(msg)
    said = " or ".join(map(repr, words))
    return *_of_trips(counted, by_note(counted.trips, words)), f"trips noted {said}"


_CONTROLS: Mapping[str, Narrowing] = {
    "boat": _by_name("boat", "boat"),
    "month": _month,
    "week": _week,
    "days": _days,
    "weekday": _weekday,
    "moon": _moon,
    "note": _note,
    "hours": _hours,
    "area": _by_name("area", "area"),
    "species": _by_fish("species", "species"),
    "gear": _by_name("gear", "gear"),
    "setting": _setting,
    "lure": _by_name("lure", "lure"),
    "outcome": _by_fish("outcome", "outcome"),
    "depth": _depth,
    "trips": _trips,
}
