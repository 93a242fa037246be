"""Owns the tables of the season review: which columns, in which words and units."""

from collections.abc import Sequence
from math import isnan

import pandas as pd

from analysis import labels
from analysis.result_rows import (
    Band,
    Before,
    Clearance,
    InfluenceInWords,
    LineOut,
    PlannedRod,
    Species,
    SpeciesBand,
    records,
)
from analysis.show.base.rows import of_period
from analysis.show.base.tables import Table, from_rows
from analysis.summary import Summary
from analysis.units import Units


def answers(summary: Summary, units: Units) -> Table:
    """Return what each period's answer names, its rate, and how sure it is.

    Parameters
    ----------
    summary : Summary
        The summary; its list ``best`` has one entry a period.
    units : Units
        Units to write depths in.
    """
    rows = []
    for answer in summary["best"]:
        depth = _edges(answer["band_low_m"], answer["band_high_m"], units)
        if not depth:
            depth = sure = rate = bounds = "–"
        else:
            rather = _edges(answer["rather_low_m"], answer["rather_high_m"], units)
            depth = f"{depth}, rather {rather}" if rather else depth
            # a chance given the model says nothing where the log cannot tell by it
            sure = "–" if answer["verdict"] == "open" else labels.chance(answer["p_near"])
            rate, bounds = labels.rate_and_interval(
                answer["rate"], answer["rate_low"], answer["rate_high"]
            )
        period = labels.period(answer["period"])
        verdict = "go by the month" if answer["an_average"] else answer["verdict"]
        rows.append((period, depth, verdict, sure, rate, bounds))
    headings = ("Period", "Depth", "Verdict", "Sure", "Rate", "90 % interval")
    return from_rows(
        "The best depth of each period. Sure: the chance that its rate is the best or within a "
        "tenth of it, where the log can tell. Rate: strikes per rod-hour in the depth named, as "
        "one.",
        headings,
        rows,
        numbers=("Sure", "Rate", "90 % interval"),
        nothing="No period can be judged.",
    )


def _edges(low_m: float | None, high_m: float | None, units: Units) -> str:
    """Write a band; nothing where none is named."""
    return "" if low_m is None or high_m is None else labels.band(low_m, high_m, units)


def bands_of(bands: pd.DataFrame, units: Units, *, period: str) -> Table:
    """Return one period's bands with rod-hours, strikes, rate and interval.

    Parameters
    ----------
    bands : pandas.DataFrame
        The result table ``bands``.
    units : Units
        Units to write depths in.
    period : str
        ``season`` or ``YYYY-MM``.
    """
    group = records(Band, of_period(bands, period))
    # Without a strike in the whole period there is no level that rates could have.
    told = any(row.strikes > 0 for row in group)
    # A band that is compared with none is not the best of any.
    compared = sum(not isnan(row.p_best) for row in group) > 1
    rows = [
        (
            labels.band(row.band_low_m, row.band_high_m, units),
            labels.number(row.rod_hours),
            labels.number(row.strikes),
            *(labels.rate_and_interval(row.rate, row.rate_low, row.rate_high) if told else "––"),
            labels.chance(row.p_best) if compared else "–",
        )
        for row in group
    ]
    headings = ("Depth", "Rod-hours", "Strikes", "Rate", "90 % interval", "Chance of best")
    return from_rows(
        f"Strikes per rod-hour by depth: {labels.period(period)}",
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(row.named for row in group),
        nothing="No band can be judged: the log holds no rod-hours with a known depth.",
    )


def starting_spread(spread: pd.DataFrame, summary: Summary, units: Units) -> Table:
    """Return the line-outs that put a lure into each period's best band, one column a period.

    Parameters
    ----------
    spread : pandas.DataFrame
        The result table ``spread``; line-outs are in the boat's own unit already.
    summary : Summary
        The summary; its list ``best`` has the bands.
    units : Units
        Units to write depths in.
    """
    caption = (
        "Line-out that puts a lure in the middle of each period's best band, at the boat's usual "
        "speed then. A starting spread steps its rods through the band, so theirs differ."
    )
    if spread.empty:
        return from_rows(caption, (), (), nothing="No band is named, so none can be aimed at.")
    texts: dict[str, dict[tuple[str, str], str]] = {}
    for row in records(LineOut, spread):
        towed = labels.gear_and_setting(row.gear, row.setting)
        gear = (row.boat, f"{towed}, with {row.lure}" if row.lure else towed)
        texts.setdefault(row.period, {})[gear] = f"{labels.number(row.line_out)} {row.unit}"
    gears = list(dict.fromkeys(gear for found in texts.values() for gear in found))
    several = len({boat for boat, _ in gears}) > 1
    columns = {"Gear": [f"{boat}: {name}" if several else name for boat, name in gears]}
    for answer in summary["best"]:
        cells = texts.get(answer["period"])
        if cells:
            band = _edges(answer["band_low_m"], answer["band_high_m"], units)
            columns[f"{_short_period(answer['period'])}, {band}"] = [
                cells.get(gear, "–") for gear in gears
            ]
    return Table(caption=caption, columns=columns, numbers=frozenset(columns) - {"Gear"})


def _short_period(name: str) -> str:
    """Write a period for the head of a narrow column."""
    return labels.period(name) if name == "season" else labels.short_month(name)


