"""Owns what a person gives for a day: its date, a reading of the surface, a cast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from analysis import labels
from analysis.errors import LogError, UsageError
from analysis.log.files.content import content_of
from analysis.log.files.dialect import delimiter_of, records_of, text_of
from analysis.log.reading.numbers import read_amount
from analysis.log.wording.unit_words import heading_unit, split_heading
from analysis.spread.basis import MARGIN_DAYS, Basis
from analysis.units import UNITS, Units, to_si

Array = NDArray[np.float64]

COLDEST_C, WARMEST_C = -0.5, 35.0
"""Of water that anybody trolls (assumed)."""
COLDEST_SURFACE_C = 1.0
DEEPEST_M = 300.0
UPSIDE_DOWN_C = 2.0
"""By how much the foot of a cast may be warmer than its head: in winter the coldest water of a
lake lies on top, but by less than 4 C of greatest density."""
FEWEST_DEPTHS = 3
FEWEST_STRIKES = 60
"""Strikes that compare rods below which a season's first weeks rest on the season before: with
about 50 the band named still lost 6 to 9 % (`tests/benchmarks/season_study.md`)."""
_HEADINGS = {"depth": "depth", "temp": "temperature"}


@dataclass(frozen=True, kw_only=True)
class Cast:
    """A profile: depths in m, falling, and temperatures in C, (n,) each."""

    depth_m: Array
    temp_c: Array


def read_date(text: str) -> date:
    """Read the day of a card.

    Raises
    ------
    UsageError
        For anything but a day written as year, month, day.
    """
    try:
        if "W" in text.upper():  # a week has seven days, and ISO 8601 would take its Monday
            raise ValueError
        return date.fromisoformat(text.strip())
    except ValueError as error:
        msg = f"--date {text!r} is no day. Remedy: write it as year-month-day: 2026-07-12."
        raise UsageError(msg) from error


def read_surface(text: str) -> float:
    """Read a surface temperature with its unit, in C.

    Raises
    ------
    UsageError
        For a number without a unit, which is asked and never guessed, or no water's temperature.

    Examples
    --------
    >>> read_surface("50 F"), read_surface("11.5C")
    (10.0, 11.5)
    """
    found = read_amount(text.strip(), "temperature", "C")
    if found is None:
        digits = text.strip().rstrip("°")
        if not any(mark.isdigit() for mark in digits):
            msg = f"--surface {text!r} is no temperature. Remedy: write it as '64 F' or '18 C'."
            raise UsageError(msg)
        msg = f"--surface {text!r} needs its unit. Remedy: write '{digits} F' or '{digits} C'."
        raise UsageError(msg)
    if not COLDEST_SURFACE_C <= found.value <= WARMEST_C:
        number = text.strip().rstrip("°CcFf ")
        other = "C" if found.unit == "F" else "F"
        msg = (
            f"--surface {text!r} is no open water. Remedy: was it {number} {other}? Write the "
            "number as it was read, with the unit of that thermometer."
        )
        raise UsageError(msg)
    return found.value


def read_cast(file: Path, units: Units) -> Cast:
    """Read a cast: a CSV with the columns ``depth`` and ``temp``, a row a depth.

    Parameters
    ----------
    file : Path
    units : Units
        The boat's, for a heading that names no unit of its own.

    Raises
    ------
    LogError
        Naming file, line and column: no such columns, a cell that is no number, a depth or a
        temperature that no water has, too few depths, or a cast upside down.
    """
    text, _ = text_of(content_of(file), file)
    records = records_of(text, file, delimiter_of(text, _HEADINGS, file))
    if not records:
        msg = "this cast is empty"
        raise LogError(msg, file=file, remedy="write depth and temp, a row a depth")
    _, _, header = records[0]
    columns = {name: _column(name, header, file) for name in _HEADINGS}
    found: dict[str, list[float]] = {name: [] for name in _HEADINGS}
    for row, _, cells in records[1:]:
        for name, (at, unit) in columns.items():
            found[name].append(
                _cell(name, cells[at] if at < len(cells) else "", unit, file, row, units)
            )
    rows = [row for row, _, _ in records[1:]]
    cast = Cast(depth_m=np.array(found["depth"]), temp_c=np.array(found["temp"]))
    if len(np.unique(cast.depth_m)) < FEWEST_DEPTHS:
        msg = f"this cast has {len(np.unique(cast.depth_m))} depths, and three are the least"
        raise LogError(msg, file=file, remedy="give a row for every depth that was measured")
    _refuse_upside_down(cast, file, rows, units)
    return cast


def _column(name: str, header: Sequence[str], file: Path) -> tuple[int, str]:
    """Where a column stands, and the unit its heading names."""
    for at, heading in enumerate(header):
        if split_heading(heading)[0].casefold() in (name, _HEADINGS[name]):
            return at, heading_unit(heading, _HEADINGS[name])
    msg = f"there is no column {name}"
    remedy = "begin the file with the line: depth,temp"
    raise LogError(msg, file=file, row=1, value=",".join(header)[:60], remedy=remedy)


def _cell(name: str, text: str, unit: str, file: Path, row: int, units: Units) -> float:
    """Return one cell in SI."""
    quantity = _HEADINGS[name]
    own = unit or units.of(quantity)
    try:
        value = float(to_si(float(text.replace(",", ".")), quantity, own))
    except ValueError as error:
        remedy = "write a plain number, or take the row out"
        msg = f"this {name} is no number"
        raise LogError(msg, file=file, row=row, column=name, value=text, remedy=remedy) from error
    low, high = (0.0, DEEPEST_M) if name == "depth" else (COLDEST_C, WARMEST_C)
    if not low <= value <= high:
        others = " or ".join(one for one in UNITS[quantity] if one != own)
        msg = f"no water has a {name} of {text} {own}"
        remedy = f"correct it, or name its unit in the heading: {name} ({others})"
        raise LogError(msg, file=file, row=row, column=name, value=text, remedy=remedy)
    return value


def _refuse_upside_down(cast: Cast, file: Path, rows: Sequence[int], units: Units) -> None:
    """Refuse a cast whose foot is much warmer than its head."""
    top, foot = int(np.argmin(cast.depth_m)), int(np.argmax(cast.depth_m))
    if cast.temp_c[foot] - cast.temp_c[top] <= UPSIDE_DOWN_C:
        return
    said = [
        f"{labels.amount(cast.temp_c[at], 'temperature', units)} at "
        f"{labels.amount(cast.depth_m[at], 'depth', units)}"
        for at in (top, foot)
    ]
    msg = f"this cast is upside down: {said[0]} and {said[1]}"
    raise LogError(
        msg,
        file=file,
        row=rows[foot],
        remedy="turn the depths round, surface first, or leave the cast out",
    )


def boat_of(boats: Sequence[Basis], wanted: str | None) -> str:
    """Return the boat that a card is for.

    Raises
    ------
    UsageError
        For an unknown boat, or where several could be meant.
    """
    names = list(dict.fromkeys(basis.boat for basis in boats))
    if not names:
        msg = (
            "no card can be made: no log has set records (sets, or spreads and changes). Remedy: "
            "write down what each rod fished, and from when to when."
        )
        raise UsageError(msg)
    if wanted is None:
        if len(names) == 1:
            return names[0]
        msg = f"whose card? The logs are of {labels.listing(names)}. Remedy: add --boat NAME."
        raise UsageError(msg)
    same = [name for name in names if name.casefold() == wanted.strip().casefold()]
    if not same:
        msg = f"there is no boat {wanted!r} in these logs, but {labels.listing(names)}. "
        msg += "Remedy: name one of them with --boat."
        raise UsageError(msg)
    return same[0]


def season_for(boats: Sequence[Basis], boat: str, day: date) -> Basis:
    """Return the season of a boat that a day's card rests on.

    The latest that had begun by then; in its first weeks the one before, where that is given and
    tells more.

    Raises
    ------
    UsageError
        For a day outside all seasons.
    """
    mine = sorted((one for one in boats if one.boat == boat), key=lambda one: -one.season)
    latest = mine[0]
    began = [one for one in mine if one.season <= day.year]
    inside = [one for one in began if _within(one, day)]
    if not inside or day.year > latest.season + 1:
        ends = [
            labels.day(date(latest.season, 1, 1) + timedelta(days=int(at) - 1), year=False)
            for at in latest.days_of_year
        ]
        msg = (
            f"{labels.day(day)} lies outside all seasons given: {boat} fished from {ends[0]} to "
            f"{ends[1]} in {latest.season}, and what fish did then tells of the same weeks in "
            f"that year and the next. Remedy: name such a day, or give the log of its season."
        )
        raise UsageError(msg)
    first = began[0]
    return max(
        inside, key=lambda one: (one is first and one.strikes >= FEWEST_STRIKES, one.strikes)
    )


def _within(basis: Basis, day: date) -> bool:
    """Whether a day of the year lies near enough to the days a season was fished."""
    low, high = basis.days_of_year
    return low - MARGIN_DAYS <= day.timetuple().tm_yday <= high + MARGIN_DAYS
