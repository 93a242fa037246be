"""Owns the sentences of the weekly report: the headline, what to try, what is not known."""

from datetime import date
from math import isnan

from analysis import labels
from analysis.show.base.many_units import ManyUnits
from analysis.show.season.words import VERDICTS
from analysis.weekly.figures import (
    NO_LOG,
    NO_TRIPS,
    TOO_FEW,
    Condition,
    Counts,
    Depth,
    WeekBand,
    WeekReport,
)

_FEW = "fewer than three boats"

BORROWED = (
    "A week is too thin to be fitted by itself. How the catch changes with depth, temperature and "
    "tackle is learnt from all weeks of the season in these logs; how well fish bit, and how the "
    "water lay, are this week's own."
)


def units_of(week: WeekReport) -> ManyUnits:
    """Return the units to write a week's figures in."""
    return ManyUnits(choices=week.units)


def name(week: str) -> str:
    """Name a week.

    Examples
    --------
    >>> name("2026-W27")
    'week 27 of 2026'
    """
    return f"{labels.week(week)} of {week[:4]}"


def days(first_day: str, last_day: str) -> str:
    """Write the first and the last day of a week.

    Examples
    --------
    >>> days("2026-06-29", "2026-07-05")
    '29 June to 5 July 2026'
    >>> days("2026-07-06", "2026-07-12")
    '6 to 12 July 2026'
    """
    first, last = date.fromisoformat(first_day), date.fromisoformat(last_day)
    start = labels.day(first)
    if first.month == last.month:
        start = str(first.day)
    elif first.year == last.year:
        start = start.removesuffix(f" {first.year}")
    return f"{start} to {labels.day(last)}"


def subject(week: WeekReport) -> str:
    """Say whose week it is, and which."""
    whose = {
        "club": week.club or "The boats of these logs",
        "pair": week.club or "Two boats",
        "boat": "One boat's own report",
    }[week.audience]
    named = week.boats_named
    boats = f", with {labels.listing(list(named))}" if named else ""
    return f"{whose}{boats}: {name(week.week)}, {days(week.first_day, week.last_day)}."


def band_of(band: WeekBand, units: ManyUnits) -> str:
    """Name a band of the week."""
    if band.deeper and band.shallower:
        return f"{units.between(band.low_m, band.high_m, 'depth')}, shallower and deeper"
    if band.deeper:
        return f"{units.amount(band.low_m, 'depth')} and deeper"
    if band.shallower:
        return f"{units.amount(band.high_m, 'depth')} and shallower"
    return units.between(band.low_m, band.high_m, "depth")


def named_depth(depth: Depth, units: ManyUnits) -> str:
    """Name the depth that a week's answer names."""
    return units.between(depth.named_low_m, depth.named_high_m, "depth")


def headline(week: WeekReport) -> str:
    """Say the week's answer in one sentence."""
    if week.status == NO_TRIPS:
        return "No trips were logged this week."
    counts, depth = week.counts, week.depth
    if week.status == TOO_FEW or counts is None:
        return f"{_FEW.capitalize()} logged trips this week, so what they did stays with them."
    struck = _struck(counts.strikes)
    if depth is None:
        if week.audience == "boat":
            return f"{struck}; nobody wrote down sets, without which there is no rate."
        return f"{struck}; too few boats wrote down enough sets to tell a rate."
    if depth.verdict != "open":
        where = named_depth(depth, units_of(week))
        return (
            f"{where} produced best."
            if depth.verdict == "clear"
            else f"The logs lean to {where}: likely, but not sure."
        )
    if counts.strikes == 0:
        return f"{struck}, so nothing tells which depth produced."
    if counts.strikes is not None and counts.strikes < 3:
        return f"{struck}: too few to tell which depth produced."
    if depth.alike:
        return "No depth stood out: the logs rule none of them out as the best."
    return "The logs cannot tell which depth produced."


def _struck(strikes: int | None) -> str:
    """Count strikes in words that begin a sentence."""
    if strikes is None:
        return "Too few boats had strikes to tell how many"
    if strikes == 0:
        return "No strike was logged"
    return "One strike was logged" if strikes == 1 else f"{strikes} strikes were logged"


