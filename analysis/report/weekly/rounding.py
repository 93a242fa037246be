"""Owns cutting and rounding a week's figures to what its page shows, before they go into a file."""

from __future__ import annotations

from dataclasses import replace

from analysis.labels import TERM_QUANTITY
from analysis.show.base.many_units import ManyUnits
from analysis.weekly.figures import (
    Condition,
    Counts,
    Depth,
    LineOut,
    Row,
    Water,
    WeekBand,
    WeekFigures,
)


def as_shown(week: WeekFigures, units: ManyUnits) -> WeekFigures:
    """Return a week's figures as its page shows them: no finer, and nothing beyond.

    Rod-hours are whole, chances whole per cent, rates of three figures, and what is measured of
    the step that the first unit shows. The water's profile ends where the picture does; where
    there is no picture, there is no profile.

    Parameters
    ----------
    week : WeekFigures
    units : ManyUnits
        That the page is written in.
    """
    depth = None if week.depth is None else _depth(week.depth)
    deepest_m = max((band.high_m for band in depth.bands), default=0.0) if depth else 0.0
    return replace(
        week,
        counts=_counts(week.counts),
        last_week=_counts(week.last_week),
        last_year=_counts(week.last_year),
        depth=depth,
        water=None if week.water is None else _water(week.water, units, deepest_m),
        target_m=units.rounded(week.target_m, "depth"),
        line_outs=tuple(_line_out(line, units) for line in week.line_outs),
        kinds=tuple(map(_row, week.kinds)),
        lures=tuple(map(_row, week.lures)),
        conditions=tuple(_condition(condition, units) for condition in week.conditions),
        unknown=tuple(replace(entry, rod_hours=_whole(entry.rod_hours)) for entry in week.unknown),
    )


def _whole(hours: float | None) -> float | None:
    return None if hours is None else float(round(hours))


def _rate(rate: float) -> float:
    return float(f"{rate:.3g}")


def _counts(counts: Counts | None) -> Counts | None:
    return None if counts is None else replace(counts, rod_hours=_whole(counts.rod_hours))


def _row(row: Row) -> Row:
    return replace(row, rod_hours=_whole(row.rod_hours))


def _depth(depth: Depth) -> Depth:
    return replace(
        depth,
        bands=tuple(map(_band, depth.bands)),
        unknown_hours=float(round(depth.unknown_hours)),
        p_near=round(depth.p_near, 2),
        named_hours=float(round(depth.named_hours)),
        rate=_rate(depth.rate),
        rate_low=_rate(depth.rate_low),
        rate_high=_rate(depth.rate_high),
        explore=None if depth.explore is None else _band(depth.explore),
    )


def _band(band: WeekBand) -> WeekBand:
    return replace(
        band,
        rod_hours=float(round(band.rod_hours)),
        rate=_rate(band.rate),
        rate_low=_rate(band.rate_low),
        rate_high=_rate(band.rate_high),
        p_best=round(band.p_best, 2),
    )


def _water(water: Water, units: ManyUnits, deepest_m: float) -> Water:
    shown = [
        (depth, units.rounded(temp, "temperature"))
        for depth, temp in zip(water.depth_m, water.temp_c, strict=True)
        if depth <= deepest_m
    ]
    return Water(
        depth_m=tuple(round(depth, 2) for depth, _ in shown),
        temp_c=tuple(temp for _, temp in shown),
        thermocline_m=units.rounded(water.thermocline_m, "depth"),
        best_low_c=units.rounded(water.best_low_c, "temperature"),
        best_high_c=units.rounded(water.best_high_c, "temperature"),
        best_low_m=units.rounded(water.best_low_m, "depth"),
        best_high_m=units.rounded(water.best_high_m, "depth"),
    )


def _line_out(line: LineOut, units: ManyUnits) -> LineOut:
    return replace(
        line,
        line_out_m=units.rounded(line.line_out_m, "length"),
        line_out_sd_m=round(line.line_out_sd_m, 1),
        line_out_low_m=units.rounded(line.line_out_low_m, "length"),
        line_out_high_m=units.rounded(line.line_out_high_m, "length"),
        depth_sd_m=round(line.depth_sd_m, 1),
    )


def _condition(condition: Condition, units: ManyUnits) -> Condition:
    quantity = TERM_QUANTITY[condition.term]
    low, middle, high, best_low, best_high = (
        units.rounded(value, quantity)
        for value in (
            condition.low,
            condition.middle,
            condition.high,
            condition.best_low,
            condition.best_high,
        )
    )
    return replace(
        condition, low=low, middle=middle, high=high, best_low=best_low, best_high=best_high
    )
