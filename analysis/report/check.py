"""Owns what `rodhours check` says of a log: what was read, what set aside, what gaps cost."""

import textwrap
from pathlib import Path

import pandas as pd

from analysis import labels
from analysis.effort import Gap, count_effort
from analysis.effort.gaps import without_hours
from analysis.effort.strikes import unheld
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join
from analysis.season import gaps_of
from analysis.show.base.rows import records
from analysis.show.season import data_tables

_MOST_ROWS = 40
_WIDTH = 96


def check_log(folder: Path) -> str:
    """Read and vet one season folder.

    Parameters
    ----------
    folder : Path
        The season folder.

    Returns
    -------
    str
        What to print; the season can be analysed, if without rod-hours only in part.

    Raises
    ------
    LogError
        When the folder as a whole cannot be read.
    """
    log = read_log(folder)
    effort = count_effort(log)
    hours = float(effort.slices["hours"].sum())
    season = BoatSeason.of(log, effort)
    gaps = gaps_of(season, join([season]))
    aside = pd.concat([log.set_aside, effort.set_aside], ignore_index=True)
    changed = pd.concat([log.changed, effort.changed], ignore_index=True)
    lacking = without_hours(log, effort)
    verdict = (
        f"It can be analysed in part: it has {lacking}. Nothing can be said of rates and depths."
        if lacking
        else "It can be analysed."
    )
    if (few := unheld(effort.strikes)) and not lacking:
        verdict = f"{few[0].upper()}{few[1:]}: no verdict will be clear. {verdict}"
    rows = log.rows.assign(log=folder.name)
    parts = [
        f"{folder}: {log.boat.name}, {log.year}: {labels.number(len(log.trips))} trips, "
        f"{labels.number(hours)} rod-hours, {labels.number(len(log.strikes))} strikes. {verdict}",
        f"Rows kept of those read:\n{data_tables.rows_read(rows).text()}",
        _listed("Set aside", aside),
        _listed("Read otherwise than written, the row kept", changed),
        _lacking(gaps),
    ]
    return "\n\n".join(parts) + "\n"


def _lacking(gaps: list[Gap]) -> str:
    """List what the log does not tell, and what each gap costs."""
    if not gaps:
        return "No gap costs this log anything."
    lines = [_wrapped(f"- {gap.what}: {gap.cost}. Remedy: {gap.remedy}.") for gap in gaps]
    return "What the log lacks:\n" + "\n".join(lines)


def _listed(title: str, problems: pd.DataFrame) -> str:
    """List problems, the first of them in full."""
    if problems.empty:
        return f"{title}: nothing."
    lines = [
        _wrapped(
            f"- {row.table}, line {row.row}"
            + (f", {row.column}" if row.column else "")
            + (f" {row.value!r}" if row.value else "")
            + f": {row.reason}. Remedy: {row.remedy}."
        )
        for row in records(problems.head(_MOST_ROWS))
    ]
    more = len(problems) - len(lines)
    if more:
        lines.append(f"- and {more} more: the tables of the review list every one.")
    return f"{title} ({len(problems)}):\n" + "\n".join(lines)


def _wrapped(text: str) -> str:
    """Break a line for a terminal, its continuation indented."""
    return textwrap.fill(text.replace("?.", "?"), _WIDTH, subsequent_indent="  ")