def tally(counts: Counts) -> str:
    """Sum up a week's counts in one sentence."""
    parts = [labels.count(counts.boats, "boat")]
    if counts.trips is not None:
        parts.append(labels.count(counts.trips, "trip"))
    if counts.rod_hours is not None:
        parts.append(f"{labels.number(counts.rod_hours)} rod-hours")
    if counts.strikes is None:
        return f"{', '.join(parts)}; the strikes are of too few boats to be told."
    caught = [labels.count(counts.strikes, "strike")]
    if counts.landed is not None:
        caught.append(f"{counts.landed} landed")
    if counts.released:
        caught.append(f"{counts.released} let go")
    return f"{', '.join(parts)}: {', '.join(caught)}."


def species(counts: Counts) -> str:
    """Say how many strikes each species took, where any is told apart; nothing where none is."""
    apart = [row for row in counts.species if len(row.names) == 1 and not row.more]
    told = [f"{row.names[0] or 'fish not seen'} {row.strikes}" for row in apart]
    if not told:
        return ""
    left = (counts.strikes or 0) - sum(row.strikes or 0 for row in apart)
    return f"Strikes: {', '.join([*told, *([f'others {left}'] if left else [])])}."


def certainty(week: WeekReport) -> str:
    """Say how sure the answer is, on what, and what holds it back."""
    depth = week.depth
    if depth is None or isnan(depth.rate) or isnan(depth.p_near):
        return ""
    rate, bounds = labels.rate_and_interval(depth.rate, depth.rate_low, depth.rate_high)
    where = named_depth(depth, units_of(week))
    looks = f"{where} looks best so far: " if depth.verdict == "open" else ""
    figures = (
        f"{looks}{rate} strikes per rod-hour there (90 % interval {bounds}, "
        f"{labels.number(depth.named_hours)} rod-hours)"
    )
    sure = f"{labels.chance(depth.p_near)} sure that it holds a depth within a tenth of the best"
    verdict = VERDICTS[depth.verdict].replace("the log ", "the logs ").replace("leaves", "leave")
    told = figures if depth.alike else f"{figures}; {sure}"
    return f"{told[0].upper()}{told[1:]}. Verdict {verdict}."


def caps(week: WeekReport) -> str:
    """Say why the verdict is not higher."""
    depth = week.depth
    if depth is None or not depth.caps or depth.verdict == "clear":
        return ""
    return f"No higher verdict, because {labels.listing(list(depth.caps))}."


def answer_lines(week: WeekReport) -> list[str]:
    """Return the lines at the top of the report."""
    lines = [headline(week)]
    if week.counts is not None:
        lines += [tally(week.counts), certainty(week), caps(week)]
        if week.depth is not None:
            lines.append(BORROWED)
    return [line for line in lines if line]


def try_next(week: WeekReport) -> list[str]:
    """Say what to try next, the most important first."""
    units = units_of(week)
    depth = week.depth
    found = []
    if depth is not None and isnan(depth.named_low_m):
        found.append("Keep rods spread over the depths until the logs tell more.")
    elif depth is not None:
        where = named_depth(depth, units)
        if depth.verdict == "open":
            found.append(f"Keep rods spread over the depths; {where} looks best so far, no more.")
        else:
            found.append(f"Start most rods at {where}.")
        if depth.explore:
            band = depth.explore
            hours = labels.number(band.rod_hours)
            found.append(
                f"Give one rod to {band_of(band, units)}: {hours} rod-hours there cannot rule "
                "out that it is as good."
            )
    found += _water_to_look_for(week, units)
    for condition in week.conditions:
        line = _off_the_best(condition, units)
        if line:
            found.append(line)
    return found


def _water_to_look_for(week: WeekReport, units: ManyUnits) -> list[str]:
    water = week.water
    if water is None or isnan(water.best_low_c):
        return []
    warmth = units.between(water.best_low_c, water.best_high_c, "temperature")
    if isnan(water.best_low_m):
        return [f"Look for water of {warmth}, the best of this season; no cast found it this week."]
    place = units.between(water.best_low_m, water.best_high_m, "depth")
    return [
        f"Look for water of {warmth}, the best of this season: it lay at {place}. Where it lies "
        "at another depth by then, follow it."
    ]


def _off_the_best(condition: Condition, units: ManyUnits) -> str:
    """Say so where a week was fished outside the best of the season."""
    term = condition.term
    if term == "lure_temp_c" or not condition.matters:
        return ""
    inside = condition.best_low <= condition.middle <= condition.best_high
    quantity = labels.TERM_QUANTITY[term]
    if inside:
        return ""
    best = best_of(condition, units)
    words = {"speed_mps": "speed", "leader_length_m": "leader"}[term]
    usual = units.amount(condition.middle, quantity)
    return f"Try a {words} of {best}, the best of this season; this week's usual one was {usual}."


