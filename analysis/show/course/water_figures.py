"""Owns the picture of the water through a season: temperature, rods, strikes, thermometers."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.contour import ContourSet
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from analysis import labels
from analysis.result_rows import BestWater, FishedDepth, StrikeDepth, Thermometer, records
from analysis.show.base.style import BEST, INK, RAW, SOFT
from analysis.units import Units, from_si

Array = npt.NDArray[np.float64]

WATER_SHADES = LinearSegmentedColormap.from_list(
    "water", ["#b9d2e8", "#dde9f0", "#f8f3e4", "#fbe2bd", "#f4c595"]
)
"""Cold to warm, all so pale that lines and marks stand out on them, and dark text reads."""
DOUBTFUL_C = 2.0
"""Standard deviation of the temperature above which the water is hatched."""
NEARLY_ALL = (0.05, 0.95)
"""Shares of a week's rod-hours that were shallower than the lines drawn around them."""
DEEPER = 1.12
"""How far below the deepest rods the picture goes."""
NAME_SHARES = np.array([0.09, 0.055])
"""Room of a line's name, in shares of the picture's width and height."""
FAR_ENOUGH = 2.0
"""Rooms from everything else, beyond which one place of a name is as good as another."""
TOO_NEAR = 0.7
"""Rooms from a strike, below which a name would stand on it."""
_ON_WATER = {"boxstyle": "round,pad=0.1", "facecolor": "white", "alpha": 0.75, "linewidth": 0}
_MEASURED = {"cast": ("v", INK), "probe": ("d", RAW), "logger": ("s", RAW)}


