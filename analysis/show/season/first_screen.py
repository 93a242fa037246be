"""Owns what stands beside the answer on the first screen: what to set, and how sure."""

from collections.abc import Sequence

import pandas as pd
from markupsafe import Markup

from analysis import labels
from analysis.result_rows import PlannedRod, records
from analysis.show.base.html import Fragment, each, paragraph
from analysis.show.season.words import VERDICTS
from analysis.summary import Summary


def what_to_set(plan: pd.DataFrame) -> Fragment:
    """Return each boat's starting spread in a line: what each gear and setting lets out.

    Parameters
    ----------
    plan : pandas.DataFrame
        The result table ``plan``; line-outs are in the boat's own unit already.
    """
    rods = [rod for rod in records(PlannedRod, plan) if rod.purpose == "best band"]
    lines = []
    for boat in dict.fromkeys(rod.boat for rod in rods):
        mine = [rod for rod in rods if rod.boat == boat]
        outs: dict[str, list[float]] = {}
        for rod in mine:
            outs.setdefault(labels.gear_and_setting(rod.gear, rod.setting), []).append(rod.line_out)
        said = "; ".join(f"{gear}: {_span(out)}\u00a0{mine[0].unit}" for gear, out in outs.items())
        when = "" if mine[0].period == "season" else f", {labels.month(mine[0].period)}"
        lines.append(f"{boat}{when}: {said}.")
    if not lines:
        return paragraph("What to set: the log names no depth to aim at.")
    return Fragment(
        Markup('<p class="head">What to set</p><ul>{}</ul>').format(each("<li>{}</li>", lines))
    )


def _span(line_outs: Sequence[float]) -> str:
    low, high = labels.short(min(line_outs)), labels.short(max(line_outs))
    return low if low == high else f"{low}–{high}"


def how_sure(summary: Summary) -> Fragment:
    """Return which periods' answers are clear, leaning and open, in a line each."""
    by_verdict = {
        verdict: [
            "the season" if entry["period"] == "season" else labels.month(entry["period"])
            for entry in summary["best"]
            if entry["verdict"] == verdict and not entry["an_average"]
        ]
        for verdict in VERDICTS
    }
    lines = [
        f"{meaning.partition(': ')[2]}: {labels.listing(by_verdict[verdict])}."
        for verdict, meaning in VERDICTS.items()
        if by_verdict[verdict]
    ]
    if any(entry["an_average"] for entry in summary["best"]):
        lines.append("no one depth is the season's: go by the month.")
    if not lines:
        return Fragment()
    items = each("<li>{}</li>", map(labels.opening, lines))
    return Fragment(Markup('<p class="head">How sure</p><ul>{}</ul>').format(items))
