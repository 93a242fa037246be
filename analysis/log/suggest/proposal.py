"""Owns the proposal of a boat.toml for an unknown log: each line with its reason and three rows."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from analysis.depth.kinds import KINDS
from analysis.errors import toml_key
from analysis.log.files.content import content_of
from analysis.log.files.dialect import text_of
from analysis.log.files.folder import named
from analysis.log.files.headings import Wanted, our_names
from analysis.log.files.toml import toml_of
from analysis.log.schema import REQUIRED, TABLES
from analysis.log.suggest.columns import (
    Match,
    Source,
    match_all,
    table_of_name,
)
from analysis.log.suggest.habit_lines import as_above_lines, date_lines
from analysis.log.suggest.line import Line, one_line
from analysis.log.suggest.rod_grid import gears_of, marks_of, propose_grid
from analysis.log.suggest.sources import kinds_column, parted, sources_in
from analysis.log.suggest.units import propose_units
from analysis.log.suggest.words import kind_of_gear, known_word, likely_word
from analysis.log.wording.settings import ALL, KIND, field_of
from analysis.log.wording.spelling import surely

_TACKLE = re.compile(r"[^\W\d_][^\d@/#]*?\s?#?\d+(?:[.,]\d+)?")
_SPLIT_TACKLE = r"(?P<gear>[^\d@/#]*?)\s?#?(?P<setting>\d+(?:[.,]\d+)?)?"

_DATE_AS_ID = "(?=(?P<trip>.*))(?P<date>.*)"


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """What is proposed for an unknown log.

    Parameters
    ----------
    folder : pathlib.Path
    matches : list of Match
        Which source is which table, and which of its columns which of ours.
    lines : list of Line
    unknown : list of str
        Headings for which no column of ours was found; they are kept as they are.
    """

    folder: Path
    matches: list[Match]
    lines: list[Line]
    unknown: list[str]

    def text(self) -> str:
        """Write the proposed boat.toml; lines that begin with ``# ?`` are questions."""
        parts = [
            f"# A proposal for {one_line(self.folder.name)}: nothing was written. Read it, answer"
            ' the lines that begin\n# with "# ?", and save it as boat.toml in that folder.'
        ]
        for table in dict.fromkeys(line.table for line in self.lines):
            here = [line.text() for line in self.lines if line.table == table]
            parts.append("\n".join([f"[{table}]"] * bool(table) + here))
        if self.unknown:
            parts.append(
                "# Kept as they are, for no column of ours is surely meant: "
                + one_line("; ".join(self.unknown))
            )
        return "\n\n".join(parts) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def suggest(folder: Path) -> Suggestion:
    """Propose a boat.toml for an unknown log.

    Parameters
    ----------
    folder : pathlib.Path
        The folder with the log's files.
        What its boat.toml says already is not proposed again.

    Returns
    -------
    Suggestion

    Raises
    ------
    LogError
        Where there is no table in the folder, or one cannot be read.
    """
    folder = named(Path(folder))
    sources = sources_in(folder)
    lines: list[Line] = [*_boat(folder)]
    whole = _one_for_all(sources)
    if whole is not None:
        source, at, tables = whole
        lines += _kinds(source, at, tables)
        sources = parted(source, at)
    matches = match_all(sources)
    used = [one.source for one in matches]
    unread = any(source not in used for source in sources) or any(
        len(one.columns) < sum(map(bool, one.source.header)) for one in matches
    )
    lines += propose_units(matches, unread=unread)
    if whole is None:
        lines += _places(matches)
    for one in matches:
        lines += _columns(one)
    lines += _ids(matches)
    for one in matches:
        lines += _rods(one, matches)
    lines += _values(matches)
    lines += _gears(matches)
    lines += date_lines(matches)
    lines += as_above_lines(matches)
    known = {(one.source.name, at) for one in matches for at in one.columns}
    unknown = [
        f"{source.name}: {heading}"
        for source in {id(one.source): one.source for one in matches}.values()
        for at, heading in enumerate(source.header)
        if (source.name, at) not in known and heading
    ]
    told = _told(folder)
    # TOML has a key once: of two lines for one the first holds
    once = {(line.table, line.key): line for line in reversed(lines)}
    fresh = [line for line in reversed(once.values()) if not _said(told, line)]
    return Suggestion(folder=folder, matches=matches, lines=fresh, unknown=unknown)


def _told(folder: Path) -> Mapping[str, object]:
    """Return what a boat.toml of the folder says, be it complete or not."""
    file = folder / "boat.toml"
    if not file.exists():
        return {}
    remedy = "correct it, or move it away: a whole one is then proposed"
    return toml_of(text_of(content_of(file), file)[0], file, remedy)


