"""Owns the sentences of the reports: verdicts, descriptions of pictures, cautions."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.show import labels
from analysis.show.picture import Fragment, box, bullets, paragraph
from analysis.show.rows import of_period, top
from analysis.units import Units

CAUTIONS = (
    "These figures describe past fishing. They are not advice on safety: whether to go out, and "
    "how to run the boat, is the skipper's to judge on the day.",
    "Weather on big water changes fast and cold water kills fast. Wear flotation. Lines, cables "
    "and riggers under load can cut, snag or throw a weight: keep hands and faces clear.",
    "Limits, seasons, licences and the duty to report a catch are the local authority's. Ask "
    "them; nothing here stands in for their rules.",
    "Before eating a fish, follow the local advice on how much of which species is safe to eat.",
)
"""The cautions of the README and of every report; this is their only copy."""

VERDICTS: Mapping[str, str] = {
    "clear": "clear: the log leaves little doubt",
    "leaning": "leaning: likely, but not sure",
    "open": "open: the log cannot tell",
}
"""What each verdict means."""


def cautions() -> Fragment:
    """Return the cautions as a block of a page."""
    return Fragment(f'<div class="cautions">{bullets(CAUTIONS).html}</div>')


def subject(summary: Mapping[str, Any]) -> Fragment:
    """Return what a review is about: boats, season, and how much fishing it rests on."""
    counts = (
        f"{labels.number(summary['trips'])} trips, "
        f"{labels.number(summary['rod_hours'])} rod-hours, "
        f"{labels.number(summary['strikes'])} strikes, "
        f"{labels.number(summary['landed'])} landed"
    )
    boats = labels.listing(list(summary["boats"]))
    return paragraph(f"{boats}, {summary['season']}: {counts}.", "subject")


def answer(summary: Mapping[str, Any]) -> Fragment:
    """Return the answer of the review in plain words, the first line the shortest and largest."""
    return box(list(summary["first_lines"]), "answer")


def rate_by_band(bands: pd.DataFrame, units: Units, *, period: str) -> str:
    """Describe `figures.rate_by_band`: what is best, how sure, and on how much fishing."""
    rows = of_period(bands, period)
    when = "the season" if period == "season" else labels.period(period)
    best = None if rows.empty else top(rows[rows["p_best"].notna()], "rate")
    if best is None:
        return f"Rates by depth for {when}: no band was fished enough to be judged."
    band = labels.band(best.band_low_m, best.band_high_m, units)
    low, high = labels.rate(best.rate_low), labels.rate(best.rate_high)
    return (
        f"Strikes per rod-hour by depth for {when}. The highest rate is {labels.rate(best.rate)} "
        f"at {band} (90 % interval {low} to {high}) on {labels.number(best.rod_hours)} rod-hours. "
        f"Verdict: {VERDICTS[best.verdict]}."
    )


def rate_by_month(bands: pd.DataFrame, units: Units) -> str:
    """Describe `figures.rate_by_month`: the band each month's answer names."""
    parts: list[str] = []
    if bands.empty:
        return "Catch rate by depth and month: nothing to judge."
    for period, rows in bands[bands["period"] != "season"].groupby("period"):
        named = rows[rows["named"]]
        if named.empty:
            parts.append(f"{labels.period(str(period))}: open")
        else:
            band = labels.band(named["band_low_m"].min(), named["band_high_m"].max(), units)
            parts.append(f"{labels.period(str(period))}: {band}")
    return f"Catch rate by depth and month. Named bands: {'; '.join(parts)}."


def raw_against_rate(shares: pd.DataFrame, units: Units, *, period: str) -> str:
    """Describe `figures.raw_against_rate`: which band each of the four counts puts first."""
    rows = of_period(shares, period)
    firsts = []
    for column, words in (
        ("strike_share", "most strikes came from"),
        ("hour_share", "most rod-hours went to"),
        ("raw_rate", "most strikes per rod-hour came from"),
        ("rate", "at equal conditions the best is"),
    ):
        first = None if rows.empty else top(rows, column)
        if first is not None:
            firsts.append(f"{words} {labels.band(first.band_low_m, first.band_high_m, units)}")
    if not firsts:
        return "Shares by depth are not known."
    text = labels.listing(firsts)
    return f"{text[:1].upper()}{text[1:]}."


def effects_grid(effects: pd.DataFrame, units: Units) -> str:
    """Describe `figures.effects_grid`: where each term's curve is highest, and how it falls."""
    parts = []
    for term, words in labels.TERM_WORDS.items():
        if effects.empty or not (effects["term"] == term).any():
            continue
        rows = effects[effects["term"] == term]
        low, high = rows["ratio"].min(), rows["ratio"].max()
        digits = 1 if term == "speed_mps" else 0
        place = labels.amount(top(rows, "ratio").at, labels.TERM_QUANTITY[term], units, digits)
        parts.append(f"{words}: highest at {place}, {high / max(low, 1e-9):.1f} times the lowest")
    return f"Catch rate along each term of the model. {'; '.join(parts)}."
