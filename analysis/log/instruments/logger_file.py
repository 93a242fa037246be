"""Owns the reading of one logger's file: depth and temperature by the logger's own clock."""

import re
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.errors import LogError
from analysis.log.boat import Boat
from analysis.log.files.headings import Wanted
from analysis.log.files.tables import read_table
from analysis.log.reading.draft import Draft
from analysis.log.reading.moments import read_moments
from analysis.log.reading.numbers import read_numbers
from analysis.log.schema import LOGGED, LOGGERS
from analysis.log.times import NAT, UNREADABLE, Instants, parse, readings_of
from analysis.log.vetting.rows import Vetting
from analysis.log.vetting.values import judge_values

_HALF_DAY_US = 12 * 3_600_000_000
_DAY_US = 24 * 3_600_000_000
# what loggers write behind the seconds: parts of them, and the offset from UTC
_BEHIND = re.compile(r"(?<=:\d\d)[.,]\d+(?!\d)|\s*(?:Z|UTC|(?<=\d)[+-]\d\d:?\d\d)$")
_ZONE = re.compile(r"(?:Z|UTC|(?<=:\d\d)[+-](\d\d):?(\d\d)|(?<=\d)[+-](\d\d):?(\d\d))$")


@dataclass(frozen=True, kw_only=True)
class LoggerFile:
    """What a logger recorded.

    Parameters
    ----------
    name : str
        Its path within the season folder.
    sha256 : str
    samples : pandas.DataFrame
        ``time`` (microseconds since 1970, UTC by the boat's zone or what the file says; after
        midnight of no date where `dated` is false), ``depth_m``, ``temp_c`` and ``line``; by time.
    dated : bool
        Whether the times have dates.
    read : int
        Its rows.
    aside, changed : tuple of dict
        As everywhere.
    notes : tuple of str
        What was decided for the file.
    """

    name: str
    sha256: str
    samples: pd.DataFrame
    dated: bool
    read: int
    aside: tuple[dict[str, Any], ...]
    changed: tuple[dict[str, Any], ...]
    notes: tuple[str, ...]


def read_logger(file: Path, boat: Boat) -> LoggerFile:
    """Read a logger's file.

    Parameters
    ----------
    file : pathlib.Path
        A CSV with the columns of `analysis.log.schema.LOGGED`, depth or temp of which may be
        absent.
    boat : analysis.log.boat.Boat
        Its units, zone and headings; `[units.loggers]` and `[columns.loggers]` are of these files.

    Raises
    ------
    LogError
        Where the file cannot be read, or has neither depths nor temperatures.
    """
    wording = boat.wording
    wanted = Wanted(
        known=[field.name for field in LOGGED],
        required=["time"],
        renames=wording.columns.get(LOGGERS, {}),
        generous=wording.reads("headings"),
    )
    name = f"{LOGGERS}/{file.name}"
    encoding, delimiter = map(wording.reading.get, ("encoding", "delimiter"))
    table = read_table(file, name, wanted, encoding=encoding, delimiter=delimiter)
    ours = [column for column in ("time", "depth", "temp") if column in table.frame]
    if len(ours) == 1:
        msg = "this file has neither depths nor temperatures"
        remedy = 'write "your heading" = "depth" or "temp" under [columns.loggers] in boat.toml'
        raise LogError(msg, file=file, remedy=remedy)
    # a logger's further columns may be anything, a position too
    draft = Draft.of(replace(table, frame=table.frame[["line", *ours]]))
    behind = _offset_from_utc(draft)
    notes = [*table.notes, *read_numbers(draft, wording, boat.units)]
    notes += read_moments([draft], wording)
    vet = Vetting(draft.done(), boat.units)
    judge_values(vet)
    time, dated = _times(vet, boat, behind)
    vet.kept &= time != NAT
    samples = vet.clean.assign(time=time).loc[
        vet.kept & vet.clean[["depth_m", "temp_c"]].notna().any(axis=1).to_numpy(),
        ["time", "depth_m", "temp_c", "line"],
    ]
    return LoggerFile(
        name=name,
        sha256=table.sha256,
        samples=samples.sort_values(["time", "line"], ignore_index=True),
        dated=dated,
        read=vet.read,
        aside=tuple(vet.aside),
        changed=tuple(vet.changes()),
        notes=tuple(notes),
    )


def _offset_from_utc(draft: Draft) -> NDArray[np.float64]:
    """Take what stands behind the seconds out of the times; return hours from UTC, NaN for none."""
    text = draft.frame["time"]
    if not text.str.contains(r"[.,]\d+\s*\S*$|Z$|UTC$|[+-]\d\d:?\d\d$", regex=True).any():
        return np.full(len(text), np.nan)

    def hours(word: str) -> float:
        found = _ZONE.search(word) if ":" in word else None
        if found is None:
            return np.nan
        if not (found[1] or found[3]):
            return 0.0
        sign = -1.0 if "-" in found[0] else 1.0
        return sign * (int(found[1] or found[3]) + int(found[2] or found[4]) / 60.0)

    codes, unique = pd.factorize(text)
    behind = np.array([hours(str(word)) for word in unique], dtype=float)[codes]
    bare = np.array([_BEHIND.sub("", str(word)) if ":" in word else word for word in unique])
    draft.frame["time"] = pd.Series(bare[codes], index=text.index, dtype="str")
    return behind


def _times(vet: Vetting, boat: Boat, behind: NDArray[np.float64]) -> tuple[Instants, bool]:
    """Return the instants of a file, and whether it has dates; set aside what is no time."""
    parsed = parse(vet.text["time"])
    date, clock = parsed["date_us"].to_numpy(), parsed["clock_us"].to_numpy()
    dated = bool((date != NAT).any())
    bad = (clock == NAT) | ((date == NAT) & dated)
    vet.set_aside(bad, "time", UNREADABLE, "write date and time as 2026-07-04 05:30:00")
    if not dated:
        return np.where(bad, NAT, _unrolled(clock, bad)), False
    local = np.where(bad, NAT, np.where(bad, 0, date) + np.where(bad, 0, clock))
    zoned = ~np.isnan(behind)
    shift = np.where(zoned, behind, 0.0) * (timedelta(hours=1) / timedelta(microseconds=1))
    utc = readings_of(local, boat.time_zone)[0]
    time = np.where(zoned & ~bad, local - shift.astype(np.int64), utc)
    skipped = ~bad & (time == NAT)
    vet.set_aside(
        skipped,
        "time",
        "the clock skipped this time when it went forward",
        "set the logger's clock",
    )
    return np.where(bad | skipped, NAT, time), True


def _unrolled(clock: Instants, bad: NDArray[np.bool_]) -> Instants:
    """Return clocks without a date as times that go on past midnight."""
    time = clock.copy()
    good = np.flatnonzero(~bad)
    days = np.cumsum(np.diff(clock[good], prepend=clock[good][:1]) < -_HALF_DAY_US)
    time[good] += days * _DAY_US
    return time