def _said(known: Mapping[str, object], line: Line) -> bool:
    """Whether boat.toml has this key already."""
    table: object = known
    for name in line.table.split(".") if line.table else ():
        table = table.get(name.strip('"'), {}) if isinstance(table, Mapping) else {}
    return isinstance(table, Mapping) and line.key.strip('"') in table


def _one_for_all(sources: Sequence[Source]) -> tuple[Source, int, Mapping[str, str]] | None:
    for source in sources:
        found = kinds_column(source)
        if found is not None:
            return source, *found
    return None


def _boat(folder: Path) -> Iterator[Line]:
    yield Line(table="", key="boat", value=_quoted(folder.name), reason="the name of the folder")
    yield Line(
        table="",
        key="time_zone",
        value='"Europe/Oslo"',
        reason="the zone of the log's times: no log tells it; write yours",
        question=True,
    )


def _kinds(source: Source, at: int, tables: Mapping[str, str]) -> Iterator[Line]:
    reason = f"one table holds them all, and its column {source.header[at]} tells the kinds apart"
    rows = tuple(source.shown(at))
    yield Line(table="tables", key=ALL, value=_quoted(source.name), reason=reason, rows=rows)
    yield Line(table="tables", key=KIND, value=_quoted(source.header[at]), reason=reason, rows=rows)
    for word, table in tables.items():
        if word.casefold() != table:
            lines = [
                f"line {line}: {cells[at]}" for line, cells in source.rows if cells[at] == word
            ]
            named = table_of_name(word) == table
            why = f"the word speaks of {table}" if named else f"its rows fill columns of {table}"
            yield Line(
                table="values.table",
                key=_quoted(word),
                value=_quoted(table),
                reason=why,
                rows=tuple(lines[:3]),
            )


def _places(matches: Sequence[Match]) -> Iterator[Line]:
    grids = [one.source.grid for one in matches if one.source.grid]
    found = {*(one.table for one in matches), *(grid.table for grid in grids)}
    if any(grid.table == "changes" and marks_of(grid) for grid in grids):
        found.add("strikes")  # what its marks say is asked there
    shared = [one.source.name for one in matches]
    for one in matches:
        again = shared.count(one.source.name) > 1
        if again or one.source.name.casefold() not in (one.table, f"{one.table}.csv"):
            shown = [
                f"line {line}: {', '.join(cell for cell in cells if cell)[:60]}"
                for line, cells in one.source.rows[:3]
            ]
            why = f"its name or its columns are those of {one.table}"
            if again and one.table == "trips":
                why = "each row tells again when its trip was"
            name = _quoted(one.source.name)
            yield Line(table="tables", key=one.table, value=name, reason=why, rows=tuple(shown))
    for table in REQUIRED:
        if table not in found:
            why = f"no file or sheet has the columns of {table}, which every log needs"
            yield Line(table="tables", key=table, value='"..."', reason=why, question=True)


def _columns(one: Match) -> Iterator[Line]:
    known = [field.name for field in TABLES[one.table]]
    wanted = Wanted(known=known, renames={})
    seen: set[str] = set()
    for at, (column, why) in sorted(one.columns.items()):
        heading = one.source.header[at]
        if heading.casefold() in seen:
            continue  # of two columns with one heading, boat.toml can name one only
        seen.add(heading.casefold())
        if our_names([heading], wanted, Path(one.source.name), 1) == [column]:
            continue
        yield Line(
            table=f"columns.{one.table}",
            key=_quoted(heading),
            value=_quoted(column),
            reason=why,
            rows=tuple(one.source.shown(at)),
        )


def _ids(matches: Sequence[Match]) -> Iterator[Line]:
    """Make the ids of trips from their dates where other tables name trips by them."""
    trips = next((one for one in matches if one.table == "trips"), None)
    date = trips.at("date") if trips is not None else None
    if trips is None or date is None or trips.at("trip") is not None:
        return
    days = set(trips.source.cells(date))
    if trips.source.grid is not None and trips.source.grid.table in ("spreads", "strikes"):
        return  # said with its rods
    others = [(one, at) for one in matches if (at := one.at("trip")) is not None]
    if others and all(set(one.source.cells(at)) <= days for one, at in others):
        yield Line(
            table="patterns",
            key="trips.date",
            value=f"'{_DATE_AS_ID}'",
            reason="trips have no id, and other tables name them by their date",
            rows=tuple(trips.source.shown(date)),
        )


