"""Owns the pictures of gear: landing rates, gear at equal depth, troubles, the planned spread."""

from collections.abc import Sequence
from textwrap import fill

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter

from analysis import labels
from analysis.result_rows import Clearance, GearEffect, Outcome, PlannedRod, Trouble, records
from analysis.show.base.apart import label_apart
from analysis.show.base.html import shortened
from analysis.show.base.marks import divide, interval, margin_column, multiples, name_rows
from analysis.show.base.pictures import drawable
from analysis.show.base.style import BEST, EFFORT, INK, LINE, RAW, SOFT
from analysis.units import Units, from_si

Array = npt.NDArray[np.float64]

_WIDE_BEHIND = 2.1
"""Width over height of the place that the spread has in the picture, seen from behind."""

_LONG = 24
"""Letters after which names go on in the next line."""


def _in_lines(name: str) -> str:
    """Return a name of one or two lines, each cut to what the picture has room for."""
    return "\n".join(shortened(drawable(line)) for line in name.split("\n"))


def landing(outcomes: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw the share landed or released of the fish hooked, level by level, with its interval.

    Parameters
    ----------
    outcomes : pandas.DataFrame
        The result table ``outcomes``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    names: list[str] = []
    titles, hooked = [], []
    rows = records(Outcome, outcomes)
    for term in dict.fromkeys(row.term for row in rows):
        titles.append(len(names))
        hooked.append("")
        ax.axhline(len(names) - 0.45, color=LINE, linewidth=0.8)
        names.append(term.replace("_", " "))
        for row in (row for row in rows if row.term == term):
            interval(ax, len(names), (row.boated_rate, row.low, row.high), strong=False)
            hooked.append(labels.number(row.hooked))
            names.append(f"  {row.level or 'not logged'}")
    name_rows(ax, [_in_lines(name) for name in names])
    for at in titles:
        ax.get_yticklabels()[at].set_fontweight("bold")
    margin_column(ax, "hooked", hooked)
    ax.set_xlim(0, 1)
    ax.xaxis.set_major_formatter(FuncFormatter(lambda share, _: labels.percent(share)))
    ax.set_xlabel("landed or released of those hooked, with 90 % interval")
    return ax


def gear_at_equal_depth(gear_effects: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw each gear's catch rate as a multiple of the reference gear's, other things equal.

    Parameters
    ----------
    gear_effects : pandas.DataFrame
        The result table ``gear_effects``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = records(GearEffect, gear_effects)
    multiples(
        ax,
        [(row.ratio, row.low, row.high) for row in rows],
        strong=[row.told_apart for row in rows],
    )
    margin_column(ax, "rod-hours", [labels.number(row.rod_hours) for row in rows])
    names = [labels.gear_and_setting(row.gear, row.setting) for row in rows]
    name_rows(ax, [_in_lines(name) for name in names])
    ax.set_xlabel("catch rate at equal depth, speed and temperature")
    return ax


def troubles(frame: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw false releases and tangles per 100 rod-hours by gear, setting and line-out.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``troubles``.
    units : Units
        Units to write line-outs in.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    names = []
    rows = records(Trouble, frame)
    limit = 2.5 * max(*(row.per_100_rod_hours for row in rows), 1e-9)
    for at, row in enumerate(rows):
        estimate = (row.per_100_rod_hours, row.low, row.high)
        interval(ax, at, estimate, strong=False, limit=limit)
        out = labels.between(row.line_out_low_m, row.line_out_high_m, "length", units)
        names.append(f"{labels.gear_and_setting(row.gear, row.setting)}\n{out} out")
    margin_column(ax, "rod-hours", [labels.number(row.rod_hours) for row in rows])
    name_rows(ax, [_in_lines(name) for name in names])
    ax.set_xlim(-0.025 * limit, limit)  # half a mark: one at nothing must not stand on its name
    ax.set_xlabel("false releases and tangles per 100 rod-hours")
    return ax


def planned_spread(plan: pd.DataFrame, clearance: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw the planned spread from behind, to scale, and from above.

    Parameters
    ----------
    plan : pandas.DataFrame
        The result table ``plan``.
    clearance : pandas.DataFrame
        The result table ``clearance``; flagged pairs are joined by a dashed line.
    units : Units
        Units to write distances in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the two panels.
    """
    # From above long lines astern would squeeze all others into one dot: it is stretched sideways.
    behind, above = divide(ax, rows=2, columns=1, height_ratios=(1.2, 1.0))
    rods = records(PlannedRod, plan)
    pairs = records(Clearance, clearance)
    depth = _draw_behind(behind, rods, pairs, units)
    astern = from_si([rod.setback_m for rod in rods], "length", units.length)
    _frame(above, _across(rods, units), float(np.max(astern)) * 1.15)
    _draw_lines(above, rods, pairs, units, astern)
    above.set_ylabel(f"astern, {labels.unit_of('length', units)}")
    above.set_xlabel(f"port  ·  to the side, {labels.unit_of('length', units)}  ·  starboard")
    behind.set_title("from behind")
    above.set_title("from above")
    _name_rods(behind, rods, units, depth)
    _name_rods(above, rods, units, astern)
    return ax


def from_behind(plan: pd.DataFrame, clearance: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw the planned spread from behind, to scale, with the uncertainty of each depth.

    Parameters
    ----------
    plan, clearance, units
        As in `planned_spread`.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rods = records(PlannedRod, plan)
    depth = _draw_behind(ax, rods, records(Clearance, clearance), units)
    _name_rods(ax, rods, units, depth)
    return ax


def _draw_behind(
    ax: Axes, rods: Sequence[PlannedRod], pairs: Sequence[Clearance], units: Units
) -> Array:
    """Draw the rods from behind, without their names, and return how deep they run."""
    depth = from_si([rod.depth_m for rod in rods], "depth", units.depth)
    doubt = labels.Z90 * from_si([rod.depth_sd_m for rod in rods], "depth", units.depth)
    deepest = float(np.max(depth + doubt)) * 1.15
    across = _across(rods, units)
    _frame(ax, across, deepest)
    reach = max(ax.get_xlim()[1], 0.5 * _WIDE_BEHIND * deepest)
    ax.set_xlim(-reach, reach)
    ax.set_aspect("equal", adjustable="box", anchor="W")
    _draw_lines(ax, rods, pairs, units, depth)
    ax.errorbar(across, depth, yerr=doubt, fmt="none", ecolor=SOFT, elinewidth=1.5, zorder=2)
    ax.axhspan(deepest, 0, color=EFFORT, alpha=0.5, zorder=0)
    ax.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    return depth


def _name_rods(ax: Axes, rods: Sequence[PlannedRod], units: Units, down: Array) -> None:
    """Name each lure, once all else is drawn and its place in the picture stands."""
    ends = np.column_stack([_across(rods, units), down])
    label_apart(ax, ends, [fill(rod.rod, _LONG) for rod in rods])


def _tips(rods: Sequence[PlannedRod], units: Units) -> Array:
    """Where the rod tips stand, from the middle of the boat, port negative."""
    return from_si([rod.tip_y_m for rod in rods], "length", units.length)


def _across(rods: Sequence[PlannedRod], units: Units) -> Array:
    """Where the lures run, from the middle of the boat, port negative."""
    return from_si([rod.tip_y_m + rod.lateral_m for rod in rods], "length", units.length)


def _frame(ax: Axes, across: Array, end: float) -> None:
    """Set the limits of a panel, the boat on top in the middle."""
    reach = max(float(np.max(np.abs(across))) * 1.25, 1.0)
    ax.set_xlim(-reach, reach)
    ax.set_ylim(end, -0.06 * end)


def _draw_lines(
    ax: Axes, rods: Sequence[PlannedRod], pairs: Sequence[Clearance], units: Units, down: Array
) -> None:
    """Draw each rod's line from its tip to its lure."""
    across, tips = _across(rods, units), _tips(rods, units)
    ax.plot(0, 0, marker="v", color=INK, markersize=9, zorder=3)
    for row, tip, x, y in zip(rods, tips, across, down, strict=True):
        ax.plot([tip, x], [0, y], color=LINE, linewidth=1.2, zorder=1)
        ax.plot(
            x,
            y,
            "o",
            markersize=9,
            markeredgewidth=2,
            markeredgecolor=BEST,
            color="white" if row.purpose == "explore" else BEST,
            zorder=3,
        )
    place = {rod.rod: at for at, rod in enumerate(rods)}
    for pair in pairs:
        if pair.flagged:  # they may touch
            ends = [place[pair.rod_a], place[pair.rod_b]]
            ax.plot(
                across[ends], down[ends], color=RAW, linewidth=2, linestyle=(0, (2, 2)), zorder=2
            )
