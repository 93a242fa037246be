"""Owns the tables of the weekly report: which columns, in which words, in all readers' units."""

from collections.abc import Callable
from math import isnan

from analysis import labels
from analysis.show.base.many_units import ManyUnits
from analysis.show.base.tables import Table, from_rows
from analysis.show.week.words import band_of, best_of, units_of
from analysis.weekly.figures import (
    NO_LOG,
    NO_TRIPS,
    TOLD,
    TOO_FEW,
    Counts,
    Depth,
    LineOut,
    Row,
    WeekBand,
    WeekReport,
)

_STATUS = {NO_TRIPS: "no trips", TOO_FEW: "too few boats", NO_LOG: "not in these logs"}
_NOT_SEEN = "not seen"
_MOST_LURES = 8


def figures(week: WeekReport) -> Table:
    """Return the week's counts beside those of last week and of the same week last year.

    A species has a row where any of the three weeks tells it apart; what a week tells of several
    species together stands in the row of the others.
    """
    times = ("This week", "Last week", "Last year")
    counted = [week.counts, week.last_week, week.last_year]
    statuses = [TOLD, week.last_week_status, week.last_year_status]

    def row(heading: str, cell: Callable[[Counts], str]) -> tuple[str, ...]:
        return (
            heading,
            *(
                _STATUS.get(status, "–") if counts is None else cell(counts)
                for counts, status in zip(counted, statuses, strict=True)
            ),
        )

    rows = [
        row("Boats", lambda counts: str(counts.boats)),
        row("Trips", lambda counts: _number(counts.trips)),
        row("Rod-hours", lambda counts: _hours(counts.rod_hours)),
        row("Strikes", lambda counts: _number(counts.strikes)),
        row("Landed", lambda counts: _number(counts.landed)),
        row("Let go", lambda counts: _number(counts.released)),
    ]
    apart = {
        entry.names[0]
        for counts in counted
        if counts is not None
        for entry in counts.species
        if _apart(entry)
    }
    for name in sorted(apart, key=lambda name: (not name, name.casefold())):
        cells = [_of_species(counts, name) for counts in counted]
        rows.append((f"{(name or _NOT_SEEN).capitalize()}, landed of strikes", *cells))
    others = [_of_others(counts) for counts in counted]
    if apart and any(others):
        rows.append(("Other species, landed of strikes", *others))
    return from_rows(
        "This week, the week before it, and the same week last year",
        ("What", *times),
        rows,
        numbers=times,
    )


def species_together(counts: Counts) -> str:
    """Say which species a week tells together; nothing for none."""
    rows = [row for row in counts.species if not _apart(row)]
    if not rows:
        return ""
    names = labels.listing(_names(rows[0], _NOT_SEEN, "others"))
    apart = len(counts.species) > 1
    which = "Other species this week" if apart else "This week's species"
    return f"{which}, told together as too few boats met each: {names}."


def _apart(row: Row) -> bool:
    """Tell whether a row is of one species or lure alone."""
    return len(row.names) == 1 and not row.more


def _names(row: Row, unnamed: str, more: str) -> list[str]:
    """List a row's names, the empty one in words, and that there are others."""
    names = [name or unnamed for name in row.names]
    return [*names, more] if row.more else names


def _number(value: int | None) -> str:
    return "–" if value is None else str(value)


def _hours(value: float | None) -> str:
    return "–" if value is None else labels.number(value)


def _of_species(counts: Counts | None, name: str) -> str:
    if counts is None:
        return "–"
    for row in counts.species:
        if name in row.names:
            return _landed_of(row) if _apart(row) else "in others"
    return "–" if counts.strikes is None else "0"


def _of_others(counts: Counts | None) -> str:
    if counts is None:
        return "–"
    rows = [row for row in counts.species if not _apart(row)]
    return _landed_of(rows[0]) if rows else "–"


def _landed_of(row: Row) -> str:
    return f"{_number(row.landed)} of {row.strikes}"


