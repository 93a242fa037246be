"""Owns the pictures of the answer: rates by band, by month, against the raw count, effects."""

from collections.abc import Sequence
from math import isnan

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from analysis import labels
from analysis.result_rows import Band, Effect, Share, records
from analysis.show.base.marks import divide, interval, margin_column, mark_multiples
from analysis.show.base.rows import of_period
from analysis.show.base.style import BEST, EFFORT, INK, OTHER, RATE_SHADES, RAW, SOFT, text_on
from analysis.units import Units, from_si


def _band_axis(ax: Axes, bands: Sequence[tuple[float, float]], units: Units) -> None:
    """Put bands, by their edges, on the upright axis, the shallowest on top, as in the water."""
    texts = [labels.band(low_m, high_m, units, unit=False) for low_m, high_m in bands]
    ax.set_yticks(np.arange(len(bands)), texts)
    ax.set_ylim(len(bands) - 0.5, -0.5)
    ax.tick_params(axis="y", length=0)
    ax.set_ylabel(f"depth of the lure, {labels.unit_of('depth', units)}")


def rate_by_band(bands: pd.DataFrame, units: Units, *, period: str, ax: Axes) -> Axes:
    """Draw the rate of each band with its interval, the rod-hours behind it as bars.

    Parameters
    ----------
    bands : pandas.DataFrame
        The result table ``bands``.
    units : Units
        Units to write depths in.
    period : str
        ``season`` or ``YYYY-MM``.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    rows = records(Band, of_period(bands, period))
    place = np.arange(len(rows))
    judged = [not isnan(row.p_best) for row in rows]
    top = _rate_limit([row for row, told in zip(rows, judged, strict=True) if told])
    hours = np.array([row.rod_hours for row in rows])
    ax.barh(place, hours / max(hours.max(), 1e-9) * top, height=0.82, color=EFFORT)
    margin_column(ax, "rod-hours", [labels.number(value) for value in hours])
    for at, row in enumerate(rows):
        if judged[at]:
            interval(ax, at, (row.rate, row.rate_low, row.rate_high), strong=row.named, limit=top)
        else:
            why = "cannot be told" if row.judged else "too little fished to judge"
            ax.text(top * 0.02, at, why, va="center", color=SOFT)
    _band_axis(ax, [(row.band_low_m, row.band_high_m) for row in rows], units)
    for tick, row in zip(ax.get_yticklabels(), rows, strict=True):
        tick.set_fontweight("bold" if row.named else "normal")
    ax.set_xlim(0, top)
    ax.xaxis.set_major_locator(MaxNLocator(4))
    ax.set_xlabel("strikes per rod-hour, with 90 % interval")
    return ax


def _rate_limit(judged: Sequence[Band]) -> float:
    """Return where the rate axis ends: past the intervals, but not past an enormous one."""
    if not judged:
        return 1.0
    highest = max(row.rate for row in judged)
    return min(max(row.rate_high for row in judged), 2.5 * highest) * 1.02


def rate_by_month(months: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw each band's rate in each month, shaded by its share of the month's best.

    The band or bands that the month's answer names are framed, by dashes where it is open.

    Parameters
    ----------
    months : pandas.DataFrame
        The months of the result table ``bands``.
    units : Units
        Units to write depths in.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes.
    """
    cells = records(Band, months)
    edges = sorted({(row.band_low_m, row.band_high_m) for row in cells})
    periods = sorted({row.period for row in cells})
    values = np.full((len(edges), len(periods)), np.nan)
    for row in cells:
        if not isnan(row.p_best):
            place = edges.index((row.band_low_m, row.band_high_m)), periods.index(row.period)
            values[place] = row.rate
    ax.set_facecolor("white")
    # Months differ in how many fish there were; what counts is how the bands of one compare.
    best = np.maximum(np.fmax.reduce(values, axis=0, initial=0.0), 1e-9)
    shares = values / best
    levels = np.linspace(0.0, 1.0, len(RATE_SHADES) + 1)
    shades = ListedColormap(list(RATE_SHADES))
    ax.pcolormesh(
        np.arange(values.shape[1] + 1) - 0.5,
        np.arange(values.shape[0] + 1) - 0.5,
        np.ma.masked_invalid(shares),
        cmap=shades,
        norm=BoundaryNorm(levels, len(RATE_SHADES)),
        edgecolors="white",
        linewidth=2,
    )
    for (down, across), value in np.ndenumerate(values):
        known = np.isfinite(value)
        ax.text(
            across,
            down,
            _short_rate(value) if known else "·",
            ha="center",
            va="center",
            color=text_on(shares[down, across]) if known else INK,
        )
    _outline_named(ax, [row for row in cells if row.named], [low for low, _ in edges], periods)
    _band_axis(ax, edges, units)
    ax.set_xticks(np.arange(values.shape[1]), [labels.short_month(name) for name in periods])
    ax.xaxis.tick_top()
    ax.tick_params(axis="x", length=0)
    ax.spines[["left", "bottom"]].set_visible(False)
    return ax


