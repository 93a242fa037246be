"""Owns the tables of the season review: which columns, in which words and units."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from analysis.show import labels
from analysis.show.rows import of_period, records, top
from analysis.show.tables import Table
from analysis.show.words import VERDICTS
from analysis.units import Units, from_si


def plain(
    frame: pd.DataFrame,
    caption: str,
    headings: Mapping[str, str],
    numbers: Sequence[str] = (),
    nothing: str = "Nothing to list.",
) -> Table:
    """Return a frame as a table, its cells as they are.

    Parameters
    ----------
    frame : pandas.DataFrame
        The rows.
    caption : str
        The table's caption.
    headings : Mapping
        Column to the heading it gets; other columns are left out.
    numbers : sequence of str
        Columns written as whole numbers and aligned on the right.
    nothing : str
        The sentence in place of a table without rows.
    """
    if frame.empty:
        return Table(caption=caption, columns={}, nothing=nothing)
    columns = {
        heading: [labels.number(value) for value in frame[column]]
        if column in numbers
        else [str(value) for value in frame[column]]
        for column, heading in headings.items()
    }
    right = frozenset(headings[column] for column in numbers)
    return Table(caption=caption, columns=columns, numbers=right, nothing=nothing)


def answers(bands: pd.DataFrame, units: Units) -> Table:
    """Return what each period's answer names, its rate, and how sure it is.

    Parameters
    ----------
    bands : pandas.DataFrame
        The result table ``bands``.
    units : Units
        Units to write depths in.
    """
    rows = []
    for period, group in bands.groupby("period", sort=False):
        named = group[group["named"]]
        verdict = VERDICTS[str(group["verdict"].iloc[0])]
        if named.empty:
            rows.append((labels.period(str(period)), "–", "–", "–", verdict))
            continue
        best = top(named, "rate")
        rows.append(
            (
                labels.period(str(period)),
                labels.band(named["band_low_m"].min(), named["band_high_m"].max(), units),
                f"{labels.rate(best.rate)} ({between(best.rate_low, best.rate_high)})",
                labels.percent(float(group["p_named"].iloc[0])),
                verdict,
            )
        )
    headings = ("Period", "Depth", "Strikes per rod-hour", "Chance best is there", "Verdict")
    return _from_rows("The best depth of each period", headings, rows)


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
    group = of_period(bands, period)
    rows = [
        (
            labels.band(row.band_low_m, row.band_high_m, units),
            labels.number(row.rod_hours),
            labels.number(row.strikes),
            labels.rate(row.rate),
            between(row.rate_low, row.rate_high),
            labels.percent(row.p_best),
        )
        for row in records(group)
    ]
    headings = ("Depth", "Rod-hours", "Strikes", "Rate", "90 % interval", "Chance of best")
    return _from_rows(
        f"Strikes per rod-hour by depth: {labels.period(period)}",
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(group["named"]),
    )


def starting_spread(spread: pd.DataFrame, units: Units) -> Table:
    """Return the line-outs that put a lure into each period's best band.

    Parameters
    ----------
    spread : pandas.DataFrame
        The result table ``spread``; line-outs are in the boat's own unit already.
    units : Units
        Units to write depths in.
    """
    rows = [
        (
            labels.period(row.period),
            row.gear,
            setting(row.setting),
            f"{labels.number(row.line_out)} {row.unit}",
            depth_with_sd(row.depth_m, row.depth_sd_m, units),
            labels.amount(abs(row.lateral_m), "length", units),
        )
        for row in records(spread)
    ]
    headings = ("Period", "Gear", "Setting", "Line-out", "Runs at", "Off to the side")
    return _from_rows("What puts a lure in the best band", headings, rows)


def between(low: float, high: float) -> str:
    """Write an interval of rates; a dash where there is none.

    Examples
    --------
    >>> between(0.1, 0.25), between(float("nan"), float("nan"))
    ('0.10 to 0.25', '–')
    """
    return "–" if pd.isna(low) else f"{labels.rate(low)} to {labels.rate(high)}"


def setting(value: float) -> str:
    """Write a dial setting; a dash for gear without one.

    Examples
    --------
    >>> setting(2.0), setting(3.5), setting(float("nan"))
    ('2', '3.5', '–')
    """
    return "–" if pd.isna(value) else f"{value:g}"


def depth_with_sd(depth_m: float, depth_sd_m: float, units: Units) -> str:
    """Write a modelled depth with its standard deviation.

    Examples
    --------
    >>> metres = Units(length="m", depth="m", speed="kn", temperature="C", fish_length="cm",
    ...                fish_weight="kg")
    >>> depth_with_sd(14.2, 1.5, metres)
    '14 ± 1.5 m'
    """
    factor = depth_sd_m / depth_m if depth_m else 0.0
    middle = float(from_si(depth_m, "depth", units.depth))
    sd = middle * factor
    return f"{labels.number(middle)} ± {labels.number(sd, 1 if sd < 3 else 0)} {units.depth}"


def _from_rows(
    caption: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    numbers: Sequence[str] = (),
    named: tuple[bool, ...] = (),
    nothing: str = "Nothing to list.",
) -> Table:
    """Turn rows of text into a table."""
    columns = {heading: [row[at] for row in rows] for at, heading in enumerate(headings)}
    right = frozenset(numbers)
    return Table(caption=caption, columns=columns, numbers=right, named=named, nothing=nothing)


def plan(frame: pd.DataFrame, units: Units) -> Table:
    """Return the starting spread, rod by rod: what to set, where it runs, and why.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``plan``; line-outs are in the boat's own unit already.
    units : Units
        Units to write depths in.
    """
    rows = [
        (
            row.rod,
            row.side,
            row.gear,
            setting(row.setting),
            f"{labels.number(row.line_out)} {row.unit}",
            depth_with_sd(row.depth_m, row.depth_sd_m, units),
            row.purpose,
            row.why,
        )
        for row in records(frame)
    ]
    headings = ("Rod", "Side", "Gear", "Setting", "Line-out", "Runs at", "For", "Why")
    return _from_rows(
        "Starting spread", headings, rows, nothing="No spread could be planned from this log."
    )


def clearance(frame: pd.DataFrame, units: Units) -> Table:
    """Return the least distance between neighbouring lines of the plan.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``clearance``.
    units : Units
        Units to write distances in.
    """
    rows = [
        (
            f"{row.rod_a} and {row.rod_b}",
            labels.amount(row.least_m, "length", units),
            labels.amount(row.sideways_m, "length", units),
            "may tangle: move one of them" if row.flagged else "clear of each other",
        )
        for row in records(frame)
    ]
    headings = ("Rods", "Least distance", "Of it sideways", "Reading")
    return _from_rows("Clearances", headings, rows, nothing="No pair of rods to compare.")


def influence(frame: pd.DataFrame) -> Table:
    """Return what lies between the raw rate and the rate at equal conditions, term by term."""
    rows = [
        (
            labels.TERM_WORDS.get(row.term, row.term),
            f"{row.ratio:.2f} ({row.ratio_low:.2f} to {row.ratio_high:.2f})",
            row.wording,
        )
        for row in records(frame)
    ]
    headings = ("Taken into account", "Changes the rate by", "In words")
    return _from_rows("From the raw rate to the rate at equal conditions", headings, rows)


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
        for row in records(species)
    ]
    headings = ("Species", "Strikes", "Landed", "Longest", "Heaviest", "Logged as")
    return _from_rows("Species", headings, rows, numbers=headings[1:5])


def _if_known(value: float, quantity: str, units: Units) -> str:
    return "–" if pd.isna(value) else labels.amount(value, quantity, units, 1)


def rows_read(rows: pd.DataFrame) -> Table:
    """Return how many rows of each table were read, kept and set aside."""
    headings = {
        "log": "Log",
        "table": "Table",
        "read": "Rows read",
        "kept": "Kept",
        "set_aside": "Set aside",
    }
    return plain(rows, "What was read", headings, ("read", "kept", "set_aside"))


def set_aside(frame: pd.DataFrame) -> Table:
    """Return the rows that were set aside, each with its place, reason and remedy."""
    headings = {
        "table": "Table",
        "row": "Line",
        "column": "Column",
        "value": "Found",
        "reason": "Why it was set aside",
        "remedy": "What would mend it",
    }
    return plain(frame, "Rows set aside", headings, ("row",), "No row was set aside.")


def gaps(frame: pd.DataFrame) -> Table:
    """Return what the log lacks, what that costs the answer, and what would fill it."""
    headings = {"what": "Missing", "cost": "What it costs", "remedy": "What would fill it"}
    return plain(frame, "Gaps in the log", headings, nothing="The log has no gap that costs.")


def checks(frame: pd.DataFrame) -> Table:
    """Return the checks of the fit, passed or not, each failure with its next step."""
    if frame.empty:
        return plain(frame, "Checks of the model", {}, nothing="No model was fitted.")
    told = frame.assign(passed=frame["passed"].map({True: "passed", False: "did not pass"}))
    headings = {
        "name": "Check",
        "passed": "Result",
        "finding": "Found",
        "next_step": "Next step",
    }
    return plain(told, "Checks of the model", headings)


def pairs(content: Mapping[str, Any], caption: str, headings: tuple[str, str]) -> Table:
    """Return names and values as a table of two columns."""
    rows = [(str(name), str(value)) for name, value in content.items()]
    return _from_rows(caption, headings, rows)


def provenance(summary: Mapping[str, Any]) -> Table:
    """Return with what the review was made: model, version and parameters."""
    content = {
        "Model used": summary["model"] or "none",
        "Why": summary["why"],
        "rodhours": summary["version"],
        **summary["parameters"],
    }
    return pairs(content, "How the review was made", ("What", "Value"))


def hashes(summary: Mapping[str, Any]) -> Table:
    """Return the fingerprint of each file read, shortened to what tells files apart."""
    content = {name: str(value)[:16] for name, value in summary["hashes"].items()}
    return pairs(content, "Files read", ("File", "SHA-256, first 16 digits"))
