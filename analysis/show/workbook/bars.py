"""Owns the explorer's pictures: tables whose cells hold bars, quick enough for a dragged slider.

They are tables of true text with small drawings beside the numbers, so that a screen reader reads
them as the eye does, and no picture has to be drawn anew on another thread.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd
from markupsafe import Markup

from analysis import labels
from analysis.result_rows import OfHour, records
from analysis.show.base.html import each, paragraph
from analysis.show.base.style import BEST, EFFORT, INK, LINE, OTHER, SOFT
from analysis.show.base.tables import Table
from analysis.show.course.day_words import by_hour
from analysis.show.workbook.rows import Fitted, OfBand
from analysis.units import Units

_BAR_PX = 48
_RATE_PX = 110
_HOURS_PX = 560
_STYLE = Markup(
    "<style>.rh{{background:white;color:{ink};font:13px/1.35 sans-serif;padding:2px 6px}}"
    ".rh table{{border-collapse:collapse;margin:0;font-size:13px}}"
    ".rh caption{{text-align:left;color:{ink};padding:2px 0;font-weight:bold}}"
    ".rh th,.rh td{{padding:0 8px 0 0;text-align:left;color:{ink};background:white;"
    "white-space:nowrap;font-weight:normal;height:21px}}"
    ".rh thead th{{color:{soft};border-bottom:1px solid {line}}}"
    ".rh .number{{text-align:right}}.rh .named th,.rh .named td{{font-weight:bold}}"
    ".rh .thin td,.rh .thin th{{color:{soft}}}.rh p{{margin:2px 0;max-width:46em}}"
    ".rh .old{{opacity:.55}}.rh svg{{vertical-align:middle}}</style>"
).format(ink=INK, soft=SOFT, line=LINE)


def whole(*parts: Markup) -> Markup:
    """Put parts of the explorer into one block with its look."""
    return Markup('{}<div class="rh">{}</div>').format(_STYLE, Markup().join(parts))


def _bar(share: float, colour: str) -> Markup:
    """Draw a bar; what it says stands beside it."""
    return Markup(
        '<svg aria-hidden="true" width="{w}" height="13"><rect width="{x}" height="13" '
        'fill="{colour}"/></svg>'
    ).format(w=_BAR_PX, x=round(_BAR_PX * min(max(share, 0.0), 1.0), 1), colour=colour)


def _interval(row: Fitted, top: float, *, strong: bool) -> Markup:
    """Draw a rate with its bounds on a common scale; what it says stands beside it."""
    low, middle, high = (
        round(_RATE_PX * min(value / top, 1.0), 1)
        for value in (row.rate_low, row.rate, row.rate_high)
    )
    return Markup(
        '<svg aria-hidden="true" width="{w}" height="15"><rect x="{low}" y="{y}" width="{length}" '
        'height="{h}" fill="{colour}"/><circle cx="{middle}" cy="7.5" r="4.5" fill="{fill}" '
        'stroke="{colour}" stroke-width="2"/></svg>'
    ).format(
        w=_RATE_PX + 8,
        low=low,
        y=6 if strong else 6.75,
        h=3 if strong else 1.5,
        length=round(max(high - low, 1.0), 1),
        middle=middle,
        colour=BEST if strong else SOFT,
        fill=BEST if strong else "white",
    )


def bands(
    counts: pd.DataFrame, fitted: pd.DataFrame, units: Units, *, waits: str = "", old: bool = False
) -> Markup:
    """Return strikes, rod-hours and rates by band, and the rate at equal conditions.

    Parameters
    ----------
    counts : pandas.DataFrame
        ``band_low_m, band_high_m, rod_hours, strikes, raw_rate``.
    fitted : pandas.DataFrame
        Rows of ``bands`` of the same part, or of the one looked at before; none where nothing was
        fitted.
    units : Units
    waits : str
        Why there is no rate at equal conditions yet, or at all.
    old : bool
        Whether `fitted` is of the part looked at before; it is dimmed.
    """
    if counts.empty:
        return paragraph("No rod fished so: there are no rod-hours to tell anything from.").html
    of = {round(row.band_low_m, 3): row for row in records(Fitted, fitted)}
    told = [row for row in of.values() if pd.notna(row.p_best)]
    top = 1.02 * max(
        [min(row.rate_high, 2.5 * max(one.rate for one in told)) for row in told], default=1.0
    )
    most_hours = max(counts["rod_hours"].max(), 1e-9)
    most_strikes = max(counts["strikes"].max(), 1)
    rows = []
    for row in records(OfBand, counts):
        fit = of.get(round(row.band_low_m, 3))
        rows.append(_band_row(row, fit, units, most_hours, most_strikes, top))
    last = "at equal conditions, 90 % interval"
    head = each(
        '<th scope="col">{}</th>',
        [labels.unit_of("depth", units), "strikes", "rod-hours", "counted", last],
    )
    table = Markup(
        "<table{}><caption>Strikes per rod-hour by depth of the lure</caption><thead><tr>{}</tr>"
        "</thead><tbody>{}</tbody></table>"
    ).format(
        Markup(' class="old" aria-busy="true"') if old else Markup(), head, Markup().join(rows)
    )
    return table + (paragraph(waits).html if waits else Markup())


def _band_row(
    row: OfBand,
    fit: Fitted | None,
    units: Units,
    most_hours: float,
    most_strikes: float,
    top: float,
) -> Markup:
    told, kind, named = Markup("–"), "", False
    if fit is not None and pd.notna(fit.p_best):
        named = bool(fit.named)
        kind = "named" if named else ""
        bounds = labels.interval(fit.rate_low, fit.rate_high)
        drawn = _interval(fit, top, strong=named)
        told = Markup("{} {} ({})").format(drawn, labels.rate(fit.rate), bounds)
    elif fit is not None:
        kind = "thin"
        told = Markup("cannot be told" if fit.judged else "too little fished to judge")
    band = labels.band(row.band_low_m, row.band_high_m, units, unit=False)
    return Markup(
        '<tr class="{}"><th scope="row">{}</th><td>{} {}</td><td>{} {}</td>'
        '<td class="number">{}</td><td>{}</td></tr>'
    ).format(
        kind,
        f"{band} ◀" if named else band,
        _bar(row.strikes / most_strikes, OTHER),
        labels.number(row.strikes),
        _bar(row.rod_hours / most_hours, EFFORT),
        labels.number(row.rod_hours),
        labels.rate(row.raw_rate),
        told,
    )


def hours(counts: pd.DataFrame) -> Markup:
    """Draw strikes and rod-hours by hour of the day, upright, with the finding in words."""
    if counts.empty:
        return Markup()
    told = by_hour(counts)
    top = counts["rod_hours"].max()
    most = max(counts["raw_rate"].max(), 1e-9)
    width, height = min(30, _HOURS_PX // len(counts)), 54
    parts = [
        _hour(
            row, at * width, width, height, row.rod_hours / top, np.nan_to_num(row.raw_rate) / most
        )
        for at, row in enumerate(records(OfHour, counts))
    ]
    return Markup(
        "<p><strong>By hour of the day</strong>: bars rod-hours, dots strikes per rod-hour as "
        'counted, strikes above</p><svg role="img" aria-label="{}" width="{}" height="{}">{}</svg>'
    ).format(told.alt, width * len(parts) + 4, height + 32, Markup().join(parts))


def _hour(row: OfHour, x: float, width: int, height: int, effort: float, rate: float) -> Markup:
    enough = pd.notna(row.high)
    return Markup(
        '<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="{effort}"/>'
        '<circle cx="{cx}" cy="{cy}" r="4" fill="{fill}" stroke="{dot}" stroke-width="1.5"/>'
        '<text x="{cx}" y="11" text-anchor="middle" font-size="11" fill="{ink}">{strikes}</text>'
        '<text x="{cx}" y="{base}" text-anchor="middle" font-size="11" fill="{ink}">{hour}</text>'
    ).format(
        x=x,
        w=width - 4,
        y=round(16 + height * (1 - effort), 1),
        h=round(height * effort, 1),
        effort=EFFORT,
        cx=x + width / 2 - 2,
        cy=round(16 + (height - 6) * (1 - rate) + 3, 1),
        fill=BEST if enough else "white",
        dot=BEST if enough else SOFT,
        strikes=row.strikes,
        ink=INK,
        base=height + 30,
        hour=f"{row.hour:02d}",
    )


def strikes_and_sets(strikes: pd.DataFrame, sets: pd.DataFrame, units: Units, band: str) -> Markup:
    """List the strikes and the sets of a band, each with file and line of the log."""
    caught = Table(
        caption=f"Strikes at {band}",
        columns={
            "Day": strikes["date"].tolist(),
            "Hour": [f"{hour:02d}" for hour in strikes["hour"]],
            "Rod": strikes["rod"].tolist(),
            "Area": strikes["area"].tolist(),
            "Species": strikes["species"].tolist(),
            "Outcome": strikes["outcome"].tolist(),
            "Gear": _gears(strikes),
            "Lure": strikes["lure"].tolist(),
            "Depth": [labels.amount(value, "depth", units) for value in strikes["depth_m"]],
            "Water": [
                labels.amount(value, "temperature", units) for value in strikes["lure_temp_c"]
            ],
            "In the log": _places(strikes["file"], strikes["line"]),
        },
        nothing=f"No strike at {band}.",
    )
    fished = Table(
        caption=f"Sets at {band}, most rod-hours first",
        columns={
            "Day": sets["date"].tolist(),
            "Rod": sets["rod"].tolist(),
            "Gear": _gears(sets),
            "Line-out": [labels.amount(value, "length", units) for value in sets["line_out_m"]],
            "Lure": sets["lure"].tolist(),
            "Rod-hours": [labels.number(value, 1) for value in sets["hours"]],
            "Strikes": [labels.number(value) for value in sets["strikes"]],
            "In the log": _places(sets["file"], sets["line"]),
        },
        numbers=frozenset({"Rod-hours", "Strikes"}),
        nothing=f"No set at {band}.",
    )
    return Markup().join([Markup(caught.html), Markup(fished.html)])


def _gears(rows: pd.DataFrame) -> list[str]:
    return [
        gear if pd.isna(setting) else f"{gear} on {setting:g}"
        for gear, setting in zip(rows["gear"].astype(str), rows["setting"], strict=True)
    ]


def _places(files: Iterable[str], lines: Iterable[int]) -> list[str]:
    return [f"{file}, line {line}" for file, line in zip(files, lines, strict=True)]