def bands(depth: Depth, units: ManyUnits) -> Table:
    """Return a week's bands with rod-hours, rate and interval."""
    rows = [
        (
            band_of(band, units),
            labels.number(band.rod_hours) + (" *" if band.depth_unknown else ""),
            _rate(band),
            "–" if isnan(band.p_best) else labels.chance(band.p_best),
        )
        for band in depth.bands
    ]
    headings = ("Depth", "Rod-hours", "Rate (90 % interval)", "Chance best")
    starred = any(band.depth_unknown for band in depth.bands)
    caption = "Rate: strikes per rod-hour"
    if starred:
        caption += "; * with rod-hours of unknown depth"
    elif depth.unknown_hours:
        caption += f"; depth unknown: {labels.number(depth.unknown_hours)} rod-hours"
    return from_rows(
        caption,
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(band.named for band in depth.bands),
    )


def _rate(band: WeekBand) -> str:
    if not band.judged:
        return "too little fished"
    bounds = band.rate_low, band.rate_high
    rate, low, high = map(labels.rate_as_known(*bounds), (band.rate, *bounds))
    return f"{rate} ({low}–{high})"


def line_outs(week: WeekReport) -> Table:
    """Return what each gear and setting lets out to be where the week says."""
    units = units_of(week)
    reached = [line for line in week.line_outs if not isnan(line.line_out_m)]
    rows = [
        (
            line.gear,
            "–" if line.setting is None else f"{line.setting:g}",
            units.line_outs(line.line_out_m, line.line_out_m),
            _range(line, units),
        )
        for line in reached
    ]
    water = week.target_why == "water"
    range_of = "Nine times in ten" if water else "These do as well"
    headings = ("Gear", "Setting", "Line-out", range_of)
    return from_rows(line_outs_for(week), headings, rows, nothing="No gear gets there.")


def line_outs_for(week: WeekReport) -> str:
    """Say what the line-outs of a week are for."""
    units = units_of(week)
    place, pace = units.amount(week.target_m, "depth"), units.amount(week.speed_mps, "speed")
    if week.target_why == "water":
        return f"Line-out for a lure at {place}, where the season's best water lay, going {pace}"
    return f"Line-out expected to catch best, about {place}, going {pace}"


def _range(line: LineOut, units: ManyUnits) -> str:
    """Write between which line-outs all do nearly as well, or the 90 % interval of the one."""
    return units.line_outs(*line_out_range(line))


def line_out_range(line: LineOut) -> tuple[float, float]:
    """Line-outs in m between which all do nearly as well, or the 90 % interval of the one."""
    if not isnan(line.line_out_low_m):
        return line.line_out_low_m, line.line_out_high_m
    doubt = labels.Z90 * line.line_out_sd_m
    return max(line.line_out_m - doubt, 0.0), line.line_out_m + doubt


def out_of_reach(week: WeekReport) -> list[str]:
    """Return the gear that cannot get to the depth at any setting."""
    reached = {line.gear for line in week.line_outs if not isnan(line.line_out_m)}
    return sorted({line.gear for line in week.line_outs} - reached)


def tackle(week: WeekReport) -> Table:
    """Return rod-hours and strikes by kind of gear and by lure."""
    rows = [_tackle_row(row, "") for row in week.kinds]
    lures = week.lures
    apart = [row for row in lures if _apart(row)]
    if apart:
        rows += [_tackle_row(row, "no lure written down") for row in apart[:_MOST_LURES]]
    return from_rows(
        "Rod-hours, and strikes on a rod whose hours are counted",
        ("What was towed", "Rod-hours", "Strikes"),
        rows,
        numbers=("Rod-hours", "Strikes"),
        nothing="Too few boats towed alike to tell what.",
    )


def _tackle_row(row: Row, unnamed: str) -> tuple[str, str, str]:
    names = labels.listing(_names(row, unnamed, "others"))
    return names, _hours(row.rod_hours), _number(row.strikes)


def conditions(week: WeekReport) -> Table:
    """Return how the week was fished against the best of the season's curves."""
    units = units_of(week)
    rows = []
    for condition in week.conditions:
        quantity = labels.TERM_QUANTITY[condition.term]
        words = labels.TERM_WORDS[condition.term]
        if isnan(condition.best_low):
            best = "not in the season's model"
        elif condition.matters:
            best = best_of(condition, units)
        else:
            best = "these logs show no difference"
        rows.append(
            (
                f"{words[0].upper()}{words[1:]}",
                units.between(condition.low, condition.high, quantity),
                best,
            )
        )
    headings = ("What", "Half the rod-hours", "Best of the season")
    return from_rows(
        "How the rods were fished: the middle half of the rod-hours",
        headings,
        rows,
        nothing="Too few boats logged these.",
    )