def section(
    fished: pd.DataFrame,
    strikes: pd.DataFrame,
    water: pd.DataFrame,
    thermometers: pd.DataFrame,
    best: pd.DataFrame,
    units: Units,
    *,
    ax: Axes,
) -> Axes:
    """Draw a season's water: date along, depth down, every strike where its lure was.

    Only one water is drawn, that with most rod-hours. Where the best water lay is told of all
    boats together.

    Parameters
    ----------
    fished, strikes, water, thermometers, best : pandas.DataFrame
        The result tables ``fished_depths``, ``strike_depths``, ``water``, ``thermometers`` and
        ``best_water``; only the first must have rows.
    units : Units
        Units to write depths and temperatures in.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    name = most_fished(fished)
    fished, strikes, water, thermometers = (
        frame[frame["water"] == name] if len(frame) else frame
        for frame in (fished, strikes, water, thermometers)
    )
    hours = records(FishedDepth, fished)
    deepest_m = DEEPER * max(row.depth_m + 1.0 for row in hours)
    keys: list[Line2D | Patch] = []
    isotherms: ContourSet | None = None
    if len(water):
        isotherms, doubtful = _temperature(ax, water, deepest_m, units)
        keys += doubtful
    keys.append(_around_rods(ax, fished, units))
    keys += _thermometers(ax, records(Thermometer, thermometers), deepest_m, units)
    keys += _best(ax, records(BestWater, best), units)
    dots = [row for row in records(StrikeDepth, strikes) if row.depth_m == row.depth_m]
    at = np.array([(_place(row.date), _deep(row.depth_m, units)) for row in dots]).reshape(-1, 2)
    keys.append(
        *ax.plot(
            *at.T,
            "o",
            markersize=5,
            color=BEST,
            markeredgecolor="white",
            markeredgewidth=0.6,
            zorder=6,
            label="strike",
        )
    )
    days = [_place(row.date) for row in hours]
    ax.set_xlim(min(days) - 1.5, max(days) + 1.5)
    ax.set_ylim(_deep(deepest_m, units), 0)
    if isotherms is not None:
        _name_lines(ax, isotherms, at, labels.unit_of("temperature", units))
    by_day(ax)
    ax.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    ax.legend(
        handles=keys,
        loc="upper center",
        bbox_to_anchor=(0.5, -0.1),
        ncols=3,
        fontsize=9.5,
        handlelength=1.4,
        columnspacing=1.2,
    )
    return ax


def most_fished(fished: pd.DataFrame) -> str:
    """Return the water in which most of the rod-hours with a depth were fished."""
    return str(fished.groupby("water")["rod_hours"].sum().idxmax())


def by_day(ax: Axes) -> None:
    """Mark the days of an axis of dates, two a month or fewer, as people say them."""
    low, high = ax.get_xlim()
    first, last = (pd.Timestamp(end, unit="D").normalize() for end in (low, high))
    days = pd.date_range(first, last)
    marked = [day for day in days if day.day == 1 or (day.day == 15 and high - low < 100)]
    if len(marked) < 2:
        marked = list(days[:: max(1, len(days) // 5)])
    texts = [f"{day.day} {labels.short_month(f'{day:%Y-%m}')}" for day in marked]
    ax.set_xticks([_place(day) for day in marked], texts)


def _place(day: object) -> float:
    """Days since 1970, the numbers of an axis of dates."""
    return float(pd.Timestamp(str(day)).timestamp() / 86_400)


def _deep(depth_m: float, units: Units) -> float:
    return float(from_si(depth_m, "depth", units.depth))


def _temperature(
    ax: Axes, water: pd.DataFrame, deepest_m: float, units: Units
) -> tuple[ContourSet | None, list[Patch]]:
    """Shade the water by temperature, draw lines of equal temperature, hatch where in doubt."""
    shown = water[water["depth_m"] <= deepest_m + 1.0]
    grid = shown.pivot_table(index="depth_m", columns="day", values=["temp_c", "temp_sd_c"])
    warmth = from_si(grid["temp_c"].to_numpy(dtype=float), "temperature", units.temperature)
    if min(warmth.shape) < 2:
        return None, []
    days = np.array([_place(day) for day in grid["temp_c"].columns])
    depth = from_si(grid.index.to_numpy(dtype=float), "depth", units.depth)
    levels = MaxNLocator(7).tick_values(float(np.nanmin(warmth)), float(np.nanmax(warmth)))
    ax.contourf(days, depth, warmth, levels=levels, cmap=WATER_SHADES, zorder=0)
    lines = ax.contour(days, depth, warmth, levels=levels, colors=SOFT, linewidths=0.6, zorder=1)
    doubt = grid["temp_sd_c"].to_numpy(dtype=float)
    if np.nanmax(doubt) <= DOUBTFUL_C:
        return lines, []
    ax.contourf(
        days, depth, doubt, levels=[DOUBTFUL_C, np.inf], colors=["none"], hatches=["////"], zorder=2
    )
    words = f"in doubt by more than {_doubt_words(units)}"
    return lines, [Patch(facecolor="white", edgecolor=SOFT, hatch="////", label=words)]


def _name_lines(ax: Axes, lines: ContourSet, dots: Array, mark: str) -> None:
    """Write each line's temperature where it lies farthest from strikes and other names.

    A line that has strikes all along it stays without: its neighbours tell it.
    """
    room = NAME_SHARES * np.ptp([ax.get_xlim(), ax.get_ylim()], axis=1)
    corners = np.sort([ax.get_xlim(), ax.get_ylim()], axis=1) / room[:, None]
    taken = dots / room
    for level, parts in zip(lines.levels, lines.allsegs, strict=True):
        points = np.concatenate([np.empty((0, 2)), *parts]) / room
        inside = (points > corners[:, 0] + 0.5) & (points < corners[:, 1] - 0.5)
        points = points[inside.all(axis=1)]
        between = np.hypot(*(points[:, None] - taken).T)
        away = between.min(axis=0, initial=FAR_ENOUGH)
        if away.max(initial=0.0) < TOO_NEAR:
            continue
        place = points[np.argmax(away)]
        taken = np.vstack([taken, place])
        x, y = place * room
        ax.text(
            x, y, f"{level:g} {mark}", fontsize=9.0, color=INK, ha="center", va="center",
            bbox=_ON_WATER, zorder=7,
        )  # fmt: skip


def _doubt_words(units: Units) -> str:
    """Write `DOUBTFUL_C`, a difference, in the boat's unit."""
    size = DOUBTFUL_C * (9 / 5 if units.temperature == "F" else 1)
    return f"{labels.number(size)} {labels.unit_of('temperature', units)}"


