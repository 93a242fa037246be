"""Owns what is proposed under [reading]: the order of dates, the year, and cells left empty."""

import json
from collections.abc import Iterator, Sequence

from analysis.log.reading.dates import read_date, yearless
from analysis.log.suggest.columns import Match, Source
from analysis.log.suggest.line import Line
from analysis.log.wording.settings import AS_ABOVE, field_of


def date_lines(matches: Sequence[Match]) -> Iterator[Line]:
    """Say which order the numbers of dates have, or ask; ask for the year where there is none."""
    votes: dict[str, list[str]] = {}
    open_rows: list[str] = []
    short: list[str] = []
    for one in matches:
        for at, (column, _) in one.columns.items():
            field = field_of(one.table, column)
            if field is None or field.kind not in ("date", "time"):
                continue
            for line, cells in one.source.rows:
                row = f"{one.source.name}, line {line}: {cells[at]}"
                found = read_date(cells[at])
                if found is None and field.kind == "date" and yearless(cells[at]):
                    short.append(row)
                elif found is not None and not found.certain:
                    if len(found.days) == 1:
                        votes.setdefault(next(iter(found.days)), []).append(row)
                    else:
                        open_rows.append(row)
    if short:
        why = "the dates have no year: which is it?"
        yield Line(
            table="reading",
            key="year",
            value="2026",
            reason=why,
            rows=tuple(short[:3]),
            question=True,
        )
    if len(votes) == 1:
        order, rows = next(iter(votes.items()))
        why = "these dates can be read in this order only"
        yield Line(
            table="reading", key="dates", value=json.dumps(order), reason=why, rows=tuple(rows[:3])
        )
    elif votes or open_rows:
        both = [rows[0] for rows in votes.values()] or open_rows[:3]
        why = "day first or month first? The dates fit both"
        value = '"day-month"'
        yield Line(
            table="reading", key="dates", value=value, reason=why, rows=tuple(both), question=True
        )


def as_above_lines(matches: Sequence[Match]) -> Iterator[Line]:
    """Propose that an empty cell means the one above it, where each block has its first alone."""
    places: list[str] = []
    shown: list[str] = []
    for one in matches:
        for column in ("trip", "spread", "date"):
            at = one.at(column)
            if at is None or one.table == "trips" or not _first_rows(one.source, at):
                continue
            places.append(f"{one.table}.{column}")
            shown += [f"{one.source.name}, {row}" for row in one.source.shown(at)]
    if places:
        yield Line(
            table="reading",
            key=AS_ABOVE,
            value=json.dumps(places),
            reason="it stands on the first row of each only: an empty cell means the one above",
            rows=tuple(shown[:3]),
        )


def _first_rows(source: Source, at: int) -> bool:
    """Whether a column is filled on the first row of each block alone."""
    cells = [row[at] for _, row in source.rows]
    filled = [cell for cell in cells if cell]
    return bool(cells[0]) and len(set(filled)) == len(filled) < len(cells)
