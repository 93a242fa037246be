"""Owns the pictures of days: hours of the day, areas, one trip as a strip."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo
from math import isnan

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import DateFormatter, HourLocator

from analysis import labels
from analysis.result_rows import AreaRatio, Counted, OfHour, records
from analysis.show.base.html import shortened
from analysis.show.base.marks import margin_column, multiples, name_rows
from analysis.show.base.pictures import drawable
from analysis.show.base.style import BEST, EFFORT, INK, OTHER, RAW, SOFT
from analysis.show.course.day_words import REASONS
from analysis.show.course.water_figures import WATER_SHADES
from analysis.units import Units, from_si

_LINES = ("-", "--", "-.", ":")
LEAST_SPAN_C = 4.0
"""Of the scale of temperatures: water that differs by less is nearly one colour."""
NAME_HEIGHT = 0.05
"""Of a rod's name, as a share of the picture."""


def by_hour(hours: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw the counted rate of each hour with its interval, its rod-hours as a pale bar.

    Parameters
    ----------
    hours : pandas.DataFrame
        ``hour, rod_hours, strikes, raw_rate, low, high``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = records(OfHour, hours)
    at = np.array([row.hour + 0.5 for row in rows])
    effort = np.array([row.rod_hours for row in rows])
    top = _limit(rows)
    ax.bar(at, effort / max(effort.max(), 1e-9) * top, width=0.9, color=EFFORT)
    for place, row in zip(at, rows, strict=True):
        if not isnan(row.high):
            ax.vlines(place, row.low, min(row.high, top), color=SOFT, linewidth=2)
            ax.plot(place, row.raw_rate, "o", color=BEST, markersize=7)
        strikes = labels.number(row.strikes)
        ax.text(place, top * 1.02, strikes, ha="center", va="bottom", fontsize=9.5)
    ax.set_title("strikes, above each hour", fontsize=10.0, fontweight="normal", pad=18)
    ax.set_xlim(at[0] - 0.5, at[-1] + 0.5)
    ax.set_ylim(0, top)
    ax.set_xlabel("hour of the day, local time")
    ax.set_ylabel("strikes per rod-hour, counted")
    return ax


def _limit(rows: Sequence[Counted]) -> float:
    """Return where the rate axis ends: past the intervals, but not past an enormous one."""
    told = [row for row in rows if not isnan(row.high)]
    if not told:
        return 1.0
    highest = max(row.raw_rate for row in told)
    return min(max(row.high for row in told), max(3.0 * highest, 1e-3)) * 1.02


def areas_at_equal_conditions(areas: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw each area's catch rate as a multiple of that of the area fished most.

    Parameters
    ----------
    areas : pandas.DataFrame
        The result table ``areas``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes; an area that cannot be compared has its reason in grey.
    """
    rows = records(AreaRatio, areas)
    multiples(
        ax,
        [(row.ratio, row.low, row.high) for row in rows],
        strong=[row.low > 1 or row.high < 1 for row in rows],
        reasons=[REASONS[row.reason] if row.reason else "" for row in rows],
    )
    counts = [f"{labels.number(row.strikes)} in {labels.number(row.rod_hours)}" for row in rows]
    margin_column(ax, "strikes in rod-hours", counts)
    name_rows(ax, [drawable(shortened(row.area)) for row in rows])
    ax.set_xlabel("catch rate at equal depth, month and hour")
    return ax


def trip_strip(
    slices: pd.DataFrame,
    strikes: pd.DataFrame,
    water: pd.DataFrame,
    units: Units,
    zone: tzinfo,
    *,
    ax: Axes,
) -> Axes:
    """Draw one trip: time along, depth down, a line a rod, its strikes, temperature behind.

    Parameters
    ----------
    slices : pandas.DataFrame
        ``rod, start, end, depth_m``.
    strikes : pandas.DataFrame
        ``time, depth_m, outcome``.
    water : pandas.DataFrame
        Temperature, a row a depth (index, m), a column a time (UTC); empty where unknown.
    units : Units
    zone : tzinfo
        Of the boat's clock.
    ax : matplotlib.axes.Axes

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    deep = _inside(slices["depth_m"], units)
    if water.notna().to_numpy().any():
        warmth_c = water.to_numpy(dtype=float)
        middle_c = (np.nanmin(warmth_c) + np.nanmax(warmth_c)) / 2
        half_c = max(np.nanmax(warmth_c) - middle_c, LEAST_SPAN_C / 2)
        coldest, warmest = middle_c - half_c, middle_c + half_c
        shade = ax.pcolormesh(
            _clock(pd.Series(water.columns), zone),
            from_si(water.index.to_numpy(dtype=float), "depth", units.depth),
            from_si(warmth_c, "temperature", units.temperature),
            cmap=WATER_SHADES,
            vmin=float(from_si(coldest, "temperature", units.temperature)),
            vmax=float(from_si(warmest, "temperature", units.temperature)),
            shading="nearest",
            rasterized=True,
        )
        figure = ax.get_figure(root=True)
        if figure is not None:
            bar = figure.colorbar(shade, ax=ax, pad=0.02, aspect=30)
            bar.set_label(f"water, {labels.unit_of('temperature', units)}")
    names: dict[str, tuple[np.datetime64, float]] = {}
    for number, (rod, own) in enumerate(slices.groupby("rod", observed=True, sort=True)):
        inside = _inside(own["depth_m"], units)
        ends = np.stack([_clock(own["start"], zone), _clock(own["end"], zone)])
        ax.plot(
            *_broken(ends, inside),
            color=OTHER if number % 2 else SOFT,
            linestyle=_LINES[number // 2 % len(_LINES)],
            linewidth=1.6,
        )
        names[drawable(rod)] = ends[1].max(), float(inside[-1])
    at, depth = _clock(strikes["time"], zone), _inside(strikes["depth_m"], units)
    took = strikes["outcome"].isin(["landed", "released"]).to_numpy()
    ax.plot(
        at[took],
        depth[took],
        "o",
        color=BEST,
        markersize=7,
        markeredgecolor="white",
        markeredgewidth=0.6,
        label="landed or released",
    )
    ax.plot(
        at[~took],
        depth[~took],
        "X",
        color="white",
        markeredgecolor=RAW,
        markeredgewidth=1.6,
        markersize=7,
        label="lost, missed or not logged",
    )
    _name_rods(ax, names, 1.08 * float(np.nanmax(deep, initial=1.0)))
    if len(strikes):
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.14), ncols=2, fontsize=9.5)
    ax.set_ylim(1.08 * float(np.nanmax(deep, initial=1.0)), 0)
    ax.xaxis.set_major_locator(HourLocator())  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_formatter(DateFormatter("%H"))  # type: ignore[no-untyped-call]
    ax.set_xlabel("hour, local time")
    ax.set_ylabel(f"depth of the lure, {labels.unit_of('depth', units)}")
    return ax


def _inside(depth_m: pd.Series, units: Units) -> np.ndarray:
    return np.asarray(from_si(depth_m.to_numpy(dtype=float), "depth", units.depth))


def _clock(times: pd.Series, zone: tzinfo) -> np.ndarray:
    """Return times as the boat's clock showed them, for an axis."""
    return pd.DatetimeIndex(times).tz_convert(zone).tz_localize(None).to_numpy()


def _broken(ends: np.ndarray, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return a line through slices (2, n) of time at their depths, broken where the rod was out."""
    order = np.argsort(ends[0])
    (start, end), depth = ends[:, order], inside[order]
    nothing = np.full(len(start), np.datetime64("NaT", "us"), dtype=ends.dtype)
    out = np.append(start[1:] > end[:-1], True)
    along = np.column_stack([start, end, np.where(out, nothing, end)]).ravel()
    return along, np.repeat(depth, 3)


def _name_rods(ax: Axes, names: dict[str, tuple[np.datetime64, float]], deepest: float) -> None:
    """Write each rod's name beside the end of its line, a thin line between where names crowd."""
    if not names:
        return
    beside = max(at for at, _ in names.values()) + np.timedelta64(10, "m")
    taken = -np.inf
    for name, (at, depth) in sorted(names.items(), key=lambda item: item[1][1]):
        taken = max(depth, taken + NAME_HEIGHT * deepest)
        ax.annotate(
            name,
            (at, depth),
            xytext=(beside, taken),
            va="center",
            fontsize=9.0,
            color=INK,
            arrowprops={"arrowstyle": "-", "linewidth": 0.6, "color": SOFT},
        )