def _around_rods(ax: Axes, fished: pd.DataFrame, units: Units) -> Line2D:
    """Outline, week by week, where nine in ten of the rod-hours were."""
    for _, week in fished.groupby(pd.to_datetime(fished["date"]).dt.strftime("%G-%V")):
        ends = _quantiles(week.groupby("depth_m")["rod_hours"].sum())
        days = np.array([_place(day) for day in week["date"]])
        across = days.min() - 0.5, days.max() + 0.5
        top, bottom = (_deep(end, units) for end in ends)
        ax.fill_between(across, top, bottom, color="white", alpha=0.4, linewidth=0, zorder=3)
        ax.hlines([top, bottom], *across, color=SOFT, linewidth=1.4, zorder=3)
    return Line2D([], [], color=SOFT, linewidth=1.4, label="between: 9 in 10 rod-hours")


def _quantiles(hours: pd.Series) -> tuple[float, float]:
    """Depths between which nearly all rod-hours were, given those of each metre of depth."""
    edges = np.append(hours.index.to_numpy(dtype=float), hours.index[-1] + 1.0)
    shares = np.concatenate([[0.0], np.cumsum(hours.to_numpy())]) / hours.sum()
    low, high = np.interp(NEARLY_ALL, shares, edges)
    return float(low), float(high)


def _best(ax: Axes, weeks: Sequence[BestWater], units: Units) -> list[Line2D]:
    """Draw where the best water lay, with its interval; broken where the log cannot tell.

    An interval that may go on below the rods ends in an arrow.
    """
    if not any(row.told for row in weeks):
        return []
    across = [_place(row.day) for row in weeks]
    middle = [_deep(row.depth_m, units) if row.told else np.nan for row in weeks]
    for at, row in zip(across, weeks, strict=True):
        if not row.told:
            continue
        low, high = _deep(row.depth_low_m, units), _deep(row.depth_high_m, units)
        open_below = isnan(high)
        end = _deep(row.depth_m, units) if open_below else high
        ax.vlines(at, low, end, color=RAW, linewidth=3.5, alpha=0.75, zorder=4)
        if open_below:
            ax.plot(at, end, "v", color=RAW, markersize=8, zorder=4)
    words = "best water, 90 % interval"
    return ax.plot(across, middle, "-", color=RAW, linewidth=1.6, zorder=4, label=words)


def _thermometers(
    ax: Axes, rows: Sequence[Thermometer], deepest_m: float, units: Units
) -> list[Line2D]:
    """Mark each day's thermometers, with a line over the depths of a probe or logger."""
    keys = []
    for source, (marker, colour) in _MEASURED.items():
        of_kind = [row for row in rows if row.source == source]
        if not of_kind:
            continue
        days = [_place(row.day) for row in of_kind]
        tops = [_deep(row.shallowest_m, units) for row in of_kind]
        if source != "cast":  # a cast goes from top to bottom; lines of all would hide the water
            ends = [_deep(min(row.deepest_m, deepest_m), units) for row in of_kind]
            ax.vlines(days, tops, ends, color=colour, linewidth=0.9, zorder=4)
        key = ax.plot(
            days,
            tops,
            marker,
            markersize=6,
            color=colour,
            markeredgecolor="white",
            markeredgewidth=0.5,
            clip_on=False,
            zorder=5,
            label=source,
        )
        keys.append(key[0])
    return keys