def _short_rate(rate: float) -> str:
    """Write a rate in a cell: two decimals, for none is known better."""
    return f"{rate:.2f}" if rate >= 0.005 else "<.01"


def _outline_named(
    ax: Axes, named: Sequence[Band], band_low_m: list[float], periods: list[str]
) -> None:
    """Frame the band or the two neighbours that each month's answer names, if open by dashes."""
    for across, period in enumerate(periods):
        own = [row for row in named if row.period == period]
        places = [band_low_m.index(row.band_low_m) for row in own]
        if not places:
            continue
        ax.add_patch(
            Rectangle(
                (across - 0.48, min(places) - 0.48),
                0.96,
                max(places) - min(places) + 0.96,
                fill=False,
                edgecolor=INK,
                linewidth=2.5,
                linestyle=(0, (2, 1.5)) if own[0].verdict == "open" else "solid",
            )
        )


def raw_against_rate(shares: pd.DataFrame, units: Units, *, period: str, ax: Axes) -> Axes:
    """Draw, side by side, what the count says and what the rate says about each band.

    Parameters
    ----------
    shares : pandas.DataFrame
        The result table ``shares``.
    units : Units
        Units to write depths in.
    period : str
        ``season`` or ``YYYY-MM``.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided into four panels.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, holding the bands' labels.
    """
    rows = records(Share, of_period(shares, period))
    place = np.arange(len(rows))
    panels = (
        ([row.strike_share for row in rows], "share of\nstrikes", labels.percent, RAW),
        ([row.hour_share for row in rows], "share of\nrod-hours", labels.percent, OTHER),
        ([row.raw_rate for row in rows], "strikes per\nrod-hour", labels.rate, RAW),
        ([row.rate for row in rows], "the same, at\nequal conditions", labels.rate, BEST),
    )
    _band_axis(ax, [(row.band_low_m, row.band_high_m) for row in rows], units)
    ax.set_xticks([])
    ax.spines[["bottom"]].set_visible(False)
    ax.set_xlim(0, len(panels))
    for left, (values, title, wording, colour) in enumerate(panels):
        most = max(float(np.nanmax(values, initial=0.0)), 1e-9)
        bars = ax.barh(
            place, np.nan_to_num(values) / most * 0.54, left=left + 0.02, height=0.8, color=colour
        )
        for bar, value in zip(bars, values, strict=True):
            largest = value == most
            bar.set_alpha(1.0 if largest else 0.45)
            ax.text(
                left + 0.05 + bar.get_width(),
                bar.get_y() + 0.4,
                wording(value),
                va="center",
                fontsize=9.5,
                fontweight="bold" if largest else "normal",
            )
        ax.text(left + 0.02, -0.7, title, va="bottom", fontsize=9.5, fontweight="bold")
    return ax


def effect_of(effects: pd.DataFrame, units: Units, *, term: str, ax: Axes) -> Axes:
    """Draw how the catch rate changes along one term, against the term's reference value.

    Parameters
    ----------
    effects : pandas.DataFrame
        The result table ``effects``.
    units : Units
        Units to write the term in.
    term : str
        A term of that table.
    ax : matplotlib.axes.Axes
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes; upright, the catch rate as a multiple of that at the reference.
    """
    rows = [row for row in records(Effect, effects) if row.term == term]
    rows.sort(key=lambda row: row.at)
    quantity = labels.TERM_QUANTITY[term]
    at = from_si([row.at for row in rows], quantity, units.of(quantity))
    bounds = [row.low for row in rows], [row.high for row in rows]
    ax.fill_between(at, *bounds, color=EFFORT, linewidth=0)
    ax.plot(at, [row.ratio for row in rows], color=BEST)
    ax.axhline(1.0, color=SOFT, linewidth=1, linestyle=(0, (4, 3)))
    ax.set_yscale("log")
    mark_multiples(ax.yaxis)
    ax.margins(x=0)
    ax.xaxis.set_major_locator(MaxNLocator(5))
    words = labels.TERM_WORDS[term]
    ax.set_xlabel(f"{words}, {labels.unit_of(quantity, units)}")
    return ax


def effects_grid(effects: pd.DataFrame, units: Units, *, ax: Axes) -> Axes:
    """Draw `effect_of` for every term of the table, two abreast on one scale.

    Parameters
    ----------
    effects : pandas.DataFrame
        The result table ``effects``.
    units : Units
        Units to write the terms in.
    ax : matplotlib.axes.Axes
        Where to draw; it is divided.

    Returns
    -------
    matplotlib.axes.Axes
        The same axes, blank behind the panels.
    """
    rows = records(Effect, effects)
    known = {row.term for row in rows}
    terms = [term for term in labels.TERM_WORDS if term in known]
    panels = divide(ax, rows=(len(terms) + 1) // 2, columns=2)
    low = max(min(row.low for row in rows), 0.1)
    high = min(max(row.high for row in rows), 10.0)
    for panel, term in zip(panels, terms, strict=False):
        effect_of(effects, units, term=term, ax=panel)
        panel.set_ylim(low, high)
    for panel in panels[len(terms) :]:
        panel.set_axis_off()
    return ax