def species_answers(bands: pd.DataFrame, units: Units) -> Table:
    """Return the depth that each species' answer names in each period, with its verdict.

    A species a column: periods are more, and would run off the paper.

    Parameters
    ----------
    bands : pandas.DataFrame
        The result table ``species_bands``.
    units : Units
        Units to write depths in.
    """
    caption = "The best depth of each species with enough strikes"
    nothing = "No two species were struck often enough to be judged by themselves."
    if bands.empty:
        return from_rows(caption, (), (), nothing=nothing)
    rows = records(SpeciesBand, bands)
    periods = list(dict.fromkeys(row.period for row in rows))
    columns = {"Period": [labels.period(period) for period in periods]}
    for name in dict.fromkeys(row.species for row in rows):
        named = [row for row in rows if row.species == name and row.named]
        columns[name] = [
            _named_depth([row for row in named if row.period == period], units)
            for period in periods
        ]
    return Table(caption=caption, columns=columns)


def _named_depth(named: Sequence[SpeciesBand], units: Units) -> str:
    """Write the band or two that an answer names, and how sure that is."""
    if not named:
        return "open"
    low, high = min(row.band_low_m for row in named), max(row.band_high_m for row in named)
    return f"{labels.band(low, high, units)}, {named[0].verdict}"


def before(frame: pd.DataFrame, units: Units) -> Table:
    """Return how the season's rates compare with those of the one before.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``before``.
    units : Units
        Units to write depths in.
    """
    known = records(Before, frame)
    beside = {row.band_low_m: row for row in known if "against" in row.what}
    rows = [
        (
            "all depths, as counted"
            if isnan(row.band_low_m)
            else labels.band(row.band_low_m, row.band_high_m, units),
            labels.rate(row.rate_before),
            labels.rate(row.rate_now),
            labels.ratio(row.ratio),
            labels.interval(row.low, row.high, labels.ratio),
            _ratio_of(beside.get(row.band_low_m)),
        )
        for row in known
        if "against" not in row.what
    ]
    headings = ("Depth", "Before", "Now", "Ratio", "90 % interval", "Against the other bands")
    return from_rows(
        "Strikes per rod-hour against the season before, by the same calculation. Against the "
        "other bands: the band's ratio over the mean of all, which leaves out that one season had "
        "more fish than the other.",
        headings,
        rows,
        numbers=headings[1:],
        nothing="The log of the season before was not given.",
    )


def _ratio_of(row: Before | None) -> str:
    """Write a ratio with its interval; a dash for a row that is not there."""
    if row is None:
        return "–"
    return f"{labels.ratio(row.ratio)} ({labels.interval(row.low, row.high, labels.ratio)})"


def plan(frame: pd.DataFrame, units: Units) -> Table:
    """Return a boat's starting spread, rod by rod: what to set, where it runs, and why.

    Parameters
    ----------
    frame : pandas.DataFrame
        A boat's rows of the result table ``plan``; line-outs are in its own unit already.
    units : Units
        Units to write depths in.
    """
    rows = [
        (
            f"{row.rod}, {row.side}",
            labels.gear_and_setting(row.gear, row.setting),
            f"{labels.short(row.line_out)} {row.unit}",
            labels.give(row.depth_m, row.depth_sd_m, "depth", units),
            row.why,
        )
        for row in records(PlannedRod, frame)
    ]
    headings = ("Rod", "Gear", "Line-out", "Runs at", "Why")
    caption = "What to set, and where it should run: ± holds nine times in ten"
    return from_rows(caption, headings, rows)


def clearance(frame: pd.DataFrame, units: Units) -> Table:
    """Return the least distance between neighbouring lines of the plan; those too close stand out.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``clearance``.
    units : Units
        Units to write distances in.
    """
    pairs = records(Clearance, frame)
    rows = [
        (
            f"{row.rod_a} and {row.rod_b}",
            labels.amount(row.least_m, "length", units),
            labels.amount(row.sideways_m, "length", units),
            row.why or "do not meet or cross",
        )
        for row in pairs
    ]
    return from_rows(
        "Clearances",
        ("Rods", "Least distance", "Sideways between lures", "Reading"),
        rows,
        named=tuple(row.flagged for row in pairs),
        nothing="No pair of rods to compare.",
    )


def influence(frame: pd.DataFrame) -> Table:
    """Return what lies between the raw rate and the rate at equal conditions, step by step.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``influence``; only the band that misleads most is told.
    """
    rows = [
        (
            row.wording,
            labels.ratio(row.ratio),
            labels.interval(row.ratio_low, row.ratio_high, labels.ratio),
        )
        for row in records(InfluenceInWords, frame)
        if row.headline
    ]
    headings = ("Taken out", "Ratio", "90 % interval")
    return from_rows(
        "From the raw rate to the rate at equal conditions",
        headings,
        rows,
        numbers=headings[1:],
        nothing="Too few bands or strikes to say what lies between the two.",
    )


def biggest(species: pd.DataFrame, units: Units) -> Table:
    """Return the species with their strikes, the spellings they were logged under, the biggest.

    Parameters
    ----------
    species : pandas.DataFrame
        The result table ``species``.
    units : Units
        Units to write fish in.
    """
    rows = [
        (
            row.species or "not seen",
            labels.number(row.strikes),
            labels.number(row.landed),
            _if_known(row.biggest_length_m, "fish_length", units),
            _if_known(row.biggest_weight_kg, "fish_weight", units),
            row.spelt_as,
        )
        for row in records(Species, species)
    ]
    headings = ("Species", "Strikes", "Landed", "Longest", "Heaviest", "Logged as")
    return from_rows("Species", headings, rows, numbers=headings[1:5])


def _if_known(value: float, quantity: str, units: Units) -> str:
    return "–" if isnan(value) else labels.amount(value, quantity, units, 1)
