"""The card of a day in plain words: what to set, how sure, what it rests on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis import labels
from analysis.rates.standardised import SEASON
from analysis.show.card.text import CardText, RodText
from analysis.spread.basis import OFF_BY, Basis
from analysis.spread.card import Card
from analysis.spread.card_lines import CardLine
from analysis.spread.hedge import Hedge
from analysis.units import Units, from_si

SMALL = 0.005
NEWER = (
    "The log, or rodhours itself, has changed since the review: that page may say otherwise until "
    "it is made anew."
)


def card_text(card: Card, notes: tuple[str, ...] = ()) -> CardText:
    """Write a card.

    Parameters
    ----------
    card : Card
    notes : tuple of str
        What is to be said of the day's thermometers.
    """
    units = card.units
    profile = card.profile.copy()
    profile[:, 0] = from_si(profile[:, 0], "depth", units.depth)
    profile[:, 1:] = from_si(profile[:, 1:], "temperature", units.temperature)
    band = card.band_m and tuple(float(end) for end in from_si(card.band_m, "depth", units.depth))
    return CardText(
        boat=card.boat,
        when=labels.day(card.day),
        answer=_answer(card),
        facts=_facts(card),
        rods=tuple(_rod(line, units) for line in card.lines),
        total=_total(card),
        notes=(*_rests_on(card), *notes, *_cautions(card)),
        profile=profile,
        band=(band[0], band[1]) if band else None,
        depth_unit=units.depth,
        temp_unit=labels.unit_of("temperature", units),
        alt=_alt(card),
    )


def month_text(card: Card) -> CardText:
    """Write a card that is for a whole month of the season reviewed."""
    text = card_text(card)
    when = "the season" if card.period == SEASON else labels.period(card.period)
    return CardText(**{**vars(text), "when": when})


def sheet_words(basis: Basis, species: Sequence[str]) -> tuple[str, str]:
    """Return the heading of a sheet of months, and whose strikes it rests on.

    Parameters
    ----------
    basis : Basis
    species : sequence of str
        Those that have sheets of their own.
    """
    if basis.species:
        return (
            f"{basis.boat}: {basis.species}, month by month",
            f"By the strikes of {basis.species} alone.",
        )
    note = "All species together: the log cannot tell the depth of one from another's."
    if species:
        others = "a sheet" if len(species) == 1 else "sheets"
        note = f"All species together; {others} for {labels.listing(species)} alone follow"
        note += "s." if len(species) == 1 else "."
    return f"{basis.boat}, month by month", note


def line_why(line: CardLine) -> str:
    """Say why a rod gets its line-out."""
    parts = ["best expected over all that is in doubt"]
    if line.apart:
        parts = ["apart from its own best, since all rods share one doubt"]
    if line.lure:
        parts.append(f"with {line.lure}, which dives")
    if line.line_out_low < line.line_out_high:
        low, high = labels.short(line.line_out_low), labels.short(line.line_out_high)
        alone = "for a rod alone" if line.apart else "all do"
        parts.append(f"{low} to {high} {line.unit} {alone}")
    if np.isfinite(line.loss):
        parts.append(
            f"what is not known costs about {labels.percent(line.loss)} of the catch, "
            f"{labels.percent(line.loss_high)} at worst"
        )
    return "; ".join(parts)


def surface_note(temp_c: float, usual: tuple[float, float], far: bool, units: Units) -> str:
    """Say what a reading of the surface told, and whether it is to be believed."""
    read = labels.amount(temp_c, "temperature", units)
    expected = labels.give(usual[0], usual[1], "temperature", units)
    if not far:
        return f"Surface read: {read} (without it: {expected})."
    return (
        f"Check the surface: it was read as {read}, and the logs say {expected} for that day. "
        "The card believes the reading in part."
    )


def cast_note(
    depths: int, odd: tuple[float, float, tuple[float, float]] | None, units: Units
) -> str:
    """Say that a cast is in the card, and at which depth it is hard to believe.

    Parameters
    ----------
    depths : int
    odd : tuple or None
        Depth in m, temperature read in C, and mean and sd of the one expected.
    units : Units
    """
    if odd is None:
        return f"The cast of {depths} depths is in it."
    depth_m, temp_c, usual = odd
    return (
        f"Check the cast, and the units of its columns: at {labels.amount(depth_m, 'depth', units)}"
        f" it has {labels.amount(temp_c, 'temperature', units)}, and without it the card would "
        f"expect {labels.give(*usual, 'temperature', units)}. The card believes the cast."
    )


def _answer(card: Card) -> tuple[str, ...]:
    if card.band_m is None:
        return ("The log cannot tell which depth produced.",)
    band = labels.band(*card.band_m, card.units)
    first = {
        "clear": f"Fish {band}: the log leaves little doubt.",
        "leaning": f"Fish {band}: likely, not sure.",
        "open": f"The log cannot tell; {band} looks best so far.",
    }[card.verdict]
    second = f"It is {labels.chance(card.p_near)} sure to be within a tenth of the best"
    if card.verdict == "open":  # how sure a model is means nothing where the log cannot tell
        second = "Take it as a place to begin, not as an answer"
    if card.target_c is not None and card.follows != "depth":
        water = labels.between(*card.target_c, "temperature", card.units)
        return first, f"{second}; the water there should be {water}."
    return first, f"{second}."


def _facts(card: Card) -> tuple[tuple[str, str], ...]:
    units = card.units
    facts = [("Speed", labels.amount(card.speed_mps, "speed", units, 1))]
    if card.surface_c is not None:
        facts.append(("Surface", labels.give(*card.surface_c, "temperature", units)))
    if card.thermocline_m is not None:
        middle, sd = card.thermocline_m
        known = labels.Z90 * sd < middle  # else it may as well lie at the surface
        place = labels.give(middle, sd, "depth", units) if known else "not known"
        facts.append(("Thermocline", place))
    for word, column in (("Leader", "leader_m"), ("Lead", "lead_m")):
        by_gear = {
            line.gear: getattr(line, column)
            for line in card.lines
            if np.isfinite(getattr(line, column))
        }
        digits = 1 if units.length == "m" else 0  # a foot is known, and so is a tenth of a metre
        said = {
            gear: labels.amount(length, "length", units, digits) for gear, length in by_gear.items()
        }
        if len(set(said.values())) == 1 and len(said) == len({line.gear for line in card.lines}):
            facts.append((word, next(iter(said.values()))))
        elif said:
            facts.append((word, ", ".join(f"{gear} {text}" for gear, text in said.items())))
    if lures := [f"{line.rod} {line.lure}" for line in card.lines if line.lure]:
        facts.append(("Lures that dive", ", ".join(lures)))
    return tuple(facts)


def _rod(line: CardLine, units: Units) -> RodText:
    gear = line.gear if np.isnan(line.setting) else f"{line.gear} {line.setting:g}"
    low, middle, high = (
        float(from_si(line.depth_m + labels.Z90 * side * line.depth_sd_m, "depth", units.depth))
        for side in (-1.0, 0.0, 1.0)
    )
    known = np.isfinite(line.temp_c)
    rate = labels.rate_as_known(line.rate_low, line.rate_high)
    return RodText(
        rod=line.rod,
        gear=gear,
        line_out=f"{labels.short(line.line_out)} {line.unit}",
        line_outs=_as_good(line),
        depth=labels.give(line.depth_m, line.depth_sd_m, "depth", units),
        temp=labels.give(line.temp_c, line.temp_sd_c, "temperature", units) if known else "",
        rate=rate(line.rate),
        rates=f"{rate(line.rate_low)}–{rate(line.rate_high)}",
        slow=_change(line.if_slow),
        fast=_change(line.if_fast),
        at=middle,
        low=low,
        high=high,
    )


def _as_good(line: CardLine) -> str:
    """Say between which line-outs a rod may be let out as well; nothing where there is but one."""
    if not line.line_out_low < line.line_out_high:
        return ""
    ends = f"{labels.short(line.line_out_low)}–{labels.short(line.line_out_high)}"
    return f"{ends} for a rod alone" if line.apart else f"{ends} all do"


def _change(lost: float) -> str:
    """Say a loss as a change, with its sign."""
    if not np.isfinite(lost):
        return "–"
    if abs(lost) < SMALL:
        return "0 %"
    return f"{'−' if lost > 0 else '+'}{labels.percent(abs(lost))}"


def _total(card: Card) -> str:
    if not card.lines:
        return "No rod can be set: the gears on board run in no depth that was fished enough."
    middle, low, high = map(labels.rate_as_known(*card.total[1:]), card.total)
    rods = labels.count(len(card.lines), "rod")
    return f"{rods}: {middle} strikes an hour together ({low}–{high}) on a usual day."


def _rests_on(card: Card) -> list[str]:
    said = [
        f"Rests on {labels.count(card.strikes, 'strike')} on {labels.count(card.trips, 'trip')} "
        f"in {card.season}."
    ]
    if card.season < card.day.year:
        why = "has too few strikes yet" if card.begun else "is in no log given"
        water = ", in the water expected for the day" if card.day_used else ""
        said.append(f"{card.day.year} {why}: this is what fish did in {card.season}{water}.")
    if card.guessed and card.day_used:
        said.append(
            "No thermometer was below the surface, and fish that keep to a depth tell nothing of "
            "it: the water at the lures is what is usual under such a surface."
            if card.follows == "depth"
            else "No thermometer was below the surface: how warm the water is at the lures is made "
            "likely by the strikes."
        )
    if not card.day_used and card.period != SEASON:
        said.append(
            f"The water of the day is not known: {labels.month(card.period)}'s usual water stands "
            "for it."
        )
    return said


def _cautions(card: Card) -> list[str]:
    said = [labels.too_little_fished(card.beyond)] if card.beyond else []
    untried = list(dict.fromkeys(line.gear for line in card.lines if not line.trials))
    if untried:
        runs, its = ("runs", "its depth is") if len(untried) == 1 else ("run", "their depths are")
        said.append(
            f"No soak measured how deep the {labels.listing(untried)} {runs}: {its} worked out, "
            "and the card allows for that."
        )
    said += [
        f"{labels.listing(rods)} {'runs' if len(rods) == 1 else 'run'} outside the depth "
        f"named above: {why}"
        for why, rods in _outside(card).items()
    ]
    said += _tangles(card)
    if card.left_out:
        said.append(
            f"{labels.count(card.left_out, 'rod')} of those wanted "
            f"{'has' if card.left_out == 1 else 'have'} no place in the log."
        )
    if card.unreached:
        said.append(
            f"No advice for {labels.listing(card.unreached)}: that gear runs in no depth that was "
            "fished enough to judge."
        )
    if card.not_fished:
        said.append(f"Never fished, so left out: {labels.listing(card.not_fished)}.")
    if card.lines:
        said.append(
            f"{_how_set(card.hedge)} What is not known costs a rod about {_losses(card)} of its "
            f"catch, and {labels.percent(max(line.loss_high for line in card.lines))} at worst."
        )
        said.append(
            f"'Slow' and 'fast' are what a speed off by {labels.percent(OFF_BY)} costs by depth "
            "alone; what speed does to the bite is not in it."
        )
    return said


def _tangles(card: Card) -> list[str]:
    """Name the rods that may tangle, together those that come near each other, and the remedy."""
    groups: list[set[str]] = []
    for pair in card.close:
        met = [group for group in groups if group & set(pair)]
        groups = [group for group in groups if group not in met] + [set(pair).union(*met)]
    return [_tangle([line for line in card.lines if line.rod in group]) for group in groups]


def _tangle(lines: Sequence[CardLine]) -> str:
    """Name rods that may tangle, and what helps: divers set alike part where one is set anew."""
    settings = [line.setting for line in lines if np.isfinite(line.setting)]
    turn = ""
    if len(set(settings)) < len(settings):
        turn = ", or turn one to another setting, with its line-out from the review"
    return (
        f"{labels.listing([line.rod for line in lines])} come near enough to tangle: put down "
        f"{'one' if len(lines) == 2 else 'fewer'} of them{turn}."
    )


def _how_set(hedge: Hedge | None) -> str:
    """Say by what the line-outs were chosen."""
    if hedge is None:
        return "Each line-out is the best expected over all that is in doubt."
    cost = f"{labels.percent(hedge.cost)} of their catch" if hedge.cost > 0 else "nothing"
    return (
        "The rods stand farther apart than each alone would, since one doubt of depth and curve "
        f"is theirs together: that costs {cost} on average, and "
        f"the better half of them catches {labels.percent(hedge.gain)} more. Move the others "
        "to where fish are struck."
    )


def _outside(card: Card) -> dict[str, list[str]]:
    """Rods that run beyond the band named by more than half of it, by why they do."""
    if card.band_m is None:
        return {}
    low, high = card.band_m
    room = 0.5 * (high - low)
    found: dict[str, list[str]] = {}
    for line in card.lines:
        if low - room < line.depth_m < high + room:
            continue
        if line.rod in card.poorer:
            why = (
                "that is expected to catch less, and the best that this gear does as it is fished."
            )
        elif line.apart:
            why = "apart from the others, since all rods share one doubt."
        else:
            why = "by the log that is expected to catch as well or better."
        found.setdefault(why, []).append(line.rod)
    return found


def _losses(card: Card) -> str:
    low, high = (
        labels.percent(end)
        for end in (min(line.loss for line in card.lines), max(line.loss for line in card.lines))
    )
    return low if low == high else f"{low.removesuffix(' %')} to {high}"


def _alt(card: Card) -> str:
    if not card.lines:
        return "No rod is set."
    depths = [
        labels.amount(end, "depth", card.units)
        for end in (
            min(line.depth_m for line in card.lines),
            max(line.depth_m for line in card.lines),
        )
    ]
    where = depths[0] if depths[0] == depths[1] else f"{depths[0]} to {depths[1]}"
    return f"Water temperature by depth, and the rods in it: they run at {where}."
