"""Owns the tables of the weekly report: which columns, in which words, in all readers' units."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from analysis import labels
from analysis.show.base.tables import Table
from analysis.show.week.words import Week, band_of, best_of, units_of

_STATUS = {"no trips": "no trips", "too few boats": "too few boats", "no log": "not in these logs"}
_NOT_SEEN = "not seen"
_MOST_LURES = 8


def _table(
    caption: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    numbers: Sequence[str] = (),
    named: tuple[bool, ...] = (),
    nothing: str = "Nothing to list.",
) -> Table:
    columns = {heading: [row[at] for row in rows] for at, heading in enumerate(headings)}
    return Table(
        caption=caption, columns=columns, numbers=frozenset(numbers), named=named, nothing=nothing
    )


def figures(week: Week) -> Table:
    """Return the week's counts beside those of last week and of the same week last year.

    A species has a row where any of the three weeks tells it apart; what a week tells of several
    species together stands in the row of the others.
    """
    times = ("This week", "Last week", "Last year")
    counted = [week["counts"], week["last_week"], week["last_year"]]
    statuses = ["told", week["last_week_status"], week["last_year_status"]]

    def row(heading: str, cell: Callable[[Mapping[str, Any]], str]) -> tuple[str, ...]:
        return (
            heading,
            *(
                _STATUS.get(status, "–") if counts is None else cell(counts)
                for counts, status in zip(counted, statuses, strict=True)
            ),
        )

    rows = [
        row("Boats", lambda counts: str(counts["boats"])),
        row("Trips", lambda counts: _number(counts["trips"])),
        row("Rod-hours", lambda counts: labels.number(_known(counts["rod_hours"]))),
        row("Strikes", lambda counts: _number(counts["strikes"])),
        row("Landed", lambda counts: _number(counts["landed"])),
        row("Let go", lambda counts: _number(counts["released"])),
    ]
    apart = {
        entry["names"][0]
        for counts in counted
        if counts is not None
        for entry in counts["species"]
        if _apart(entry)
    }
    for name in sorted(apart, key=lambda name: (not name, name.casefold())):
        cells = [_of_species(counts, name) for counts in counted]
        rows.append((f"{(name or _NOT_SEEN).capitalize()}, landed of strikes", *cells))
    others = [_of_others(counts) for counts in counted]
    if apart and any(others):
        rows.append(("Other species, landed of strikes", *others))
    return _table(
        "This week, the week before it, and the same week last year",
        ("What", *times),
        rows,
        numbers=times,
    )


def species_together(week: Week) -> str:
    """Say which species are told together this week; nothing for none."""
    rows = [row for row in week["counts"]["species"] if not _apart(row)]
    if not rows:
        return ""
    names = labels.listing(_names(rows[0], _NOT_SEEN, "others"))
    apart = len(week["counts"]["species"]) > 1
    which = "Other species this week" if apart else "This week's species"
    return f"{which}, told together as too few boats met each: {names}."


def _apart(row: Mapping[str, Any]) -> bool:
    """Tell whether a row is of one species or lure alone."""
    return len(row["names"]) == 1 and not row["more"]


def _names(row: Mapping[str, Any], unnamed: str, more: str) -> list[str]:
    """List a row's names, the empty one in words, and that there are others."""
    names = [name or unnamed for name in row["names"]]
    return [*names, more] if row["more"] else names


def _number(value: int | None) -> str:
    return "–" if value is None else str(value)


def _known(value: float | None) -> float:
    return math.nan if value is None else value


def _of_species(counts: Mapping[str, Any] | None, name: str) -> str:
    if counts is None:
        return "–"
    for row in counts["species"]:
        if name in row["names"]:
            return _landed_of(row) if _apart(row) else "in others"
    return "–" if counts["strikes"] is None else "0"


def _of_others(counts: Mapping[str, Any] | None) -> str:
    if counts is None:
        return "–"
    rows = [row for row in counts["species"] if not _apart(row)]
    return _landed_of(rows[0]) if rows else "–"


