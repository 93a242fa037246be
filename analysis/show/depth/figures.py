"""Owns the pictures of modelled depth: curves, effects, calibration, the shape of a spread."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from textwrap import fill

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator, PercentFormatter

from analysis import labels
from analysis.result_rows import records
from analysis.show.base.apart import label_apart
from analysis.show.base.marks import divide
from analysis.show.base.pictures import drawable
from analysis.show.base.style import BEST, EFFORT, INK, LINE, OTHER, RAW, SOFT
from analysis.show.depth.part_words import PARTS
from analysis.show.depth.rows import LineEnd, Trial
from analysis.units import Units, from_si

SHADES = (BEST, RAW, OTHER, SOFT, INK)
STYLES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
NAME_ROOM = 0.06
"""Room below the deepest lure for its rod's name, in how far the farthest is astern."""
LINE_PT = 13.0
"""Height of a line of type."""
_WIDE_LETTERS, _TITLE_LETTERS = 18, 14
"""Letters that a third and a quarter of a picture's width hold."""
TERMS = {
    "speed_mps": ("speed", "speed"),
    "line_diameter": ("line diameter, times own", ""),
    "lure_drag_area_m2": ("drag area of the lure, cm²", ""),
    "lure_lift_area_m2": ("lift area of a lure that dives, cm²", ""),
    "tip_height_m": ("rod tip above the water", "length"),
}


