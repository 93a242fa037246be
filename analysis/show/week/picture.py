"""Owns the picture of the weekly report: rates by depth, and the water's temperature beside it."""

from collections.abc import Sequence
from math import isnan

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike

from analysis import labels
from analysis.show.base.html import Told
from analysis.show.base.many_units import ManyUnits
from analysis.show.base.marks import interval
from analysis.show.base.style import BEST, EFFORT, INK, OTHER, RAW, SOFT
from analysis.show.week.words import band_of, named_depth, units_of
from analysis.units import Units, from_si, to_si
from analysis.weekly.figures import Depth, Water, WeekBand, WeekReport


def depth_picture(bands: Sequence[WeekBand], week: WeekReport, *, ax: Axes) -> Axes:
    """Draw the week's rates by depth with the rod-hours behind them, and the temperature profile.

    Both panels share the depth, the surface on top. A bar's area is the rod-hours of its band.

    Parameters
    ----------
    bands : sequence of WeekBand
        The week's bands.
    week : WeekReport
        The figures of the week.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the panels.
    """
    units = units_of(week)
    ax.set_axis_off()
    spec = ax.get_subplotspec()
    fig = ax.get_figure(root=True)
    if spec is None or fig is None:
        msg = "only axes made by subplots can be divided into panels"
        raise ValueError(msg)
    grid = spec.subgridspec(1, 2, width_ratios=(2.1, 1.0))
    left = fig.add_subplot(grid[0])
    right = fig.add_subplot(grid[1], sharey=left)
    deepest = max(band.high_m for band in bands)
    _rates(left, bands, units)
    left.set_ylim(float(_depth(deepest, units.first)), 0)
    left.set_ylabel(f"depth, {labels.unit_of('depth', units.first)}")
    _profile(right, week.water, units, deepest)
    return ax


def _depth(depth_m: float | np.ndarray, units: Units) -> np.ndarray:
    return from_si(depth_m, "depth", units.depth)


def _rates(ax: Axes, bands: Sequence[WeekBand], units: ManyUnits) -> None:
    """Draw each band's rate with its interval over a bar whose area is its rod-hours."""
    judged = [band for band in bands if band.judged]
    top = 1.0
    if judged:
        highest = max(band.rate for band in judged)
        top = min(max(band.rate_high for band in judged), 2.5 * highest) * 1.04
    height = _depth(np.array([band.high_m - band.low_m for band in bands]), units.first)
    dense = np.array([band.rod_hours for band in bands]) / height
    for row, tall, share in zip(bands, height, dense / dense.max(), strict=True):
        start = float(_depth(row.low_m, units.first))
        ax.barh(start, share * top, height=tall, align="edge", color=EFFORT, edgecolor="white")
        middle = start + tall / 2
        mark = ("↑" if row.shallower else "") + ("↓" if row.deeper else "")
        ax.text(
            top * 1.03, middle, f"{labels.number(row.rod_hours)}{mark}", va="center", color=SOFT
        )
        if row.judged:
            estimate = (row.rate, row.rate_low, row.rate_high)
            interval(ax, middle, estimate, strong=row.named, limit=top)
        else:
            ax.text(top * 0.02, middle, "too little fished", va="center", color=SOFT, fontsize=9)
    ax.text(top * 1.03, 0, "rod-hours", va="bottom", ha="left", color=SOFT, fontsize=9.5)
    ax.set_xlim(0, top)
    ax.xaxis.set_major_locator(MaxNLocator(4))
    ax.set_xlabel("strikes per rod-hour, with 90 % interval")


def _profile(ax: Axes, water: Water | None, units: ManyUnits, deepest_m: float) -> None:
    """Draw the temperature by depth, the thermocline, and where the best water lay."""
    ax.tick_params(labelleft=False)
    first = units.first
    if water is None:
        ax.text(0.5, 0.5, "no cast", transform=ax.transAxes, ha="center", color=SOFT)
        ax.set_xticks([])
        return
    depth = np.array(water.depth_m)
    shown = depth <= deepest_m
    warmth = from_si(np.array(water.temp_c)[shown], "temperature", first.temperature)
    ax.plot(warmth, _depth(depth[shown], first), color=BEST)
    ax.margins(x=0.12)
    if not isnan(water.best_low_m):
        low, high = _depth(np.array([water.best_low_m, water.best_high_m]), first)
        ax.axhspan(low, high, color=OTHER, alpha=0.45, linewidth=0)
    if water.thermocline_m <= deepest_m:
        line = float(_depth(water.thermocline_m, first))
        ax.axhline(line, color=RAW, linewidth=1.6, linestyle=(0, (4, 2)))
        ax.annotate(
            "thermocline",
            (1.0, line),  # below the thermocline the water is cold, so the right is free there
            xycoords=("axes fraction", "data"),
            xytext=(-3, -3),
            textcoords="offset points",
            ha="right",
            va="top",
            fontsize=9.5,
            color=INK,
        )
    ax.set_xlabel(f"water, {labels.unit_of('temperature', first)}")
    ax.xaxis.set_major_locator(MaxNLocator(3))
    for other in units.others("temperature"):
        _second_axis(ax, "x", "temperature", first, other)
    for other in units.others("depth"):
        _second_axis(ax, "y", "depth", first, other)


def _second_axis(ax: Axes, which: str, quantity: str, first: Units, other: Units) -> None:
    """Add a scale in another unit on the far side."""

    def there(values: ArrayLike) -> ArrayLike:
        return from_si(to_si(values, quantity, first.of(quantity)), quantity, other.of(quantity))

    def back(values: ArrayLike) -> ArrayLike:
        return from_si(to_si(values, quantity, other.of(quantity)), quantity, first.of(quantity))

    mark = labels.unit_of(quantity, other)
    if which == "x":
        across = ax.secondary_xaxis("top", functions=(there, back))
        across.xaxis.set_major_locator(MaxNLocator(3))
        across.set_xlabel(mark)
    else:
        upright = ax.secondary_yaxis("right", functions=(there, back))
        upright.yaxis.set_major_locator(MaxNLocator(6))
        upright.set_ylabel(mark)


def told(depth: Depth, water: Water | None, units: ManyUnits) -> Told:
    """Describe `depth_picture`: what is best, how sure, and how the water lay."""
    judged = [band for band in depth.bands if band.judged]
    if not judged:
        finding = "No depth was fished enough to be judged."
    else:
        best = max(judged, key=lambda band: band.rate)
        rate, bounds = labels.rate_and_interval(best.rate, best.rate_low, best.rate_high)
        finding = (
            f"The highest rate of {len(judged)} depths is {rate} strikes per "
            f"rod-hour at {band_of(best, units)}, 90 % interval {bounds}, on "
            f"{labels.number(best.rod_hours)} rod-hours. The verdict is {depth.verdict}"
        )
        finding += "." if depth.verdict == "open" else f" and names {named_depth(depth, units)}."
    return Told(
        alt=f"{finding} {_water_told(water, units)}",
        caption=(
            "Mark: rate with its interval, filled where named. Bar: rod-hours fished there, by "
            "area. Beside it: water temperature; shaded, where this season's best water lay."
        ),
        missing="No rod-hours with a known depth were logged.",
    )


def _water_told(water: Water | None, units: ManyUnits) -> str:
    if water is None:
        return "The water's temperature is not known."
    surface = units.amount(water.temp_c[0], "temperature")
    if isnan(water.thermocline_m):
        return f"The water was {surface} at the top and without a thermocline."
    return (
        f"The water was {surface} at the top, with the thermocline at "
        f"{units.amount(water.thermocline_m, 'depth')}."
    )