def _rods(one: Match, matches: Sequence[Match]) -> Iterator[Line]:
    """Propose how columns that are rods are read; in a list of trips they are another table."""
    grid = one.source.grid
    if grid is None:
        return
    elsewhere = any(other.table == "strikes" for other in matches if other is not one)
    if grid.table != one.table:
        yield from _beside_trips(one, grid.table)
    yield from propose_grid(grid, strikes_elsewhere=elsewhere)


def _beside_trips(one: Match, table: str) -> Iterator[Line]:
    """Propose that a list of trips is read a second time, for what its columns of rods say."""
    told = one.at("trip")
    at = one.at("date") if told is None else told
    if at is None:
        return
    rows, name = tuple(one.source.shown(at)), _quoted(one.source.name)
    why = "its columns of rods stand in the list of trips"
    yield Line(table="tables", key=table, value=name, reason=why, rows=rows)
    column = "spread" if table == "spreads" else "trip"
    heading = one.source.header[at]
    if heading.casefold() != column:
        key = _quoted(heading)
        why = "what names the trip names these too"
        yield Line(table=f"columns.{table}", key=key, value=_quoted(column), reason=why, rows=rows)
    ids = "" if told is not None else "(?=(?P<trip>.*))"
    spread = "(?=(?P<spread>.*))" if table == "spreads" else ""
    if ids or spread:
        yield Line(
            table="patterns",
            key=f"trips.{'date' if told is None else 'trip'}",
            value=f"'{ids}{spread}(?P<{'date' if told is None else 'trip'}>.*)'",
            reason="each trip has the rods of its own row" if spread else "trips have no id",
            rows=rows,
        )


def _shown_words(matches: Sequence[Match], column: str) -> dict[str, list[str]]:
    """Return each word of a column with rows that have it."""
    found: dict[str, list[str]] = {}
    for one in matches:
        at = one.at(column)
        if at is not None:
            for line, cells in one.source.rows:
                if cells[at]:
                    rows = found.setdefault(cells[at], [])
                    rows.append(f"{one.source.name}, line {line}: {cells[at]}")
    return {word: rows[:3] for word, rows in found.items()}


def _values(matches: Sequence[Match]) -> Iterator[Line]:
    for column in ("side", "outcome", "ended_by", "what", "speed_kind"):
        fields = [found for one in matches if (found := field_of(one.table, column))]
        if not fields:
            continue
        for word, rows in _shown_words(matches, column).items():
            if surely(word, fields[0].choices):
                continue
            ours = known_word(column, word)
            likely = likely_word(column, word)
            choices = ", ".join(fields[0].choices)
            yield Line(
                table=f"values.{column}",
                key=_quoted(word),
                value=_quoted(likely),
                reason=f"it means {ours}" if ours else f"which of {choices} is this?",
                rows=tuple(rows),
                question=not ours,
            )


def _gears(matches: Sequence[Match]) -> Iterator[Line]:
    words = _shown_words([one for one in matches if one.table != "soaks"], "gear")
    words = words or _shown_words(matches, "gear")
    for grid in (one.source.grid for one in matches if one.source.grid):
        for word, rows in gears_of(grid).items():
            words[word] = (words.get(word, []) + rows)[:3]
    names: dict[str, list[str]] = {}
    for one in matches:
        at = one.at("gear")
        cells = one.source.cells(at) if at is not None else []
        if at is not None and one.at("setting") is None and any(map(_TACKLE.fullmatch, cells)):
            yield Line(
                table="patterns",
                key=f"{one.table}.gear",
                value=f"'{_SPLIT_TACKLE}'",
                reason="a number stands behind the gear, and no column has the setting",
                rows=tuple(one.source.shown(at)),
            )
            words = {}
            for line, row in one.source.rows:
                found = re.fullmatch(_SPLIT_TACKLE, row[at])
                if found and found["gear"]:
                    told = names.setdefault(found["gear"].strip(), [])
                    told.append(f"{one.source.name}, line {line}: {row[at]}")
    folded: dict[str, str] = {}
    for word, rows in (words or names).items():
        if word.casefold() in folded:
            continue
        folded[word.casefold()] = word
        kind = kind_of_gear(word)
        yield Line(
            table=toml_key("gear", word),
            key="kind",
            value=_quoted(kind or "diver"),
            reason=f"its name speaks of a {kind}" if kind else "of which kind is this gear?",
            rows=tuple(rows[:3]),
            question=not kind,
        )
        made = getattr(KINDS.get(kind), "line_example", "").partition(" = ")
        if made[0]:
            yield Line(
                table=toml_key("gear", word),
                key=made[0],
                value=made[2],
                reason="of what is this line made? This is an example",
                rows=tuple(rows[:3]),
                question=True,
            )