def _landed_of(row: Mapping[str, Any]) -> str:
    return f"{_number(row['landed'])} of {row['strikes']}"


def bands(week: Week) -> Table:
    """Return the week's bands with rod-hours, rate and interval."""
    units = units_of(week)
    depth = week["depth"]
    rows = [
        (
            band_of(band, units),
            labels.number(band["rod_hours"]) + (" *" if band["depth_unknown"] else ""),
            _rate(band),
            "–" if band["p_best"] is None else labels.chance(band["p_best"]),
        )
        for band in depth["bands"]
    ]
    headings = ("Depth", "Rod-hours", "Rate (90 % interval)", "Chance best")
    starred = any(band["depth_unknown"] for band in depth["bands"])
    caption = "Rate: strikes per rod-hour"
    if starred:
        caption += "; * with rod-hours of unknown depth"
    elif depth["unknown_hours"]:
        caption += f"; depth unknown: {labels.number(depth['unknown_hours'])} rod-hours"
    return _table(
        caption,
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(band["named"] for band in depth["bands"]),
    )


def _rate(band: Mapping[str, Any]) -> str:
    if not band["judged"]:
        return "too little fished"
    rate, low, high = (labels.rate(band[key]) for key in ("rate", "rate_low", "rate_high"))
    return f"{rate} ({low}–{high})"


def line_outs(week: Week) -> Table:
    """Return what each gear and setting lets out to be where the week says."""
    units = units_of(week)
    rows = [
        (
            line["gear"],
            "–" if line["setting"] is None else f"{line['setting']:g}",
            units.with_doubt(line["line_out_m"], line["line_out_sd_m"], "length"),
        )
        for line in week["line_outs"]
        if line["line_out_m"] is not None
    ]
    place, pace = units.amount(week["target_m"], "depth"), units.amount(week["speed_mps"], "speed")
    why = ", where the season's best water lay" if week["target_why"] == "water" else ""
    caption = f"Line-out for a lure at {place}{why}, going {pace}"
    return _table(caption, ("Gear", "Setting", "Line-out"), rows, nothing="No gear gets there.")


def out_of_reach(week: Week) -> list[str]:
    """Return the gear that cannot get to the depth at any setting."""
    reached = {line["gear"] for line in week["line_outs"] if line["line_out_m"] is not None}
    return sorted({line["gear"] for line in week["line_outs"]} - reached)


def tackle(week: Week) -> Table:
    """Return rod-hours and strikes by kind of gear and by lure."""
    rows = [_tackle_row(row, "") for row in week["kinds"]]
    lures = week["lures"]
    apart = [row for row in lures if _apart(row)]
    if apart:
        rows += [_tackle_row(row, "no lure written down") for row in apart[:_MOST_LURES]]
    return _table(
        "Rod-hours, and strikes on a rod whose hours are counted",
        ("What was towed", "Rod-hours", "Strikes"),
        rows,
        numbers=("Rod-hours", "Strikes"),
        nothing="Too few boats towed alike to tell what.",
    )


def _tackle_row(row: Mapping[str, Any], unnamed: str) -> tuple[str, str, str]:
    names = labels.listing(_names(row, unnamed, "others"))
    return names, labels.number(row["rod_hours"]), _number(row["strikes"])


def conditions(week: Week) -> Table:
    """Return how the week was fished against the best of the season's curves."""
    units = units_of(week)
    rows = []
    for condition in week["conditions"]:
        quantity = labels.TERM_QUANTITY[condition["term"]]
        words = labels.TERM_WORDS[condition["term"]]
        if condition["best_low"] is None:
            best = "not in the season's model"
        elif condition["matters"]:
            best = best_of(condition, units)
        else:
            best = "these logs show no difference"
        rows.append(
            (
                f"{words[0].upper()}{words[1:]}",
                units.between(condition["low"], condition["high"], quantity),
                best,
            )
        )
    headings = ("What", "Half the rod-hours", "Best of the season")
    return _table(
        "How the rods were fished: the middle half of the rod-hours",
        headings,
        rows,
        nothing="Too few boats logged these.",
    )
