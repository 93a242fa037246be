"""Owns the rows of the workbook's tables, typed as its pictures and descriptions take them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Counted:
    """Strikes and rod-hours of some part, with their rate as counted."""

    rod_hours: float
    strikes: int
    raw_rate: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class OfHour(Counted):
    """Those of an hour of the day."""

    hour: int


@dataclass(frozen=True, kw_only=True)
class OfArea(Counted):
    """Those of an area."""

    area: str
