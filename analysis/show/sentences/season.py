"""The course of a season, its species and what poor water cost, in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from analysis import labels
from analysis.decision.answer import Answer
from analysis.result_rows import Cost, records
from analysis.review.species import ALIKE, FEWEST_STRIKES
from analysis.units import Units, from_si

HELD = (
    "The interval is drawn wider than the curves alone make it, and so held the truth in 16 of 16 "
    "simulated seasons in which fish followed the water's temperature."
)
"""As measured by tests/benchmarks/season_cost.py, in the rows that follow a temperature."""


def cost_sentences(cost: pd.DataFrame, answer: Answer) -> list[str]:
    """Say what the season cost, in which month most of it, and how far to trust the interval."""
    if cost.empty:
        return [
            "What poor water cost cannot be told: the log names no month's band with any sureness."
        ]
    warm = answer.fit.model.warm
    return [_cost(cost), *([HELD] if warm else [])]


def _cost(cost: pd.DataFrame) -> str:
    season, *months = records(Cost, cost)
    worst = max(months, key=lambda month: month.more)
    share = season.more / max(season.strikes_fished, 1)
    write = labels.as_known(season.low, season.high)
    best = labels.interval(season.low, season.high, write)
    more = labels.interval(season.more_low, season.more_high, write)
    text = (
        f"Every rod in the named bands, month by month, would have brought about "
        f"{write(season.strikes_best)} strikes (90 % interval {best}) against "
        f"{labels.number(season.strikes_fished)} as fished: {write(season.more)} "
        f"more ({more}), or {labels.percent(share)}."
    )
    if season.more_low <= 0:
        return f"{text} Whether anything was lost cannot be told."
    month = labels.month(worst.period)
    most = labels.as_known(worst.more_low, worst.more_high)(worst.more)
    return f"{text} Most of it in {month}: {most}."


def season_sentences(trips: pd.DataFrame, strikes: pd.DataFrame, units: Units) -> list[str]:
    """Say in a few sentences how the season went: days, speed, surface water, the biggest fish.

    Parameters
    ----------
    trips : DataFrame
        `trips_table`.
    strikes : DataFrame
        `analysis.review.strikes.all_strikes`.
    units : Units

    Returns
    -------
    list of str
        A sentence for what the log tells; none for what it does not.
    """
    days = trips.groupby("date", as_index=False)["strikes"].sum()
    best = days.iloc[int(days["strikes"].argmax())]
    lines = [
        f"{labels.count(len(trips), 'trip')} on {labels.count(len(days), 'day')}; "
        f"most strikes on {labels.day(best['date'], year=False)}: "
        f"{best['strikes']}."
    ]
    speed = trips["speed_mps"].dropna()
    if len(speed):
        low, usual, high = from_si(speed.quantile([0.1, 0.5, 0.9]), "speed", units.speed)
        lines.append(
            f"Half of the trips went slower than {usual:.1f} {units.speed}, four in five at "
            f"{low:.1f} to {high:.1f}."
        )
    surface = trips.dropna(subset=["surface_temp_c"])
    if len(surface):
        by_month = surface.groupby(surface["date"].dt.strftime("%Y-%m"))["surface_temp_c"].mean()
        shown = from_si(by_month, "temperature", units.temperature)
        parts = [
            f"{value:.0f} °{units.temperature} in {labels.month(month)}"
            for month, value in zip(by_month.index, shown, strict=True)
        ]
        lines.append(f"The surface was {', '.join(parts)}.")
    known = strikes.dropna(subset=["length_m"])
    if len(known):
        fish = known.iloc[int(known["length_m"].argmax())]
        length = float(from_si(fish["length_m"], "fish_length", units.fish_length))
        same = (trips["log_number"] == fish["log_number"]) & (trips["trip"] == fish["trip"])
        when = trips.loc[same, "date"].iloc[0]
        name = fish["kind"] or "fish of a species not logged"
        lines.append(
            f"The longest fish: a {name} of {length:.1f} {units.fish_length} on "
            f"{labels.day(when, year=False)}, {fish['boat']}."
        )
    return lines


RULE = (
    "Names are one species where they differ only in capitals, spaces or punctuation, where "
    f"they are {labels.percent(ALIKE)} alike by letters, or where each word of one begins a word "
    "of the other and of no further species. The most frequent spelling names the species."
)


def species_sentences(answers: Mapping[str, Answer], units: Units) -> list[str]:
    """Say of each species with enough strikes which band it kept to, and how sure that is."""
    lines = []
    for kind, found in answers.items():
        name = labels.opening(kind)
        judgement = found.season.judgement
        named = np.flatnonzero(judgement.named)
        if not len(named) or judgement.verdict == "open":
            lines.append(f"{name}: the log cannot tell its depth yet.")
            continue
        verb = "produced best at" if judgement.verdict == "clear" else "leans to"
        lines.append(
            f"{name} {verb} {labels.band(*found.named_m(found.season), units)} over the season "
            f"({labels.chance(judgement.p_near)} sure of a band within a tenth of its best)."
        )
    if not answers:
        lines.append(
            f"No species has bands of its own: that takes two species with names in the log, and "
            f"{FEWEST_STRIKES} strikes that compare rods."
        )
    return lines


def pooled_sentences(answers: Mapping[str, Answer], kinds: Iterable[str]) -> list[str]:
    """Say which species are in the rates of all species alone, where others have their own.

    Parameters
    ----------
    answers : mapping of str to Answer
        Of :func:`species_answers`; where it is empty :func:`species_sentences` says why.
    kinds : iterable of str
        Species of each placed strike; fish not seen are empty and not told of.
    """
    counted = Counter(str(kind) for kind in kinds if kind and kind not in answers)
    if not answers:
        return []
    return [
        f"{labels.opening(kind)} has no bands of its own: its strikes ({count} placed, of "
        f"the {FEWEST_STRIKES} that takes) are pooled in the rates of all species."
        for kind, count in counted.most_common()
    ]
