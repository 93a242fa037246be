"""Owns the rows of the depth study's tables, typed as its pictures and tables take them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class LineForDepth:
    """A gear, setting and side of a table of line-outs for one depth."""

    gear: str
    setting: float
    side: str
    line_out_m: float
    line_out_sd_m: float
    depth_sd_m: float
    lateral_m: float
    setback_m: float
    reason: str


@dataclass(frozen=True, kw_only=True)
class PartDepth:
    """Depth of a lure at one line-out, without a part of its line and with it, and its sizes."""

    part: str
    line_out_m: float
    without_m: float
    with_m: float
    length_m: float
    weight: str
    colours: int
    dives: str
    line: str
    setting: float


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A trial with a depth logger against what was predicted of it."""

    trial: str
    setting: float
    before: float
    before_sd: float
    after: float
    after_sd: float
    left_out: bool
    reason: str


@dataclass(frozen=True, kw_only=True)
class LineEnd:
    """A line of a spread, by where its lure is."""

    rod: str
    side: str
    gear: str
    setting: float
    line_out_m: float
    depth_m: float
    depth_sd_m: float
    across_m: float
    astern_m: float
    reason: str


@dataclass(frozen=True, kw_only=True)
class Neighbours:
    """Two lines of a spread that lie side by side."""

    rod_a: str
    rod_b: str
    least_m: float
    sideways_m: float
    flagged: bool
    crossed: bool
    fish_passes_behind: bool
