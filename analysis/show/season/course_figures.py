"""Owns the pictures of how the season went: trips, weeks and the thermocline, cost, species."""

from collections import Counter, defaultdict
from math import isnan

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from analysis import labels
from analysis.result_rows import Cost, Species, Trip, Week, records
from analysis.show.base.html import shortened
from analysis.show.base.marks import interval, margin_column, name_rows
from analysis.show.base.pictures import drawable
from analysis.show.base.style import BEST, EFFORT, INK, LINE, OTHER, RATE_SHADES, RAW, SOFT
from analysis.units import Units, from_si
from analysis.weeks import monday_of

Array = npt.NDArray[np.float64]

_WATER_SHADES = ("#e3edf3", "#edf2f0", "#f6f4ea", "#fbf0dc", "#fae6c8")
"""Cold to warm water, all pale: lines and marks are drawn over them."""

_UNDER_TEXT = {"boxstyle": "round,pad=0.15", "facecolor": "white", "alpha": 0.8, "linewidth": 0}
_STRIKE_STEPS = (1, 3, 6, 10, 15)
_STRIKE_WORDS = ("none", "1–2", "3–5", "6–9", "10–14", "15 and more")


def trip_calendar(trips: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw each day fished as a square, its size the rod-hours, its shade the strikes.

    Parameters
    ----------
    trips : pandas.DataFrame
        The result table ``trips``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes; across, the day of the month, downward, the months.
    """
    hours: defaultdict[pd.Timestamp, float] = defaultdict(float)
    strikes: Counter[pd.Timestamp] = Counter()
    for row in records(Trip, trips):
        day = pd.Timestamp(row.date)
        hours[day] += row.rod_hours
        strikes[day] += row.strikes
    days = sorted(hours)
    names = [f"{day:%Y-%m}" for day in days]
    months = sorted(set(names))
    down = np.array([months.index(name) for name in names])
    fished = np.array([hours[day] for day in days])
    shades = np.digitize([strikes[day] for day in days], _STRIKE_STEPS)
    ax.scatter(
        [day.day for day in days],
        down,
        s=20 + 150 * fished / max(fished.max(), 1e-9),
        c=[RATE_SHADES[shade] for shade in shades],
        marker="s",
        edgecolors=SOFT,
        linewidths=0.6,
    )
    keys = [
        Line2D([], [], linestyle="", marker="s", markersize=9, markeredgecolor=SOFT, color=shade)
        for shade in RATE_SHADES
    ]
    ax.legend(
        keys,
        _STRIKE_WORDS,
        title="strikes a day (larger square: more rod-hours)",
        loc="upper center",
        bbox_to_anchor=(0.5, -0.1),
        ncols=len(keys),
        fontsize=9,
        title_fontsize=9.5,
        handletextpad=0.1,
        columnspacing=0.9,
    )
    many_years = len({name[:4] for name in months}) > 1
    ax.set_yticks(
        range(len(months)),
        [labels.short_month(name) + (f" {name[:4]}" if many_years else "") for name in months],
    )
    ax.set_ylim(len(months) - 0.5, -0.5)
    ax.set_xlim(0.2, 31.8)
    ax.set_xticks([1, 5, 10, 15, 20, 25, 30])
    ax.tick_params(length=0)
    ax.spines[["left", "bottom"]].set_visible(False)
    ax.hlines(np.arange(len(months) - 1) + 0.5, 0.2, 31.8, color=LINE, linewidth=0.6, zorder=0)
    return ax


def best_band_by_week(
    weeks: pd.DataFrame, profile: pd.DataFrame, units: Units, *, ax: Axes
) -> Axes:
    """Draw each week's best band over the water temperature and the thermocline.

    Parameters
    ----------
    weeks : pandas.DataFrame
        The result table ``weeks``.
    profile : pandas.DataFrame
        The result table ``profile``; may be without rows.
    units : Units
        Units to write depths and temperatures in.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes; across, the weeks, downward, the depth.
    """
    rows = sorted(records(Week, weeks), key=lambda row: row.week)
    order = [row.week for row in rows]
    place = {week: at for at, week in enumerate(order)}
    depth = units.depth
    if not profile.empty:
        _temperatures(ax, profile, place, units)
    for row in rows:
        if isnan(row.best_low_m):
            continue
        low, high = from_si([row.best_low_m, row.best_high_m], "depth", depth)
        ax.bar(place[row.week], high - low, bottom=low, width=0.62, color=BEST, alpha=0.9)
    known = [row for row in rows if not isnan(row.thermocline_m)]
    if known:
        across = [place[row.week] for row in known]
        line = from_si([row.thermocline_m for row in known], "depth", depth)
        ax.plot(across, line, color=RAW, marker="o", markersize=4.5, markeredgecolor="white")
        middle = len(line) // 2
        ax.annotate(
            "thermocline",
            (across[middle], line[middle]),
            xytext=(0, 12),
            textcoords="offset points",
            ha="center",
            fontweight="bold",
            fontsize=10,
            bbox=_UNDER_TEXT,
            zorder=5,
        )
    ends = [end for row in rows for end in (row.best_high_m, row.thermocline_m)]
    deepest = float(np.nanmax([1.0, *ends]))
    ax.set_ylim(float(from_si(deepest * 1.15, "depth", depth)), 0)
    ax.set_xlim(-0.6, len(order) - 0.4)
    step = max(1, len(order) // 6)
    ax.set_xticks(range(0, len(order), step), [_week_mark(week) for week in order[::step]])
    ax.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    ax.set_xlabel("week of the year, from its Monday")
    return ax


def _week_mark(week: str) -> str:
    """Write a week of an axis with the day it begins on below."""
    monday = monday_of(week)
    return f"W{week[-2:]}\n{monday.day} {labels.short_month(f'{monday:%Y-%m}')}"


def _temperatures(ax: Axes, profile: pd.DataFrame, place: dict[str, int], units: Units) -> None:
    """Shade the water by temperature and label the lines of equal temperature."""
    grid = profile[profile["week"].isin(place)].pivot_table(
        index="depth_m", columns="week", values="temp_c"
    )
    if min(grid.shape, default=0) < 2:
        return
    depth = from_si(grid.index, "depth", units.depth)
    across = [place[str(week)] for week in grid.columns]
    warmth = from_si(grid.to_numpy(dtype=float), "temperature", units.temperature)
    levels = MaxNLocator(5).tick_values(float(np.nanmin(warmth)), float(np.nanmax(warmth)))
    ax.contourf(
        across, depth, warmth, levels=levels, cmap=ListedColormap(list(_WATER_SHADES)), zorder=0
    )
    ax.contour(across, depth, warmth, levels=levels, colors=SOFT, linewidths=0.6, zorder=1)
    mark = labels.unit_of("temperature", units)
    for level in levels:
        crossing = _last_crossing(warmth, depth, float(level))
        if crossing is not None:
            week, down = crossing
            ax.text(
                across[week],
                down,
                f"{level:g} {mark}",
                fontsize=9.5,
                ha="right",
                va="center",
                color=INK,
                bbox=_UNDER_TEXT,
                zorder=4,
            )


def _last_crossing(warmth: Array, depth: Array, level: float) -> tuple[int, float] | None:
    """Return the last week in which the water passes a temperature, and how deep."""
    for week in range(warmth.shape[1] - 1, -1, -1):
        # Temperature falls with depth, and interpolation wants it to rise.
        down = np.interp(level, warmth[::-1, week], depth[::-1], left=np.nan, right=np.nan)
        if np.isfinite(down):
            return week, float(down)
    return None


def cost_by_month(months: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw, for each month, the strikes fished and those of the best allowed spread.

    Parameters
    ----------
    months : pandas.DataFrame
        The months of the result table ``cost``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = records(Cost, months)
    for at, row in enumerate(rows):
        ax.barh(at, row.strikes_fished, height=0.72, color=EFFORT)
        interval(ax, at, (row.strikes_best, row.low, row.high), strong=True)
    best = [labels.number(row.strikes_best) for row in rows]
    margin_column(ax, "fished", [labels.number(row.strikes_fished) for row in rows])
    margin_column(ax, "best", best, at=1.2, strong=True)
    name_rows(ax, [labels.short_month(row.period) for row in rows])
    ax.set_xlim(0, 1.12 * max(max(row.high, row.strikes_fished) for row in rows))
    ax.set_xlabel("strikes: bar, as fished; mark, at the best spread")
    return ax


def species_outcomes(species: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw what became of the strikes of each species.

    Parameters
    ----------
    species : pandas.DataFrame
        The result table ``species``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = sorted(records(Species, species), key=lambda row: -row.strikes)[:8]
    parts = (
        ("landed", [row.landed for row in rows], BEST),
        ("released", [row.released for row in rows], OTHER),
        ("lost", [row.lost for row in rows], RAW),
        ("missed", [row.missed for row in rows], EFFORT),
    )
    left = np.zeros(len(rows))
    for name, width, colour in parts:
        bars = ax.barh(
            np.arange(len(rows)),
            width,
            left=left,
            color=colour,
            label=name,
            edgecolor="white",
            hatch="///" if name == "lost" else None,  # in grey it is as dark as released
        )
        texts = [f"{value:.0f}" if value >= 0.06 * rows[0].strikes else "" for value in width]
        ax.bar_label(
            bars, texts, label_type="center", fontsize=9.5, color="white" if colour == BEST else INK
        )
        left += width
    name_rows(ax, [shortened(drawable(row.species or "not seen")) for row in rows])
    ax.set_xlabel("strikes")
    ax.legend(
        loc="lower left",
        bbox_to_anchor=(0, 1),
        ncols=4,
        fontsize=9.5,
        borderaxespad=0.2,
        handlelength=1,
        columnspacing=1.2,
    )
    return ax
