"""Owns the rows of the workbook's tables, typed as its pictures and descriptions take them."""

from __future__ import annotations

import math
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


@dataclass(frozen=True, kw_only=True)
class Bought:
    """How much a season is sure of, told with some of its tables.

    Attributes
    ----------
    tables : str
        What is in it, in words.
    strikes, placed : int
        Strikes logged, and those of them that count in a rate.
    rod_hours : float
    depth_m, depth_sd_m, temp_c, temp_sd_c : float
        Of a lure, median by rod-hours; NaN where unknown.
    verdict : str
        Of the season.
    months : tuple of str
        The verdict of each month.
    says : str
        The first sentence of the answer.
    """

    tables: str
    strikes: int
    placed: int
    rod_hours: float
    depth_m: float
    depth_sd_m: float
    temp_c: float
    temp_sd_c: float
    verdict: str
    months: tuple[str, ...]
    says: str


@dataclass(frozen=True, kw_only=True)
class Documented:
    """A public name, how it is called, and its docstring.

    Attributes
    ----------
    name : str
        As it is written in use, such as ``season.where``; a class by its own name.
    call : str
        What stands in its brackets, with them; empty for a class or a property.
    doc : str
    is_class : bool
    """

    name: str
    call: str
    doc: str
    is_class: bool


@dataclass(frozen=True, kw_only=True)
class OfSlice:
    """A rod and a time in which nothing was changed."""

    trip: str
    rod: str
    gear: str
    setting: float
    hours: float
    strikes: int
    depth_m: float
    depth_sd_m: float

    @property
    def has_depth(self) -> bool:
        """Whether its depth could be worked out."""
        return math.isfinite(self.depth_m) and math.isfinite(self.depth_sd_m)


@dataclass(frozen=True, kw_only=True)
class OfGear:
    """How long a gear was towed, and how deep its middle slice ran."""

    gear: str
    hours: float
    depth_m: float
    depth_sd_m: float
