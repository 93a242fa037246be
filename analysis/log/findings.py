"""Owns findings: rows that one cause spoiled are one finding, with what it costs."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import pandas as pd

Severity = Literal["stops", "changes", "cosmetic"]
ORDER: tuple[Severity, ...] = ("stops", "changes", "cosmetic")
"""Severities, the gravest first."""

Place = tuple[str, int]
"""Table and line of a row."""
Cell = tuple[str, int, str]
"""Table and line of a row, and the rod it speaks of; no rod for trips and strikes."""

DUPLICATE = "duplicate row"
"""How the reason of a row begins that repeats another: nothing is lost with it."""

_MOST_LINES = 6
_NUMBER = re.compile(r"-?\d+(?:[.,:-]\d+)*")
_CAUSE = re.compile(r"\((trips|sets|changes|spreads) line (\d+)\)")
_EMPTIED = "field left empty"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One cause, and all rows that it spoiled.

    Attributes
    ----------
    severity : str
        ``stops``: the log is not accepted unasked; ``changes``: the answer would be another;
        ``cosmetic``: nothing was lost, the row was read otherwise than written.
    table, column : str
        Where it is; the column is empty for whole rows.
    value : str
        What stands in the first of them.
    reason, remedy : str
        Of the first of them, in plain words.
    lines : tuple of int
        Lines of the table's file, ascending.
    follows : int
        Rows of this or other tables that were lost only because of these.
    rod_hours : float
        Rod-hours that do not count because of it, in hours.
    strikes : int
        Strikes that count in no rate because of it.
    doubted : bool
        Whether the rows are kept and only doubted: rod-hours and strikes are those that rest on
        them.
    """

    severity: Severity
    table: str
    column: str
    value: str
    reason: str
    remedy: str
    lines: tuple[int, ...]
    follows: int = 0
    rod_hours: float = 0.0
    strikes: int = 0
    doubted: bool = False

    @property
    def count(self) -> int:
        """Rows that the cause itself spoiled."""
        return len(self.lines)

    @property
    def places(self) -> str:
        """The first lines, as text."""
        shown = ", ".join(str(line) for line in self.lines[:_MOST_LINES])
        return shown + (", ..." if self.count > _MOST_LINES else "")


def findings_of(
    aside: pd.DataFrame,
    changed: pd.DataFrame,
    *,
    rod_hours: Mapping[Place, float],
    strikes: Mapping[Place, int],
    stopping: frozenset[str] = frozenset(),
    doubted: pd.DataFrame | None = None,
    resting: tuple[Mapping[Cell, float], Mapping[Cell, int]] = ({}, {}),
) -> tuple[Finding, ...]:
    """Gather rows set aside or changed into findings.

    A row that was set aside because of another row, such as a strike whose set was set aside, is
    counted with that row's finding.

    Parameters
    ----------
    aside, changed : DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`.
    rod_hours : mapping
        Table and line -> hours that do not count because that row does not.
    strikes : mapping
        Table and line -> strikes that count in no rate because that row does not.
    stopping : frozenset of str
        Tables that lost so much that the log is not accepted unasked.
    doubted : DataFrame, optional
        From `analysis.log.doubts.doubts_of`.
    resting : tuple of mapping
        Table and line of a kept row, and rod -> rod-hours, and strikes, that rest on it.

    Returns
    -------
    tuple of Finding
        The one that matters most first: by severity, strikes, rod-hours, rows.
    """
    groups: dict[tuple[bool, Severity, str, str, str, str], list[dict[str, Any]]] = {}
    follows: dict[Place, list[Place]] = {}
    lost_places = {(str(t), int(r)) for t, r in zip(aside["table"], aside["row"], strict=True)}
    for lost, frame in ((True, aside), (False, changed)):
        for cells in frame.to_dict("records"):
            row = {str(name): cell for name, cell in cells.items()}
            cause = _CAUSE.search(row["reason"]) if lost else None
            if cause and (place := (cause[1], int(cause[2]))) in lost_places:
                follows.setdefault(place, []).append((row["table"], int(row["row"])))
                continue
            severity = _severity(row, stopping, lost=lost)
            reason, remedy = (_NUMBER.sub("#", row[name]) for name in ("reason", "remedy"))
            key = (lost, severity, row["table"], row["column"], reason, remedy)
            groups.setdefault(key, []).append(row)
    found = [
        _finding(severity, rows, rod_hours, strikes, follows, lost=lost)
        for (lost, severity, *_), rows in groups.items()
    ]
    found += [] if doubted is None else _doubts(doubted, *resting)
    return tuple(
        sorted(
            found,
            key=lambda f: (
                ORDER.index(f.severity),
                -f.strikes,
                -f.rod_hours,
                -f.count,
                f.table,
                f.lines,
            ),
        )
    )


def _doubts(
    doubted: pd.DataFrame, rod_hours: Mapping[Cell, float], strikes: Mapping[Cell, int]
) -> list[Finding]:
    """Make one finding of each doubt, whatever numbers it names."""
    alike = doubted["reason"].str.replace(_NUMBER, "#", regex=True)
    groups = doubted.groupby(["table", "column", alike, "remedy"], sort=False)
    found = []
    for _, rows in groups:
        records = [{str(k): v for k, v in row.items()} for row in rows.to_dict("records")]
        one = _finding("changes", records, {}, {}, {}, lost=True)
        cells = {(row["table"], int(row["row"]), row["rod"]) for row in records}
        hours = sum(rod_hours.get(cell, 0.0) for cell in cells)
        struck = sum(strikes.get(cell, 0) for cell in cells)
        found.append(replace(one, doubted=True, rod_hours=hours, strikes=struck))
    return found


def _severity(row: Mapping[str, Any], stopping: frozenset[str], *, lost: bool) -> Severity:
    if lost and row["reason"].startswith(DUPLICATE):
        return "cosmetic"
    if lost:
        return "stops" if row["table"] in stopping else "changes"
    told = (_EMPTIED, "less)", "not applied", "not believed")
    return "changes" if any(words in row["reason"] for words in told) else "cosmetic"


def _after(places: list[Place], follows: Mapping[Place, list[Place]]) -> list[Place]:
    """Return all that was lost because of these rows, at first or further hand."""
    found = [after for place in places for after in follows.get(place, ())]
    return found + _after(found, follows) if found else []


def _finding(
    severity: Severity,
    rows: list[dict[str, Any]],
    rod_hours: Mapping[Place, float],
    strikes: Mapping[Place, int],
    follows: Mapping[Place, list[Place]],
    *,
    lost: bool,
) -> Finding:
    """Make one finding of rows alike; only a row that is lost costs rod-hours and strikes."""
    first = min(rows, key=lambda row: row["row"])
    lines = sorted({int(row["row"]) for row in rows})
    own = [(first["table"], line) for line in lines] if lost and severity != "cosmetic" else []
    after = _after(own, follows)
    places = [*own, *after]
    return Finding(
        severity=severity,
        table=first["table"],
        column=first["column"],
        value=first["value"],
        reason=first["reason"],
        remedy=first["remedy"],
        lines=tuple(lines),
        follows=len(after),
        rod_hours=sum(rod_hours.get(place, 0.0) for place in places),
        strikes=sum(strikes.get(place, 0) for place in places),
    )
