"""Owns the card of the starting spread: one page to print, laminate and read on a wet deck."""

from collections.abc import Sequence

import matplotlib as mpl
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from analysis import labels
from analysis.result_rows import PlannedRod, records
from analysis.show.base.html import shortened
from analysis.show.base.pictures import drawable
from analysis.show.base.style import CARD_SIZES_IN, INK, LINE, SETTINGS
from analysis.show.season.gear_figures import from_behind
from analysis.units import Units

_MOST_RODS = 12
_COLUMNS = ((0.0, "left"), (0.17, "left"), (0.76, "right"), (1.0, "right"))


def spread_card(
    plan: pd.DataFrame, clearance: pd.DataFrame, units: Units, *, heading: str, size: str
) -> Figure:
    """Draw the card: rod, gear, line-out and depth in large type, and the spread from behind.

    Parameters
    ----------
    plan : pandas.DataFrame
        The result table ``plan``; line-outs are in the boat's own unit already.
    clearance : pandas.DataFrame
        The result table ``clearance``.
    units : Units
        Units to write depths in.
    heading : str
        What the card is for, such as ``Dunlin: 50–60 ft``.
    size : str
        A key of `CARD_SIZES_IN`.

    Returns
    -------
    matplotlib.figure.Figure
        One page; black on white, so that any printer will do.
    """
    with mpl.rc_context(dict(SETTINGS)):
        margins = ConstrainedLayoutEngine(w_pad=0.25, h_pad=0.2)
        fig = Figure(figsize=CARD_SIZES_IN[size], layout=margins)
        table, picture = fig.subplots(2, 1, height_ratios=(1.55, 1.0))
        _write_rods(table, records(PlannedRod, plan)[:_MOST_RODS], units, heading)
        from_behind(plan, clearance, units, ax=picture)
        fig.draw_without_rendering()
        fig.set_layout_engine("none")  # laid out: a page that is saved is not laid out again
    return fig


def _write_rods(ax: Axes, rods: Sequence[PlannedRod], units: Units, heading: str) -> None:
    """Write a line for each rod, as large as their number allows."""
    ax.set_axis_off()
    ax.set_xlim(0, 1)
    ax.set_ylim(len(rods) + 0.6, -1.2)
    size = min(19.0, 150.0 / max(len(rods), 1))
    ax.text(0, -0.9, shortened(drawable(heading), 32), fontsize=17, fontweight="bold", va="top")
    for (x, align), text in zip(_COLUMNS, ("rod", "gear", "line out", "runs at"), strict=True):
        ax.text(x, 0.35, text, fontsize=10, ha=align, va="center")
    for at, row in enumerate(rods):
        y = at + 1.0
        ax.axhline(y - 0.5, color=LINE if at else INK, linewidth=1.0)
        mark = " *" if row.purpose == "explore" else ""
        texts = (
            drawable(row.rod) + mark,
            shortened(drawable(labels.gear_and_setting(row.gear, row.setting)), 20),
            f"{labels.short(row.line_out)} {row.unit}",
            labels.amount(row.depth_m, "depth", units),
        )
        for column, ((x, align), text) in enumerate(zip(_COLUMNS, texts, strict=True)):
            ax.text(
                x,
                y,
                text,
                fontsize=size * (0.72 if column == 1 else 1.0),
                fontweight="bold" if column in (0, 2) else "normal",
                ha=align,
                va="center",
            )
    if any(rod.purpose == "explore" for rod in rods):
        ax.text(0, len(rods) + 0.55, "* explores: where there is most to learn", fontsize=9)
    # Texts are placed by hand; a long name must not squeeze the picture below.
    for placed in ax.texts:
        placed.set_in_layout(False)