def best_of(condition: Condition, units: ManyUnits) -> str:
    """Write where the season's curve of a term is at its best."""
    quantity = labels.TERM_QUANTITY[condition.term]
    low, high = condition.best_low, condition.best_high
    if condition.from_end and not condition.to_end:
        return f"{units.amount(high, quantity)} or less"
    if condition.to_end and not condition.from_end:
        return f"{units.amount(low, quantity)} or more"
    return units.between(low, high, quantity)


_UNKNOWN = {
    "depth_m": "How deep the lure ran, for {share} of the rod-hours.",
    "lure_temp_c": "How warm the water was at the lure, for {share} of the rod-hours.",
    "speed_mps": "How fast the boats went, for {share} of the rod-hours.",
    "ground": "How fast the lures went through the water: for {share} of the rod-hours only the "
    "speed over ground was logged.",
    "no sets": "What the rods fished: {share} of the trips kept no record of sets. Their strikes "
    "count, but enter no rate.",
    "unplaced": "Which rod in the records took {share} of the strikes. They count, but enter no "
    "rate.",
    "species": "What took {share} of the strikes: the fish was not seen, or not written down.",
    "set aside": "What {share} of the sets fished: their rows cannot be used{hours} and count "
    "nowhere here. `rodhours check` names them, each with its remedy.",
    "casts": "The temperature by depth in this week: no cast was made, so it comes from casts of "
    "the weeks around it, where there are any.",
}


_COUNTABLE = ("no sets", "set aside", "unplaced", "species")


def not_known(week: WeekReport) -> list[str]:
    """Say what the week's logs do not tell."""
    found = []
    for entry in week.unknown:
        little = "a few" if entry.what in _COUNTABLE else "a little"
        share = little if entry.share == "little" else entry.share
        aside = entry.rod_hours
        hours = "" if aside is None else f" ({labels.number(aside)} rod-hours by their times)"
        found.append(_UNKNOWN[entry.what].format(share=share, hours=hours))
    if week.water is None:
        found.append("How warm the water was by depth: no cast is near enough in time.")
    before = (
        (week.last_week_status, "last week"),
        (week.last_year_status, "the same week last year"),
    )
    for status, when in before:
        if status == NO_LOG:
            found.append(f"How it compares with {when}: these logs do not hold it.")
        elif status == TOO_FEW:
            found.append(f"How it compares with {when}: {_FEW} logged trips then.")
    found.append("Where fish were that no rod fished for.")
    return found


def waters(week: WeekReport) -> str:
    """List the waters fished that may be named; nothing where none may."""
    named = list(week.areas)
    if not named:
        return ""
    return f"Waters: {labels.listing([*named, 'others'] if week.more_areas else named)}."


def out_of_reach(gears: list[str]) -> str:
    """Say which gear cannot get to the depth; nothing for none."""
    return f"Cannot get there: {labels.listing(gears)}." if gears else ""


def protection(week: WeekReport) -> list[str]:
    """Say how the report keeps a boat's figures to itself."""
    if week.audience == "boat":
        return [
            "This is one boat's own report: its figures are that boat's. Hand it on only if they "
            "may be known. Positions and notes are never in it; waters only where boat.toml allows "
            "it (name_areas under [sharing])."
        ]
    if week.audience == "pair":
        return [
            "These are two boats that both allow it in their boat.toml: each can tell the other's "
            "figures by subtracting its own. Positions and notes are never in it."
        ]
    return [
        "At least three boats stand behind every figure of catch and effort here, and behind what "
        "is left when such figures are subtracted from each other: what fewer boats did is counted "
        "with its neighbours or left out. A boat that adds less than a twentieth of what the "
        "biggest adds is not counted as one of the three, and what all but the two biggest add is "
        "at least a tenth of the biggest. A nought is a nought for every boat. Boats that lay "
        "their own figures together can work out what the others did, and so can whoever has a "
        "report of the same week from another folder.",
        "Boats are named only where their own log allows it (name_boat under [sharing] in "
        "boat.toml), waters only where three boats fished them or a boat there allows it "
        "(name_areas). Positions and notes never leave a log. Line-outs come from the gear on "
        "board as boat.toml has it, used that week or not; the water's temperature is told "
        "however few boats measured it.",
    ]
