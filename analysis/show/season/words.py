"""Owns the sentences of the reports: the answer, verdicts, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from markupsafe import Markup

from analysis import labels
from analysis.show.base.html import Fragment, box, bullets, paragraph
from analysis.summary import Summary

if TYPE_CHECKING:
    import pandas as pd

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

SENTENCES = 2
"""Of the answer that stand on the first screen."""


def cautions() -> Fragment:
    """Return the cautions as a block of a page."""
    return Fragment(Markup('<div class="cautions">{}</div>').format(bullets(CAUTIONS).html))


def subject(summary: Summary, trips: pd.DataFrame) -> Fragment:
    """Return what a review is about: boats, season, and how much fishing it rests on.

    Parameters
    ----------
    summary : Summary
        The summary.
    trips : pandas.DataFrame
        The result table ``trips``, of the season reviewed alone.
    """
    counted = trips[trips["hours_from"] == "sets"]
    counts = (
        f"{labels.count(len(trips), 'trip')}, "
        f"{labels.number(counted['rod_hours'].sum())} rod-hours, "
        f"{labels.count(trips['strikes'].sum(), 'strike')}, "
        f"{labels.number(trips['landed'].sum())} landed"
    )
    boats = labels.listing(list(summary["boats"]))
    return paragraph(f"{boats}, {summary['season']}: {counts}.", "subject")


def answer(summary: Summary) -> Fragment:
    """Return the answer of the review in two sentences, the first one the largest."""
    return box(list(summary["first_lines"][:SENTENCES]), "answer")


def further(summary: Summary) -> Fragment:
    """Return what else belongs to the answer: what keeps it from being surer."""
    lines = summary["first_lines"][SENTENCES:]
    return Fragment(Markup("\n").join(paragraph(line).html for line in lines))


def said(summary: Summary, about: str) -> Fragment:
    """Return the sentences that the analysis found about a part of the season, as paragraphs.

    Parameters
    ----------
    summary : Summary
        The summary; its entry ``told`` has a list for each part.
    about : str
        The part, such as ``cost``.
    """
    lines = summary.get("told", {}).get(about, [])
    return Fragment(Markup("\n").join(paragraph(line).html for line in lines))


def verdicts() -> Fragment:
    """Return what the three verdicts mean."""
    return paragraph(f"{'; '.join(VERDICTS.values())}.", "small")


def open_months(summary: Summary) -> Fragment:
    """Return a sentence for each month that the log cannot judge: what is missing."""
    best = summary["best"]
    return bullets(
        [
            entry["sentence"]
            for entry in best
            if entry["period"] != "season" and entry["verdict"] == "open"
        ]
    )
