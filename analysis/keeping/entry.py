"""Owns the evening's typing without its form: rows checked, added, counted and taken back."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import pandas as pd

from analysis import labels
from analysis.effort import count_effort
from analysis.errors import LogError
from analysis.keeping.append import Added, Appender
from analysis.log import SeasonLog, read_log
from analysis.log.boat import Boat, read_boat
from analysis.log.files.folder import files_within
from analysis.log.files.workbook import WORKBOOKS
from analysis.places import DEMO

_FOR_CHECK = ("trips", "spreads", "changes", "strikes", "sets")
_SHORT_CLOCK = re.compile(r"([01]?\d|2[0-3])[.]?([0-5]\d)")


def clock(text: str) -> str:
    """Write a time typed short as the log has it; anything else is left as it is.

    Examples
    --------
    >>> [clock(text) for text in ("740", "0740", "7.40", "7:40", "2026-07-04 07:40", "late")]
    ['07:40', '07:40', '07:40', '7:40', '2026-07-04 07:40', 'late']
    """
    found = _SHORT_CLOCK.fullmatch(text.strip())
    return f"{int(found[1]):02d}:{found[2]}" if found else text.strip()


@dataclass(frozen=True, kw_only=True)
class Judged:
    """What `check` would say of a row: why it would be set aside, and what else there is to say."""

    refused: tuple[str, ...]
    told: tuple[str, ...]


@dataclass(kw_only=True)
class Evening:
    """One window onto a season folder.

    Parameters
    ----------
    folder : Path
        The season folder.
    boat : Boat
        Its boat.toml.
    appender : Appender
        Writes to its tables.
    done : list of Added
        Rows that this window added, the last one last.
    """

    folder: Path
    boat: Boat
    appender: Appender
    done: list[Added] = field(default_factory=list)
    _stamp: tuple[tuple[Path, int, int], ...] = ()
    _log: SeasonLog | None = None

    @classmethod
    def open(cls, folder: str | Path, now: datetime) -> Evening:
        """Open a season folder for typing.

        Raises
        ------
        LogError
            For a folder whose tables cannot be added to: the demo, a workbook, no trips.csv.
        """
        place = Path(folder).resolve()
        boat, _ = read_boat(place / "boat.toml")
        if DEMO.resolve() in place.parents:
            msg = "this is the demo, and the demo is not added to"
            remedy = "make a season of your own: rodhours start MY_SEASON --csv"
            raise LogError(msg, file=place, remedy=remedy)
        for table in ("trips", "strikes"):
            if not (place / f"{table}.csv").is_file():
                books = [p.name for p in files_within(place) if p.suffix.casefold() in WORKBOOKS]
                msg = f"there is no {table}.csv to add rows to"
                remedy = f"add {table}.csv, or make a season: rodhours start MY_SEASON --csv"
                if books:
                    msg = f"this season stands in {books[0]}, and a workbook is never written to"
                    remedy = (
                        f"type into {books[0]} itself: check and review read it as it is; or save "
                        "each of its sheets as CSV and move it away"
                    )
                raise LogError(msg, file=place, remedy=remedy)
        return cls(folder=place, boat=boat, appender=Appender(place, now))

    def log(self) -> SeasonLog | None:
        """Read the season as it stands, once a change of it; None while it has no usable trip."""
        found = [(path, path.stat()) for path in files_within(self.folder)]
        stamp = tuple((path, told.st_mtime_ns, told.st_size) for path, told in found)
        if stamp != self._stamp:
            try:
                self._log = read_log(self.folder)
            except LogError:
                self._log = None
            self._stamp = stamp
        return self._log

    def trips(self) -> list[str]:
        """Return the ids of the trips, in the order of the log.

        The latest stands last: a trip that is added must not shift the place of one that somebody
        is choosing from the list.
        """
        log = self.log()
        return [] if log is None else log.trips["trip"].tolist()

    def check(self, table: str, row: Mapping[str, str]) -> Judged:
        """Say what `check` would say of a row if it were added.

        The season is read with the row in a copy of its tables, by the reader that reads it later.
        """
        with tempfile.TemporaryDirectory() as scratch:
            copy = Path(scratch)
            for path in files_within(self.folder):
                if path.name == "boat.toml" or path.stem.casefold() in _FOR_CHECK:
                    shutil.copy(path, copy / path.name)
            trial = Appender(copy, datetime.fromtimestamp(0).astimezone())
            added = trial.append(copy / f"{table}.csv", row, self._renames(table))
            line = added.file.read_bytes().count(b"\n")
            try:
                log = read_log(copy)
            except LogError as error:
                # the first trip of a season: the whole reading ends with what is wrong with it
                return Judged(refused=(str(error).replace(f"{copy}/", ""),), told=())
            unplaced = count_effort(log).set_aside
        return Judged(
            refused=_said(log.set_aside, table, line),
            told=_said(log.changed, table, line) + _said(unplaced, table, line),
        )

    def add(self, table: str, row: Mapping[str, str]) -> Judged:
        """Check a row and, unless it would be set aside, add it to the table.

        Raises
        ------
        LogError
            Where the file cannot be written.
        """
        judged = self.check(table, row)
        if not judged.refused:
            file = self.folder / f"{table}.csv"
            self.done.append(self.appender.append(file, row, self._renames(table)))
        return judged

    def undo(self) -> str:
        """Take back the last row that this window added, and say which.

        Raises
        ------
        LogError
            Where it is not there any more.
        """
        if not self.done:
            return "Nothing to take back."
        last = self.done[-1]
        self.appender.take_back(last)
        self.done.pop()
        cells = ", ".join(re.split(r"[,;\t]+", last.text.strip().rstrip(",;")))
        return f"Taken back from {last.file.name}: {cells}."

    def tally(self, trip: str, time: str = "") -> str:
        """Say how a trip stands: rods down at a time, rod-hours, changes and strikes."""
        log = self.log()
        if log is None or trip not in set(log.trips["trip"]):
            return "No trip yet."
        sets = log.stretches.loc[log.stretches["trip"] == trip]
        hours = (sets["time_out"] - sets["time_in"]).dt.total_seconds().sum() / 3600
        strikes = int((log.strikes["trip"] == trip).sum())
        parts = [f"{trip}: {labels.number(hours, 1)} rod-hours, {labels.count(strikes, 'strike')}"]
        moment = _moment(log, trip, time)
        if moment is not None:
            down = sets.loc[(sets["time_in"] <= moment) & (sets["time_out"] > moment), "rod"]
            names = ", ".join(sorted(set(down))) or "none"
            parts.append(f"{labels.count(down.nunique(), 'rod')} down at {time}: {names}")
        return "; ".join(parts) + "."

    def rods(self) -> list[str]:
        """Return the rods known: those of the spreads and of what was fished."""
        log = self.log()
        if log is None:
            return []
        spreads = [] if log.spreads is None else log.spreads["rod"].tolist()
        return list(dict.fromkeys([*spreads, *sorted(set(log.stretches["rod"]))]))

    def spreads(self) -> list[str]:
        """Return the names of the spreads."""
        log = self.log()
        found = [] if log is None or log.spreads is None else log.spreads["spread"].tolist()
        return list(dict.fromkeys(found)) or ["usual"]

    def species(self) -> list[str]:
        """Return the species written so far, the commonest first."""
        log = self.log()
        if log is None:
            return []
        return [name for name in log.strikes["species"].value_counts().index if name]

    def _renames(self, table: str) -> Mapping[str, str]:
        return self.boat.wording.columns.get(table, {})


def _said(problems: pd.DataFrame, table: str, line: int) -> tuple[str, ...]:
    """Return what a list of problems says of one row, in the words of `check`."""
    here = problems.loc[(problems["table"] == table) & (problems["row"] == line)]
    cells = here[["column", "value", "reason", "remedy"]].astype(str).to_numpy().tolist()
    return tuple(
        f"{f'{column} {value!r}: ' if column else ''}{reason}. Remedy: {remedy}."
        for column, value, reason, remedy in cells
    )


def _moment(log: SeasonLog, trip: str, time: str) -> pd.Timestamp | None:
    """Return the instant of a clock time within a trip, None where it is none."""
    if not time:
        return None
    row = log.trips.set_index("trip").loc[trip]
    try:
        local = pd.Timestamp(f"{row['date'].date()} {time}").tz_localize(log.boat.time_zone)
    except ValueError:
        return None
    later = local + pd.Timedelta(days=1)
    found = local if local >= row["start"] else later
    return found if row["start"] <= found <= row["end"] else None
