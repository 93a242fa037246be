"""Next season's starting spread in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from analysis import labels
from analysis.decision.answer import Answer, Period
from analysis.rates.standardised import SEASON
from analysis.spread.boat_plan import BoatFacts
from analysis.spread.experiment import Experiment
from analysis.spread.plan import Plan
from analysis.spread.reasons import NearReason, RodReason
from analysis.spread.unmeasured import Unmeasured
from analysis.units import Units, from_si

_LACKS = {"sets": "set records", "rods": "rods for the gears on board"}


def plan_sentences(plan: Plan, answer: Answer, units: Units) -> list[str]:
    """Say what the spread is for, and of each boat what it puts down."""
    return [
        _opening(answer, plan.period, units),
        *(sentence for facts in plan.boats for sentence in _of_boat(facts)),
    ]


def _of_boat(facts: BoatFacts) -> list[str]:
    """Say of a boat what it puts down, how far apart, what was not measured, and what to try."""
    found = [_boat(facts)]
    if facts.hedge is not None:
        found.append(
            f"Its rods for the band stand farther apart than each alone would, since they share "
            f"the doubt of depth and curve: that costs {_cost(facts.hedge.cost)} on average, and "
            f"the better half of them catches {labels.percent(facts.hedge.gain)} more."
        )
    if facts.unmeasured:
        found.append(_unmeasured(facts.unmeasured, facts.units))
    if facts.experiment is not None:
        found.append(_experiment(facts.experiment, facts.units))
    return found


def _cost(share: float) -> str:
    """Say what share of a rate is given up; the draws may put it below nothing.

    Examples
    --------
    >>> _cost(0.024), _cost(-0.01)
    ('2 % of their rate', 'nothing')
    """
    return f"{labels.percent(share)} of their rate" if share > 0 else "nothing"


def _unmeasured(lines: Sequence[Unmeasured], units: Units) -> str:
    """Say which line-outs stand without a soak, and which depths do not."""
    words = {"clear": "clear", "leaning": "likely", "open": "not told"}
    parts = [
        f"{labels.gear_and_setting(line.gear, line.setting)}, "
        f"{labels.between(line.low_m, line.high_m, 'length', units)} out ({words[line.verdict]}), "
        f"some {labels.between(line.depth_low_m, line.depth_high_m, 'depth', units)} down"
        for line in lines
    ]
    return (
        f"The strikes tell these line-outs, and nobody measured their depths: {'; '.join(parts)}. "
        "A soak beside the sounder would make the depths sure."
    )


def _experiment(found: Experiment, units: Units) -> str:
    """Say what to run side by side, and how long."""
    first, other = (
        labels.amount(out, "length", units) for out in (found.line_out_m, found.other_m)
    )
    hours = labels.number(max(round(found.hours, -1), 10))
    return (
        f"An experiment: {labels.gear_and_setting(found.gear, found.setting)} at {first} on one "
        f"side and at {other} on the other, at the same time. {first} is "
        f"{labels.chance(found.chance)} likely the better one; about {hours} hours with both down "
        "would halve that doubt, so run them so whenever the spread allows."
    )


def _opening(answer: Answer, period: Period | None, units: Units) -> str:
    """Say what the spread is for and how far the answer behind it can be trusted."""
    if period is None:
        return "No starting spread can be planned: the log tells no depth from another."
    band = labels.band(*answer.named_m(period), units)
    when = (
        "the season as a whole"
        if period.name == SEASON
        else f"{labels.month(period.name)}, as {labels.period(period.name)} went"
    )
    doubt = {
        "clear": "",
        "leaning": " That answer is likely, not sure.",
        "open": " The log cannot tell this period's band: take the spread as a first guess.",
    }[period.judgement.verdict if answer.choice.tells_depth else "open"]
    return f"The starting spread is for {when}: it covers {band}.{doubt}"


def _boat(facts: BoatFacts) -> str:
    """Say what a boat puts down, and what may tangle or was left out."""
    if facts.lacks:
        return f"{facts.boat} has no {_LACKS[facts.lacks]} to plan by."
    text = (
        f"{facts.boat}: {labels.count(facts.rods, 'rod')} at "
        f"{labels.amount(facts.speed_mps, 'speed', facts.units, 1)}, "
        f"{_shared_out(facts)}"
    )
    if facts.close:
        text += f"; near enough to tangle: {', '.join(f'{a} and {b}' for a, b in facts.close)}"
    if facts.left_out and facts.asked is None:
        text += f"; {facts.left_out} more would come too near others at this depth"
    elif facts.left_out:
        text += f"; {facts.left_out} of the {facts.asked} wanted have no gear that runs there"
    return f"{text}.{_sides(facts)}"


def _shared_out(facts: BoatFacts) -> str:
    """Say how many rods are for the band, how many explore and how many do not reach it."""
    band = facts.rods - facts.exploring - facts.short
    parts = ["all for the band" if band == facts.rods else f"{band} for the band"]
    if facts.exploring:
        parts.append(f"{facts.exploring} exploring")
    if facts.short:
        parts.append(f"{facts.short} whose gear does not reach it")
    return labels.listing(parts)


def _sides(facts: BoatFacts) -> str:
    """Say where sides come from that the log does not say."""
    match facts.sides_from:
        case "log":
            return ""
        case "label":
            return " The log does not say on which side its rods stand: their names do."
        case "shared":
            return " The log does not say on which side all its rods stand: they are shared out."
        case _:
            assert_never(facts.sides_from)


def rod_words(why: RodReason) -> str:
    """Say why a rod of the spread stands where it does."""
    band = labels.band(*why.band_m, why.units)
    if not why.explores:
        text = _aim(why, band)
    elif why.rod_hours is None:
        text = f"{band}: nothing is known of it"
    else:
        season = why.explores == SEASON
        when = "in the season" if season else f"in {labels.month(why.explores)}"
        text = (
            f"{band}: {labels.number(why.rod_hours)} rod-hours {when}; as good as the best on "
            f"{labels.percent(why.chance)} of days"
        )
    unit = why.units.length
    if why.all_do_m is not None:
        low, high = (labels.short(float(from_si(end, "length", unit))) for end in why.all_do_m)
        ends = f"{low} to {high} {unit}" if low != high else f"{low} {unit}"
        if why.apart:
            text += f"; {ends} for a rod alone"
        elif low != high:
            text += f"; {ends} all do"
    if why.lure:
        text += f"; with {why.lure}, which dives"
    if why.counter_scale != 1.0:
        out = why.counter * why.counter_scale
        text += f"; its counter shows {why.counter:g} {unit} for {out:.0f} {unit} out"
    return text


def _aim(why: RodReason, band: str) -> str:
    """Say what a rod for the band does for it, also where it runs clear of it."""
    if why.short:
        return f"does not reach {band}; the best of what it reaches"
    if not why.beyond:
        return f"covers {band}"
    return f"in case fish are {why.beyond} than {band}" if why.apart else f"does as well as {band}"


def near_words(why: NearReason | None) -> str:
    """Say why two lines may tangle; nothing where they may not."""
    if why is None:
        return ""
    match why.how:
        case "cross":
            return "they cross"
        case "divers":
            least = labels.amount(why.limit_m, "length", why.units)
            return f"less than {least} between divers of a side"
        case "pass":
            return f"they pass within {labels.amount(why.limit_m, 'length', why.units, 1)}"
        case _:
            assert_never(why.how)
