"""Owns what several pictures share: estimates with bounds, columns of numbers, panels."""

from collections.abc import Iterable, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.ticker import FuncFormatter, LogLocator, NullLocator

from analysis.show.base.style import BEST, INK, SOFT


def interval(
    ax: Axes,
    at: float,
    estimate: tuple[float, float, float],
    *,
    strong: bool,
    limit: float = np.inf,
) -> None:
    """Draw one estimate with its bounds across a row; one that runs off ends in an arrow.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        Where to draw.
    at : float
        The row.
    estimate : tuple of float
        The estimate, its lower and its upper bound.
    strong : bool
        Filled and dark, for what the answer names; else hollow.
    limit : float
        End of the axis.
    """
    middle, low, high = estimate
    colour = BEST if strong else SOFT
    ax.hlines(at, low, min(high, limit), color=colour, linewidth=4 if strong else 2)
    if high > limit:
        ax.plot(limit, at, ">", color=colour, markersize=8, clip_on=False)
    ax.plot(
        middle,
        at,
        "o",
        markersize=11 if strong else 8,
        markeredgecolor=colour,
        markeredgewidth=2,
        color=BEST if strong else "white",
        clip_on=False,
    )


def margin_column(
    ax: Axes,
    heading: str,
    texts: Iterable[str],
    *,
    at: float = 1.02,
    strong: bool = False,
) -> None:
    """Write a text beside each row of a picture, to the right of it.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The picture; its rows are at 0, 1, 2 and so on from the top.
    heading : str
        What the texts are; written above them.
    texts : iterable of str
        One a row.
    at : float
        Where the column begins, 1 being the right edge of the picture.
    strong : bool
        Bold and dark.
    """
    beside = ax.get_yaxis_transform()
    weight, colour = ("bold", INK) if strong else ("normal", SOFT)
    ax.text(at, -0.62, heading, va="bottom", fontweight=weight, color=colour, transform=beside)
    for row, text in enumerate(texts):
        ax.text(at, row, text, va="center", fontweight=weight, color=colour, transform=beside)


def name_rows(ax: Axes, names: Sequence[str]) -> None:
    """Put names on the upright axis, the first on top."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.tick_params(axis="y", length=0)


def multiples(
    ax: Axes,
    estimates: Sequence[tuple[float, float, float]],
    *,
    strong: Sequence[bool],
    reasons: Sequence[str] = (),
) -> None:
    """Draw ratios with their bounds across rows, a broken line at 1, on a logarithmic axis.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        Where to draw.
    estimates : sequence of (float, float, float)
        Ratio, lower and upper bound, one a row.
    strong : sequence of bool
        Which rows are told apart from 1.
    reasons : sequence of str, optional
        One a row: why it has no ratio, written in grey in its place; empty where it has one.
    """
    why = reasons or [""] * len(estimates)
    told = [bounds for bounds, reason in zip(estimates, why, strict=True) if not reason]
    left = max(0.1, min([0.5, *(0.9 * low for _, low, _ in told)]))
    right = max(2.0, min(10.0, 1.1 * max((high for *_, high in told), default=1.0)))
    for at, ((ratio, low, high), reason) in enumerate(zip(estimates, why, strict=True)):
        if reason:
            ax.text(left * 1.05, at, reason, va="center", color=SOFT)
        else:
            interval(ax, at, (ratio, max(low, left), high), strong=strong[at], limit=right)
    ax.axvline(1.0, color=SOFT, linewidth=1, linestyle=(0, (4, 3)), zorder=0)
    ax.set_xscale("log")
    ax.set_xlim(left, right)
    mark_multiples(ax.xaxis)


def mark_multiples(axis: Axis) -> None:
    """Mark a logarithmic axis as multiples: × 0.5, × 1, × 2."""
    axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"× {value:g}"))


def divide(
    ax: Axes,
    *,
    rows: int,
    columns: int,
    height_ratios: tuple[float, ...] | None = None,
    width_ratios: tuple[float, ...] | None = None,
) -> list[Axes]:
    """Replace axes by a grid of panels in the same place; row by row.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The axes, made blank.
    rows, columns : int
        Shape of the grid.
    height_ratios, width_ratios : tuple of float, optional
        Relative heights of the rows and widths of the columns; equal by default.

    Raises
    ------
    ValueError
        For axes that were placed by hand.
    """
    ax.set_axis_off()
    spec = ax.get_subplotspec()
    fig = ax.get_figure(root=True)
    if spec is None or fig is None:
        msg = "only axes made by subplots can be divided into panels"
        raise ValueError(msg)
    grid = spec.subgridspec(rows, columns, height_ratios=height_ratios, width_ratios=width_ratios)
    return [fig.add_subplot(grid[row, column]) for row in range(rows) for column in range(columns)]
