"""The answer in plain words: what produced, how sure that is, what is missing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis import labels
from analysis.decision.answer import Answer, Period
from analysis.decision.bands import CLEAR, CLEAR_UNSEEN, MOST_ON_SPREAD, SURE
from analysis.decision.caps import Cap
from analysis.decision.leads import more_strikes, what_they_follow
from analysis.decision.wide import most_lost, wide_choice
from analysis.rates.standardised import SEASON
from analysis.show.sentences.caps import cap_words
from analysis.summary import BestOfPeriod
from analysis.units import Units

GOOD_WATER = 0.9
"""Water counts as the best where its rate is at least this share of the curve's top."""

LITTLE_KNOWN = 0.5
"""Where the worst depth may have given up more than this, that it did not says little."""

UNSEEN_WRONG = "of 112 such verdicts on months of simulated lakes 3 were wrong"
"""As tests/benchmarks/unseen_water_study.md has it."""


def first_lines(answer: Answer, units: Units) -> list[str]:
    """Sentences for the top of the review, the most important first."""
    lines = []
    nothing = "this log cannot tell which depth produced"
    if answer.fit.smoothing is None:
        return [f"{nothing.capitalize()}: {answer.fit.status}.", *spread_sentences(answer)]
    if answer.fit.trips == 1:
        lines.append(f"{nothing.capitalize()}: all strikes that compare rods are of one trip.")
    elif not answer.choice.tells_depth:
        lines.append(
            f"{nothing.capitalize()}: trips that the model has not seen are foretold no better "
            f"by depth and water than by {answer.choice.as_good}."
        )
    water = favourite_water(answer, units)
    if water:
        lines.append(water)
    lines += [season_sentence(answer, units), *unseen_sentence(answer)]
    caps = [cap for cap in answer.caps if cap.code != "foretells-nothing"]  # said above
    lines += [f"No verdict is 'clear', because {cap_words(cap)}." for cap in caps[:2]]
    return lines + spread_sentences(answer)


def unseen_sentence(answer: Answer) -> list[str]:
    """Say what verdicts rest on where no thermometer went below the surface."""
    if not answer.exposure.water_unseen:
        return []
    why = cap_words(Cap(code="water-unseen"))
    rests = why[0].upper() + why[1:]
    if answer.caps:
        return [f"{rests}."]
    asked = f"from {labels.chance(CLEAR_UNSEEN)} on, not from {labels.chance(CLEAR)}"
    return [f"{rests}. So a verdict is 'clear' only {asked}; {UNSEEN_WRONG}."]


def spread_sentences(answer: Answer) -> list[str]:
    """Say how much rests on what rods were put in with, where that keeps a verdict from clear."""
    capped = [period for period in answer.periods if period.on_spread > MOST_ON_SPREAD]
    if not capped:
        return []
    when = ", ".join(
        f"{'the season' if period.name == SEASON else labels.month(period.name)}"
        f" ({labels.percent(period.on_spread)})"
        for period in capped
    )
    if len(capped) == len(answer.periods) > 2:
        when = "the season and in each of its months"
    return [
        f"More than a third of the rod-hours rest on a spread alone in {when}: no verdict is "
        "'clear' there."
    ]


def season_sentence(answer: Answer, units: Units) -> str:
    """Say what the season's bands tell; a note alone where the fish followed the water."""
    if not an_average(answer, units):
        return period_sentence(answer, answer.season, units)
    return (
        f"No one depth is the season's: {_named(answer, answer.season, units)} was best on "
        "average, over days whose water lay at other depths. Go by the month."
    )


def an_average(answer: Answer, units: Units) -> bool:
    """Whether the season's depth is but the mean of days whose best water lay elsewhere."""
    season = answer.season
    named = season.judgement.named.any() and season.judged.sum() > 1
    moved = what_they_follow(answer) == "temperature" and len(answer.periods) > 2
    return bool(moved and named and favourite_water(answer, units))


def period_sentence(answer: Answer, period: Period, units: Units) -> str:
    """Say what a period's bands tell, and where better water may lie that was hardly fished."""
    told = _told(answer, period, units)
    beyond = period.judgement.beyond(period.judged) if period.judged.sum() > 1 else ()
    return f"{told} {labels.too_little_fished(beyond)}" if beyond else told