def depth_curves(curves: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw depth against line-out for each gear and setting, with 90 % bands.

    Parameters
    ----------
    curves : pandas.DataFrame
        `gear, setting, line_out_m, depth_m, low_m, high_m`.
    units : Units
        Units to write lengths in.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    named = lines_of(curves)
    for place, (_, line) in enumerate(named):
        out = from_si(line["line_out_m"], "length", units.length)
        depth, low, high = (
            from_si(line[name], "depth", units.depth) for name in ("depth_m", "low_m", "high_m")
        )
        colour = SHADES[place % len(SHADES)]
        ax.fill_between(out, low, high, color=colour, alpha=0.15, linewidth=0)
        ax.plot(out, depth, color=colour, linestyle=STYLES[place % len(STYLES)])
    ax.set_ylim(ax.get_ylim()[1], 0)
    ax.set_xlabel(f"line-out, {labels.unit_of('length', units)}")
    ax.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    _name_ends(ax, [name for name, _ in named])
    return ax


def _name_ends(ax: Axes, names: Sequence[str]) -> None:
    """Write the name of each line at its end, as near as no name stands on another."""
    fig = ax.get_figure(root=True)
    assert fig is not None
    ends = np.array([np.asarray(line.get_xydata())[-1] for line in ax.lines])
    frame_pt = 72.0 * ax.get_window_extent().height / fig.dpi
    top, bottom = sorted(ax.get_ylim())
    down_pt = frame_pt * (ends[:, 1] - top) / (bottom - top)
    order = np.argsort(down_pt, kind="stable")
    written = down_pt.copy()
    for above, here in pairwise(order):
        written[here] = max(written[here], written[above] + LINE_PT)
    for end, name, lower in zip(ends, names, written - down_pt, strict=True):
        ax.annotate(
            drawable(name),
            tuple(end),
            xytext=(5, -lower),
            textcoords="offset points",
            va="center",
            color=INK,
            fontweight="bold",
        )


def lines_of(curves: pd.DataFrame) -> list[tuple[str, pd.DataFrame]]:
    """Return each line of the curves with its name: the setting, or the gear without a dial."""
    return [
        (f"{part['setting'].iloc[0]:g}" if part["setting"].notna().all() else str(gear), part)
        for (gear, _), part in curves.groupby(["gear", "setting"], dropna=False, sort=False)
    ]


def depth_effects(effects: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw how depth changes with speed, line diameter, lure drag and lift, and rod-tip height.

    Parameters
    ----------
    effects : pandas.DataFrame
        `term, at, change`; a panel a term, all on one scale but the lure's lift.
    units : Units
        Units to write speed and height in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the panels.
    """
    panels = divide(ax, rows=2, columns=3)
    # A lure that dives takes a bare line many times deeper: it would flatten all other panels.
    dives = effects["term"] == "lure_lift_area_m2"
    for panel in panels[effects["term"].nunique() :]:
        panel.set_axis_off()
    for panel, (term, rows) in zip(panels, effects.groupby("term", sort=False), strict=False):
        known = effects.loc[dives == (term == "lure_lift_area_m2"), "change"].dropna()
        room = 0.05 * (known.max() - known.min()) + 0.005
        words, quantity = TERMS[str(term)]
        at = rows["at"].to_numpy(dtype=float)
        if quantity:
            at = from_si(at, quantity, units.of(quantity))
            words = f"{words}, {labels.unit_of(quantity, units)}"
        elif str(term).startswith("lure_"):
            at = 1e4 * at
        panel.axhline(0.0, color=LINE, linewidth=1.0, linestyle="--")
        panel.plot(at, rows["change"], color=BEST)
        panel.set_ylim(known.min() - room, known.max() + room)
        panel.yaxis.set_major_formatter(PercentFormatter(1.0, decimals=0))
        panel.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
        panel.xaxis.set_major_locator(MaxNLocator(4))
        panel.set_xlabel(fill(words, _WIDE_LETTERS))
    panels[0].set_ylabel("change of depth")
    panels[3].set_ylabel("change of depth")
    return ax


def parts_of_lines(parts: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw depth against line-out without a part of the line and with it, a panel a part.

    Parameters
    ----------
    parts : pandas.DataFrame
        `part, line_out_m, without_m, with_m`.
    units : Units
        Units to write lengths in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the panels; depth has a scale of its own in each.
    """
    panels = divide(ax, rows=2, columns=4)
    for panel, (part, rows) in zip(panels, parts.groupby("part", sort=False), strict=False):
        out = from_si(rows["line_out_m"], "length", units.length)
        plain, with_it = (
            from_si(rows[name], "depth", units.depth) for name in ("without_m", "with_m")
        )
        panel.plot(out, plain, color=OTHER, linestyle="--", label="without")
        panel.plot(out, with_it, color=BEST, label="with")
        panel.set_ylim(1.05 * float(np.nanmax([*plain, *with_it])), 0)
        panel.set_title(fill(PARTS[str(part)].title, _TITLE_LETTERS), fontsize=9)
        panel.xaxis.set_major_locator(MaxNLocator(4))
        panel.yaxis.set_major_locator(MaxNLocator(4))
    for panel in panels[parts["part"].nunique() :]:
        panel.set_axis_off()
        panel.legend(*panels[0].get_legend_handles_labels(), loc="center", frameon=False)
    for panel in panels[::4]:
        panel.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    for panel in panels[3:]:
        panel.set_xlabel(f"line-out, {labels.unit_of('length', units)}")
    return ax


def calibration(trials: pd.DataFrame, *, ax: Axes) -> Axes:
    """Draw each trial's logged depth against the prediction before and after, with 90 % bars.

    Parameters
    ----------
    trials : pandas.DataFrame
        `trial, setting, before, before_sd, after, after_sd, left_out, reason`.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = [row for row in records(Trial, trials) if not row.reason]
    at = np.arange(len(rows))
    ax.axhline(0.0, color=LINE, linewidth=1.0, linestyle="--")
    before = [(row.before, row.before_sd) for row in rows]
    after = [(row.after, row.after_sd) for row in rows]
    looks = (
        (before, "before", -0.15, "white", OTHER),
        (after, "after calibration", 0.15, BEST, BEST),
    )
    for estimates, label, aside, face, colour in looks:
        ax.errorbar(
            at + aside,
            [middle for middle, _ in estimates],
            yerr=[labels.Z90 * sd for _, sd in estimates],
            fmt="o",
            color=colour,
            markerfacecolor=face,
            markeredgewidth=1.5,
            elinewidth=1.5,
            label=label,
        )
    odd = [(place + 0.15, row.after) for place, row in enumerate(rows) if row.left_out]
    if odd:
        ax.plot(
            *zip(*odd, strict=True),
            "x",
            color=RAW,
            markersize=12,
            markeredgewidth=2,
            label="left out",
        )
    names = [
        f"{row.trial}" if np.isnan(row.setting) else f"{row.trial}\n({row.setting:g})"
        for row in rows
    ]
    ax.set_xticks(at, names)
    ax.yaxis.set_major_formatter(PercentFormatter(1.0, decimals=0))
    ax.set_xlabel("trial (setting)")
    ax.set_ylabel("logged depth against predicted")
    ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, fontsize=9)
    return ax


def spread_shape(paths: pd.DataFrame, ends: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw the true shape of each line of a spread from behind and from above, on one scale.

    Parameters
    ----------
    paths : pandas.DataFrame
        `rod, astern_m, across_m, depth_m`, points from lure to rod tip.
    ends : pandas.DataFrame
        `rod, across_m, astern_m, depth_m, depth_sd_m, reason`.
    units : Units
        Units to write distances in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the two panels.
    """
    known = [row for row in records(LineEnd, ends) if not row.reason]
    length = units.length
    lowest_m = max(row.depth_m + 2 * row.depth_sd_m for row in known)
    farthest = 1.1 * float(from_si(max(row.astern_m for row in known), "length", length))
    deepest = float(from_si(lowest_m, "length", length)) + NAME_ROOM * farthest
    behind, above = divide(ax, rows=2, columns=1, height_ratios=(deepest, farthest))
    widest = float(np.max(np.abs(from_si(paths["across_m"], "length", length))))
    reach = max(1.25 * widest, 0.42 * (deepest + farthest))
    for panel, down, end in ((behind, "depth_m", deepest), (above, "astern_m", farthest)):
        for _, line in paths.groupby("rod", sort=False):
            across = from_si(line["across_m"], "length", length)
            panel.plot(across, from_si(line[down], "length", length), color=OTHER, linewidth=1.2)
        for row in known:
            end_m = row.depth_m if panel is behind else row.astern_m
            x, y = from_si([row.across_m, end_m], "length", length)
            panel.plot(x, y, "o", color=BEST, markersize=7, zorder=3)
        panel.set_xlim(-reach, reach)
        panel.set_ylim(end, -0.06 * max(deepest, farthest))
        panel.set_aspect("equal", adjustable="box", anchor="W")
    sd = from_si([row.depth_sd_m for row in known], "length", length)
    across = from_si([row.across_m for row in known], "length", length)
    depth = from_si([row.depth_m for row in known], "length", length)
    behind.errorbar(across, depth, yerr=labels.Z90 * sd, fmt="none", ecolor=SOFT, elinewidth=1.5)
    behind.axhspan(deepest, 0, color=EFFORT, alpha=0.5, zorder=0)
    unit = labels.unit_of("length", units)
    behind.set_title("from behind")
    behind.set_ylabel(f"depth, {unit}")
    above.set_title("from above")
    above.set_ylabel(f"astern, {unit}")
    above.set_xlabel(f"port  ·  to the side, {unit}  ·  starboard")
    names = [row.rod for row in known]
    astern = from_si([row.astern_m for row in known], "length", length)
    for panel, ends_at in ((behind, depth), (above, astern)):
        label_apart(panel, np.column_stack([across, ends_at]), names)
    return ax
