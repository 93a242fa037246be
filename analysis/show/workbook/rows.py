"""Owns the rows of the workbook's tables, typed as its pictures and descriptions take them."""

from __future__ import annotations

from dataclasses import dataclass


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