def _told(answer: Answer, period: Period, units: Units) -> str:
    """Say what a period's bands tell, in one or two sentences."""
    when = "Over the season" if period.name == SEASON else f"In {labels.month(period.name)}"
    judgement = period.judgement
    named = np.flatnonzero(judgement.named)
    if not len(named) or period.judged.sum() < 2:
        return f"{when} the log cannot tell which depth produced: {missing(answer, period, units)}."
    band = _named(answer, period, units)
    hours = period.rod_hours[named].sum()
    rate, bounds = labels.rate_and_interval(*period.named_rate)
    figures = (
        f"{rate} strikes per rod-hour (90 % interval {bounds}, {labels.number(hours)} rod-hours "
        "there)"
    )
    sure = f"{labels.chance(judgement.p_near)} sure that it holds a band within a tenth of the best"
    # how sure a model is means nothing of few strikes, nor where it does not foretell trips
    if answer.told and judgement.p_matters < SURE:
        lost = most_lost(period)
        if lost <= LITTLE_KNOWN:
            alike = (
                f"of the depths fished enough none gave up more than {labels.percent(lost)} of "
                f"the best ({labels.chance(SURE)} sure)"
            )
        else:
            alike = (
                f"it is {labels.chance(1 - judgement.p_matters)} likely that every band fished "
                "enough was within a tenth of the best"
            )
        return f"{when} depth may have made no difference: {alike}. {band}: {figures}."
    wide = wide_choice(period) if answer.told else None
    if wide is not None:
        edges = answer.hours.edges_m
        any_depth = labels.band(edges[wide.first], edges[wide.last + 1], units)
        return (
            f"{when} any depth in {any_depth} did nearly as well: none gave up more than a fifth "
            f"of the best ({labels.chance(wide.chance)} sure). The best by a little was {band}: "
            f"{figures}."
        )
    if judgement.verdict == "clear":
        return f"{when} {band} produced best: {figures}; {sure}."
    if judgement.verdict == "leaning":
        return f"{when} the log leans to {band}: {figures}; {sure}."
    figures = f"{figures}; {sure}" if answer.told else figures
    return (
        f"{when} the log cannot tell; {band} looks best so far: {figures}. "
        f"Missing: {missing(answer, period, units)}."
    )


def _named(answer: Answer, period: Period, units: Units) -> str:
    """Name what a period's answer names, and of two neighbours the likelier."""
    band = labels.band(*answer.named_m(period), units)
    rather = answer.rather_m(period)
    return band if rather is None else f"{band} (rather {labels.band(*rather, units)})"


def missing(answer: Answer, period: Period, units: Units) -> str:
    """Say what would let the log tell more in a period."""
    judged = np.flatnonzero(period.judged)
    if answer.fit.strikes == 0:
        return "no strike fell while rods in different water were down together"
    if len(judged) < 2:
        return "fewer than two bands were fished long enough to compare"
    draws = period.draws[judged]
    edges = answer.hours.edges_m
    near = (draws >= 0.9 * draws.max(axis=0)).mean(axis=1)
    rival = judged[near > 0.1]
    thin = rival[np.argmin(period.rod_hours[rival])] if len(rival) else judged[0]
    band = labels.band(edges[thin], edges[thin + 1], units)
    more = more_strikes(answer, period)
    hours = labels.number(period.rod_hours[thin])
    return f"rod-hours in {band} ({hours} so far) and about {labels.count(more, 'more strike')}"


def favourite_water(answer: Answer, units: Units) -> str:
    """Say which water temperature to fish where the model follows it, with two months' depths."""
    if answer.exposure.water_unseen:
        return ""  # strikes tell where the best water lay, not how warm it was
    follows = what_they_follow(answer)
    curve = answer.effects.loc[answer.effects["term"] == "lure_temp_c"]
    if follows == "depth" or curve.empty or not answer.told:
        return ""
    if not (curve["high"] < GOOD_WATER * curve["ratio"].max()).any():
        return ""  # no water is surely worse than the best
    top = curve.loc[curve["ratio"] >= GOOD_WATER * curve["ratio"].max(), "at"]
    water = labels.between(top.min(), top.max(), "temperature", units)
    named = [period for period in answer.periods[1:] if period.judgement.verdict != "open"]
    months = [
        f"in {labels.month(period.name)} that was " + labels.band(*answer.named_m(period), units)
        for period in _two_apart(named)
    ]
    where = f"; {', '.join(months)}" if months else ""
    # no order to fish it where no verdict on the page is sure
    clear = any(period.judgement.verdict == "clear" for period in answer.periods)
    first = "Fish the" if clear and follows == "temperature" else "The log leans to the"
    return f"{first} {water} water{where}."


def _two_apart(periods: Sequence[Period]) -> list[Period]:
    """Return the two periods whose named bands lie farthest apart, in order of time."""
    if len(periods) < 2:
        return list(periods)
    place = [float(np.flatnonzero(period.judgement.named).mean()) for period in periods]
    chosen = sorted({int(np.argmin(place)), int(np.argmax(place))})
    return [periods[index] for index in chosen]


def best_rows(answer: Answer, units: Units) -> list[BestOfPeriod]:
    """Return the best band of each period for ``summary.json``."""
    edges = answer.hours.edges_m
    rows: list[BestOfPeriod] = []
    for period in answer.periods:
        named = np.flatnonzero(period.judgement.named)
        rate, low, high = period.named_rate
        rather_low, rather_high = answer.rather_m(period) or (None, None)
        season = period.name == SEASON
        rows.append(
            {
                "period": period.name,
                "band_low_m": float(edges[named[0]]) if len(named) else None,
                "band_high_m": float(edges[named[-1] + 1]) if len(named) else None,
                "rather_low_m": rather_low,
                "rather_high_m": rather_high,
                "verdict": period.judgement.verdict,
                "an_average": season and an_average(answer, units),
                "p_named": period.judgement.p_named,
                "p_near": period.judgement.p_near,
                "rate": rate,
                "rate_low": low,
                "rate_high": high,
                "sentence": season_sentence(answer, units)
                if season
                else period_sentence(answer, period, units),
            }
        )
    return rows
