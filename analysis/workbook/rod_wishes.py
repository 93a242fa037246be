"""Owns the reading of what is wished of a rod: numbers with units, a gear, a setting, a day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from analysis import labels
from analysis.depth.limits import LEADER_LENGTH_M, LINE_OUT_M, SPEED_MPS
from analysis.errors import UsageError
from analysis.spread.basis import MARGIN_DAYS
from analysis.units import UNITS, Units, from_si, to_si
from analysis.workbook.narrowing import nearest_of
from analysis.workbook.trip_wishes import read_day
from analysis.workbook.what_if import Boat, RodSet


def wished_rod(
    boat: Boat,
    was: RodSet,
    *,
    gear: str | None,
    setting: float | None,
    line_out: Any,
    leader: Any,
    speed: Any,
    day: str | date | None,
) -> RodSet:
    """Return a rod with what is wished of it; what is None stays as it was.

    Raises
    ------
    UsageError
        For a gear or setting the boat does not have, a number out of range, a day of no season.
    """
    units, gears = boat.basis.units, boat.basis.gears
    rod = was
    if gear is not None and gear != was.gear:
        if gear not in gears:
            raise UsageError(nearest_of(f"{boat.name} has no gear", gear, list(gears)))
        dial = gears[gear].dial
        rod = replace(rod, gear=gear, setting=dial[0], leader_m=gears[gear].leader_m)
        if rod.lure not in gears[gear].lines.towing.rigs:
            rod = replace(rod, lure="")
    if setting is not None:
        rod = replace(rod, setting=_setting(rod.gear, setting, gears[rod.gear].dial))
    if line_out is not None:
        rod = replace(rod, line_out_m=_number("line_out", line_out, "length", units, LINE_OUT_M))
    if leader is not None:
        rod = replace(rod, leader_m=_number("leader", leader, "length", units, LEADER_LENGTH_M))
    if speed is not None:
        rod = replace(rod, speed_mps=_number("speed", speed, "speed", units, SPEED_MPS))
    if day is not None:
        rod = replace(rod, day=_day(boat, day))
    if np.isnan(rod.line_out_m):
        msg = f"{rod.rod}: its line-out is not in the log. Remedy: give line_out."
        raise UsageError(msg)
    return rod


def _setting(gear: str, setting: float, dial: tuple[float, ...]) -> float:
    marks = [mark for mark in dial if not np.isnan(mark)]
    if not marks:
        msg = f"setting {setting!r}: {gear!r} has no dial. Remedy: leave the setting out."
        raise UsageError(msg)
    if setting not in marks:
        there = labels.listing([f"{mark:g}" for mark in marks])
        msg = f"setting {setting!r}: {gear!r} was fished on {there}. Remedy: one of these."
        raise UsageError(msg)
    return float(setting)


def _number(what: str, typed: Any, quantity: str, units: Units, limits: Any) -> float:
    """Read a number in the boat's unit, or with a unit of its own as ``(120, "ft")``."""
    value, unit = typed if isinstance(typed, tuple | list) and len(typed) == 2 else (typed, None)
    unit = units.of(quantity) if unit is None else unit
    if unit not in UNITS[quantity]:
        raise UsageError(nearest_of(f"{what}: there is no unit", unit, UNITS[quantity]))
    good = isinstance(value, int | float) and not isinstance(value, bool)
    inside = float(to_si(float(value), quantity, unit)) if good else float("nan")
    if not 0.0 < inside <= limits.high:
        most = float(from_si(limits.high, quantity, unit))
        msg = f"{what} {typed!r}: give a number above 0 and up to {most:.4g}, in {unit}."
        raise UsageError(msg)
    return inside


def _day(boat: Boat, typed: str | date) -> date:
    day = date.fromisoformat(read_day(typed, boat.basis.season))
    first, last = boat.basis.days_of_year
    if not first - MARGIN_DAYS <= day.timetuple().tm_yday <= last + MARGIN_DAYS:
        msg = (
            f"date {day}: the season was fished from day {first:.0f} to day {last:.0f} of the "
            "year, and its fit tells nothing of other times. Remedy: a day within it."
        )
        raise UsageError(msg)
    return day
