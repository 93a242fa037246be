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


@dataclass(frozen=True, kw_only=True)
class OfBand:
    """Strikes and rod-hours of a depth band, as counted."""

    band_low_m: float
    band_high_m: float
    rod_hours: float
    strikes: int
    raw_rate: float


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """What was fitted and judged of a depth band."""

    band_low_m: float
    rate: float
    rate_low: float
    rate_high: float
    p_best: float
    named: bool
    judged: bool
