"""Owns the pictures of the depth explorer: one line to scale, and strikes beside rod-hours."""

import numpy as np
import pandas as pd
import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap

from analysis import labels
from analysis.show.base.marks import divide
from analysis.show.base.style import BEST, EFFORT, INK, OTHER, RATE_SHADES, SOFT, text_on
from analysis.units import Units, from_si

_STEPS = {"ft": 25.0, "m": 8.0}
"""Ends of the axes are whole steps, so that they stand still under small moves of a slider."""
_SHADES = ListedColormap(list(RATE_SHADES))


def line_shape(path: pd.DataFrame, depth_sd_m: float, units: Units, *, ax: Axes) -> Axes:
    """Draw one line's true shape from the side and from behind, both on one scale.

    Parameters
    ----------
    path : pandas.DataFrame
        `astern_m, across_m, depth_m`, from the deep end to the rod tip (negative in the air).
    depth_sd_m : float
        Standard deviation of the depth of the deep end; its 90 % interval is drawn.
    units : Units
        Units to write lengths in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the two panels.
    """
    unit = units.length
    astern, across, depth = (
        from_si(path[name].to_numpy(), "length", unit)
        for name in ("astern_m", "across_m", "depth_m")
    )
    half = labels.Z90 * float(from_si(depth_sd_m, "length", unit))
    step = _STEPS[unit]
    bottom, far, wide = (
        step * np.ceil((1.05 * value + 0.2 * step) / step)
        for value in (depth[0] + half, astern.max(), max(across.max(), 0.6 * step))
    )
    # Narrower, its title would be cut off beside a long flat line.
    wide = max(wide, step * np.ceil(0.3 * far / step))
    top = min(float(depth.min()), 0.0) - 0.2 * step
    panels = divide(ax, rows=1, columns=2, width_ratios=(far, wide))
    mark = labels.unit_of("length", units)
    sights = (
        (astern, far, "from the side", "astern"),
        (across, wide, "from behind", "to the side"),
    )
    for panel, (along, end, title, name) in zip(panels, sights, strict=True):
        panel.axhspan(bottom, 0.0, color=EFFORT, alpha=0.5, zorder=0)
        panel.axhline(0.0, color=SOFT, linewidth=0.8)
        panel.plot(along, depth, color=OTHER)
        panel.plot(along[-1], depth[-1], "s", color=INK, markersize=5, clip_on=False, zorder=3)
        panel.errorbar(
            along[0], depth[0], yerr=half, fmt="o", color=BEST, ecolor=SOFT, elinewidth=1.5
        )
        panel.set_xlim(-0.04 * far, end)
        panel.set_ylim(bottom, top)
        panel.set_aspect("equal", adjustable="box", anchor="NW")
        panel.locator_params(axis="x", nbins=max(1, round(6 * end / far)), min_n_ticks=2)
        panel.set_title(title)
        panel.set_xlabel(f"{name}, {mark}")
    panels[0].set_ylabel(f"depth, {mark}")
    return ax


def strikes_and_hours(counts: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw strikes and, beside them, the rod-hours they took, by depth and month.

    Parameters
    ----------
    counts : pandas.DataFrame
        `month` (such as ``2026-07``), `band_low_m, band_high_m, rod_hours, strikes`; a row a
        band and month that was fished.
    units : Units
        Units to write bands in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the two panels.
    """
    left, right = divide(ax, rows=1, columns=2)
    named = counts.assign(
        band=[
            labels.band(low, high, units, unit=False)
            for low, high in zip(counts["band_low_m"], counts["band_high_m"], strict=True)
        ]
    )
    order = named.sort_values("band_low_m")["band"].unique()
    months = sorted(named["month"].unique())
    for panel, column, title in ((left, "strikes", "strikes"), (right, "rod_hours", "rod-hours")):
        grid = named.pivot_table(index="band", columns="month", values=column, aggfunc="sum")
        grid = grid.reindex(index=order, columns=months)
        sns.heatmap(
            grid,
            annot=True,
            fmt=".0f",
            annot_kws={"fontsize": 9},
            cmap=_SHADES,
            vmin=0.0,
            cbar=False,
            linewidths=1.0,
            linecolor="white",
            ax=panel,
        )
        most = float(np.nanmax(grid.to_numpy(dtype=float), initial=1e-9))
        for text in panel.texts:
            text.set_color(text_on(float(text.get_text()) / most))
        panel.set_xticklabels([labels.short_month(name) for name in months], rotation=0)
        panel.tick_params(length=0)
        panel.set_title(title)
        panel.set_xlabel("")
        panel.set_ylabel("")
    left.set_yticklabels(left.get_yticklabels(), rotation=0)
    left.set_ylabel(f"depth, {labels.unit_of('depth', units)}")
    right.set_yticks([])
    return ax
