"""Owns the sentences of the workbook: what is looked at, what it holds, what a comparison tells."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analysis import labels
from analysis.show.workbook.cards import Card

WHOLE = "the whole season"
_ORDER = (
    "boat",
    "month",
    "week",
    "days",
    "weekday",
    "moon",
    "note",
    "hours",
    "area",
    "species",
    "outcome",
    "gear",
    "setting",
    "lure",
    "depth",
    "trips",
)
_SEASON_CALLS = (
    ".bands",
    ".plot.rate_by_band()",
    '.each("lure")',
    ".strikes",
    ".trips",
    ".checks",
)
_PART_CALLS = (".bands", ".plot.rate_by_band()", ".strikes", '.each("lure")', ".compare(other)")


def looked_at(said: Mapping[str, str]) -> str:
    """Say which part of a season is looked at.

    Examples
    --------
    >>> looked_at({"gear": "rigger", "hours": "from 04:00 to 10:00", "species": "lake trout"})
    'from 04:00 to 10:00, lake trout, rigger'
    >>> looked_at({})
    'the whole season'
    """
    return ", ".join(said[name] for name in _ORDER if name in said) or WHOLE


def subject(boats: Sequence[str], year: int, said: Mapping[str, str]) -> str:
    """Name boats, year and part."""
    part = f": {looked_at(said)}" if said else ""
    return f"{labels.listing(boats)}, {year}{part}"


def counted(rate: Any, unplaced: int = 0) -> str:
    """Say strikes, rod-hours and their plain rate with its interval."""
    hours = f"{labels.count(rate.strikes, 'strike')} in {labels.number(rate.hours)} rod-hours"
    strikes = "further strike" if rate.strikes else "strike"
    aside = (
        f" {labels.count(unplaced, strikes)} could not be placed on a rod and "
        f"{'is' if unplaced == 1 else 'are'} not in it."
        if unplaced
        else ""
    )
    if rate.hours <= 0:
        return f"No rod-hours, so there is no rate.{aside}"
    bounds = labels.interval(rate.low, rate.high)
    return (
        f"{hours}: {labels.rate(rate.rate)} strikes per rod-hour as counted "
        f"(90 % interval {bounds}).{aside}"
    )


def of_part(sentence: str) -> str:
    """Turn a sentence about a season's bands into one about a part of it.

    Examples
    --------
    >>> of_part("Over the season the log leans to 40–50 ft.")
    'The log leans to 40–50 ft.'
    """
    return labels.opening(sentence.removeprefix("Over the season "))


def season_card(
    boats: Sequence[str],
    year: int,
    said: Mapping[str, str],
    lines: Sequence[str],
    gears: Sequence[str],
) -> Card:
    """Return the card of a season or of a part of one; `gears` are those a part may be asked of."""
    narrower = [f'.where(hours=(4, 10), gear="{gear}")' for gear in gears[:1]]
    calls = _PART_CALLS if said else (*narrower, *_SEASON_CALLS)
    return Card(title=subject(boats, year, said), lines=lines, calls=calls)


NOTHING = "There is no strike in it, so the log cannot tell one depth from another."
NO_HOURS = "No rod fished so: the log cannot tell."


def comparison(told: Any) -> Card:
    """Say what a comparison tells, and what it rests on."""
    first, second = told.names
    ratio = told.ratio
    bounds = labels.interval(ratio.low, ratio.high, labels.ratio)
    sure = labels.chance(max(ratio.p_more, 1 - ratio.p_more))
    more = "more" if ratio.p_more >= 0.5 else "less"
    verdict = (
        f"The log cannot tell which has more strikes per rod-hour: {first} may have anything from "
        f"{bounds} times those of {second}."
        if ratio.low < 1 < ratio.high
        else f"{first} has {labels.ratio(ratio.ratio)} times the strikes per rod-hour of {second} "
        f"(90 % interval {bounds}); {sure} sure that it is {more}."
    )
    rests = (
        f"Compared at {labels.count(sum(ratio.strikes), 'strike')} of "
        f"{labels.count(ratio.trips, 'trip')} that came while both were fishing "
        f"({labels.number(ratio.strikes[0])} and {labels.number(ratio.strikes[1])}), so good days "
        "and hours do not count; that they may have run at other depths does."
        if told.together
        else "Too few strikes came while both were fishing to compare them there, so their days "
        "and hours are compared, with all else that was different about them: no comparison at "
        "equal conditions."
    )
    lines = [
        *(
            labels.opening(f"{name}: {counted(rate)}")
            for name, rate in zip(told.names, told.rates, strict=True)
        ),
        labels.opening(verdict),
        rests,
    ]
    title = labels.opening(f"{first} against {second}")
    return Card(title=title, lines=lines, calls=(".table",))


REST = "the rest"
MOST_NAMED = 12
"""Names that a card lists; the table has all."""
SURE = 0.95


def breakdown(told: Any) -> Card:
    """Say what each name of a kind has, and whether the log can tell which has most."""
    listed = list(zip(told.names, told.rates, strict=True))[:MOST_NAMED]
    lines = [labels.opening(f"{name}: {counted(rate)}") for name, rate in listed]
    further = len(told.names) - len(listed)
    if further:
        lines.append(f"And {labels.number(further)} more: see the table.")
    lines.append(_which_has_most(told))
    return Card(
        title=f"{labels.opening(told.looked_at)}, by {told.what}", lines=lines, calls=(".table",)
    )


def _which_has_most(told: Any) -> str:
    """Say which name has the highest rate where that is sure, else that the log cannot tell."""
    compared = [
        (chance, name)
        for chance, name in zip(told.p_most, told.names, strict=True)
        if chance == chance
    ]
    if len(compared) < 2:
        return "Fewer than two were fished long enough to compare: the log cannot tell."
    if not any(rate.strikes for rate in told.rates):
        return "There is no strike in it, so the log cannot tell."
    chance, name = max(compared)
    sure = labels.chance(chance)
    counts = (
        "as counted: days, hours and depths were not alike, so this is no comparison at equal "
        "conditions."
    )
    if chance < SURE:
        return f"The log cannot tell which has most: {name} looks so, {sure} sure, {counts}"
    return labels.opening(f"{name} has most, {sure} sure, {counts}")


NOT_TWO = "there are not two of them that were fished."


def not_fished(name: str) -> str:
    """Say that a part was not fished."""
    return f"no rod fished in this part: {name}."


def cannot_compare(title: str, why: str) -> Card:
    """Say that two things cannot be compared, and why."""
    return Card(title=title, lines=[f"The log cannot tell: {why}"])


def fitted(found: Any) -> Card:
    """Say which model was fitted, and what it rests on; None where none was."""
    title = "How it was fitted"
    if found is None or found.fit.smoothing is None:
        return Card(title=title, lines=["Nothing was fitted: no strike compares rods in this log."])
    fit = found.fit
    return Card(
        title=title,
        lines=[
            found.formula,
            f"It rests on {labels.count(fit.strikes, 'strike')} of "
            f"{labels.count(fit.trips, 'trip')}.",
            f"Strikes of a trip come in bursts: their scores vary {labels.ratio(fit.dispersion)} "
            "times as much as those of a Poisson process, and the intervals are as wide as that "
            "asks for.",
            f"Why this model: {found.choice.why}.",
        ],
        calls=(".effects", ".checks", ".other_models"),
    )
