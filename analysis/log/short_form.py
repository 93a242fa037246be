"""Owns the short form of a log: spreads, changes and strikes in, the sets that follow out."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from analysis.log.boat import Boat
from analysis.log.rod_clock import COLUMNS, Change, Rod, State, Stretch, Strike
from analysis.log.rods import rod_key
from analysis.log.schema import TABLES, blank_table
from analysis.log.vetting.rows import Vetting

ALL = "all"
"""In the column rod of changes: every rod that fishes, or goes in later by the trip's spread."""
_MINUTE_US = 60_000_000
_PARTED = re.compile(r"[,;\s]+")
_REPEAT = "a rod of this name stands twice in this spread"


@dataclass(frozen=True, kw_only=True)
class _Problem:
    """A row of changes that cannot be used, and why."""

    column: str
    reason: str
    remedy: str


@dataclass(kw_only=True)
class ShortForm:
    """The sets that follow from a season's spreads, changes and strikes.

    Attributes
    ----------
    stretches : pandas.DataFrame
        The columns of clean sets, with ``table`` and ``line`` of the row that says what the rod
        fished, and ``source``: ``changes``, or ``spread`` for a trip that has no usable change.
    trips : frozenset of str
        Trips that have a spread or a change, usable or not.
    """

    stretches: pd.DataFrame
    trips: frozenset[str]


def vet_spreads(vet: Vetting) -> None:
    """Set aside the rods that one spread has twice: nobody can tell which is meant."""
    pairs = vet.text.loc[vet.kept, ["spread", "rod"]]
    twice = pairs.duplicated(keep=False).reindex(vet.text.index, fill_value=False).to_numpy()
    vet.set_aside(twice, "rod", _REPEAT, "keep the row that holds, or rename the spread")


def rods_named(cell: str, known: dict[str, str]) -> list[str]:
    """Return the rods that a cell of changes names, spelt as elsewhere in the log.

    Parameters
    ----------
    cell : str
    known : dict
        `analysis.log.rods.rod_key` of a rod -> its label; rods not in it are added.

    Examples
    --------
    >>> rods_named("P1, s1 P2", {"s1": "S1"}), rods_named("Port 1", {"port1": "Port 1"})
    (['P1', 'S1', 'P2'], ['Port 1'])
    >>> rods_named("All", {})
    ['all']
    """
    if rod_key(cell) in known:
        return [known[rod_key(cell)]]
    if cell.casefold() == ALL:
        return [ALL]
    parts = [part for part in _PARTED.split(cell) if part]
    return list(dict.fromkeys(known.setdefault(rod_key(part), part) for part in parts))


def follow(
    trips: pd.DataFrame,
    spreads: pd.DataFrame | None,
    changes: Vetting | None,
    strikes: pd.DataFrame,
    boat: Boat,
    written: Collection[str],
) -> ShortForm:
    """Work out the sets that follow from the short form.

    Parameters
    ----------
    trips, strikes : pandas.DataFrame
        Clean tables.
    spreads : pandas.DataFrame or None
        Clean spreads in the order written: rods go in and come out in it.
    changes : analysis.log.vetting.rows.Vetting or None
        Vetted changes, their times resolved; rows that cannot be used are set aside here.
    boat : analysis.log.boat.Boat
        Its habits, gears and counter scales.
    written : collection of str
        Trips that have rows in sets: those count instead.

    Returns
    -------
    ShortForm
    """
    rows = _rows_of_changes(changes, written)
    grid = boat.wording.wide.get("changes")
    named = [
        *(grid.rods.values() if grid else ()),
        *([] if spreads is None else spreads["rod"]),
        *strikes["rod"].unique(),
    ]
    known = {rod_key(label): label for label in named}
    by_name: dict[str, pd.DataFrame] = {}
    if spreads is not None:
        by_name = {str(name): rods for name, rods in spreads.groupby("spread", sort=False)}
    ours = [*(field.clean for field in TABLES["strikes"]), "line"]  # not a boat's own columns
    none = spreads is None and not rows
    struck = {} if none else dict(iter(strikes[ours].groupby("trip", sort=False)))
    touched = {row.trip for row in rows}
    by_trip: dict[str, list[_Row]] = {}
    for row in rows:
        by_trip.setdefault(row.trip, []).append(row)
    stretches: list[Stretch] = []
    sources: list[tuple[str, str]] = []
    short = set()
    problems: dict[int, _Problem] = {}
    for trip in () if none else trips.itertuples():
        name = str(trip.trip)
        spread = by_name.get(str(trip.spread))
        if name in written or (spread is None and name not in touched):
            continue
        short.add(name)
        told = by_trip.get(name, [])
        account = _Trip(
            start=_us(trip.start), end=_us(trip.end), boat=boat, known=known, problems=problems
        )
        account.put_in(spread)
        account.run(told, struck.get(name))
        found = account.come_out()
        usable = any(not row.lost and row.index not in problems for row in told)
        stretches += found
        sources += [(name, "changes" if usable else "spread")] * len(found)
    if changes is not None:
        for index, problem in problems.items():
            here = np.arange(len(changes.text)) == index
            changes.set_aside(here, problem.column, problem.reason, problem.remedy)
    return ShortForm(stretches=_frame(stretches, sources), trips=frozenset(short))


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One row of changes; a lost one cannot be used, and its rods' state is unknown after it."""

    index: int
    trip: str
    rod: str
    lost: bool
    change: Change


def _rows_of_changes(changes: Vetting | None, written: Collection[str]) -> list[_Row]:
    """Return the rows of changes that can be put on a trip's clock, in order of time."""
    if changes is None:
        return []
    in_sets = changes.text["trip"].isin(written).to_numpy() & changes.kept
    changes.set_aside(
        in_sets,
        "trip",
        "the trip has rows in sets, and those count",
        "delete the trip's rows in one of the two tables",
    )
    timed = changes.clean["time"].notna().to_numpy() & (changes.text["rod"] != "").to_numpy()
    lost = changes.spoiled() & timed & ~changes.text["trip"].isin(written).to_numpy()
    rows = []
    for index in np.flatnonzero((changes.kept & timed) | lost).tolist():
        cells = changes.clean.iloc[index]
        change = Change(
            time=_us(cells["time"]),
            what="lost" if lost[index] else str(cells["what"]),
            tackle={name: cells[name] for name in COLUMNS if _said(cells[name])},
            ended_by=str(cells["ended_by"]),
            line=int(cells["line"]),
        )
        trip, rod = changes.text.iloc[index][["trip", "rod"]].tolist()
        rows.append(_Row(index=index, trip=trip, rod=rod, lost=bool(lost[index]), change=change))
    return rows


def _said(value: object) -> bool:
    """Whether a cell says anything."""
    return value != "" and not (isinstance(value, float) and np.isnan(value))


def _us(time: Any) -> int:
    """Return a UTC time as microseconds since 1970."""
    return int(pd.Timestamp(time).value) // 1000  # counted in nanoseconds


@dataclass(kw_only=True)
class _Trip:
    """The rods of one trip as its events happen."""

    start: int
    end: int
    boat: Boat
    known: dict[str, str]
    problems: dict[int, _Problem]
    rods: dict[str, Rod] = field(default_factory=dict)
    spread: list[str] = field(default_factory=list)

    @property
    def apart(self) -> int:
        """Microseconds between two rods going in or coming out."""
        return int(self.boat.habits.minutes_per_rod * _MINUTE_US)

    def put_in(self, spread: pd.DataFrame | None) -> None:
        """Put the rods of the trip's spread in, one after the other from the start."""
        if spread is None:
            return
        for number, row in enumerate(spread.itertuples()):
            values = {name: value for name in COLUMNS if _said(value := getattr(row, name))}
            rod = self.rod(str(row.rod))
            rod.state = State(tackle=values, table="spreads", line=int(row.line))  # type: ignore[arg-type]
            rod.plan(self.start + number * self.apart)
            self.spread.append(rod.name)

    def rod(self, name: str) -> Rod:
        """Return a rod of the trip, a new one where it is not yet known."""
        if name not in self.rods:
            self.rods[name] = Rod(
                name=name,
                start=self.start,
                gears=self.boat.gears,
                reset=int(self.boat.habits.reset_minutes * _MINUTE_US),
                move=int(self.boat.habits.move_minutes * _MINUTE_US),
            )
        return self.rods[name]

    def run(self, rows: Iterable[_Row], strikes: pd.DataFrame | None) -> None:
        """Let the changes and strikes of the trip happen in order of time."""
        events: list[tuple[tuple[Any, ...], _Row | Strike]] = []
        for row in rows:
            change = row.change
            if not self.start <= change.time <= self.end:
                continue
            named = rods_named(row.rod, self.known)
            order = ("lost", "out", "in", "").index(change.what)
            # a strike comes before what was done about it, all rods before one by its name
            events.append(((change.time, 1, named != [ALL], order, change.line), row))
        if strikes is not None:
            events += [
                ((strike.time, 0, False, 0, strike.line), strike) for strike in _strikes(strikes)
            ]
        said: dict[tuple[str, int, bool], tuple[int, Mapping[str, object]]] = {}
        for _, event in sorted(events, key=lambda pair: pair[0]):
            if isinstance(event, Strike):
                if event.rod in self.rods:
                    self.rods[event.rod].strike(event)
                continue
            self._change(event, said)

    def _change(
        self, row: _Row, said: dict[tuple[str, int, bool], tuple[int, Mapping[str, object]]]
    ) -> None:
        """Let one row of changes happen to its rods."""
        change = row.change
        named = rods_named(row.rod, self.known)
        every = named == [ALL]
        rods = self._all(change.what) if every else named
        if not rods:
            self._refuse(row, "rod", "no rod of this trip is known yet", "name the rods")
        for name in rods:
            moment = (name, change.time, every)
            index, before = said.get(moment, (row.index, {}))
            said[moment] = (index, {**before, **change.tackle})
            told = change.at(self.boat.counter_scale_of(name))
            if any(before.get(key, value) != value for key, value in change.tackle.items()):
                reason = f"another row of the same time says otherwise of {name}"
                for number in (index, row.index):
                    self.problems[number] = _Problem(
                        column="time", reason=reason, remedy="keep the one that holds"
                    )
                told = told.lost()
            lacking = self.rod(name).change(told)
            if lacking:
                reason = f"nothing says the {lacking} of {name} then"
                remedy = f"write the {lacking}, or name the trip's spread in trips"
                if "changes" in self.boat.wording.wide:
                    remedy += ", or say what the rod tows under [wide.changes.towed]"
                self._refuse(row, lacking, reason, remedy)

    def _refuse(self, row: _Row, column: str, reason: str, remedy: str) -> None:
        if not row.lost:
            problem = _Problem(column=column, reason=reason, remedy=remedy)
            self.problems.setdefault(row.index, problem)

    def _all(self, what: str) -> list[str]:
        """Return the rods that `all` means: those fishing or about to, else every one known."""
        fishing = [rod.name for rod in self.rods.values() if rod.fishes_from is not None]
        return list(self.rods) if what == "in" or not fishing else fishing

    def come_out(self) -> list[Stretch]:
        """Take the rods out, those of the spread one after the other, the last at the end."""
        down = [name for name in self.spread if self.rods[name].is_down(self.end)]
        for number, name in enumerate(reversed(down)):
            self.rods[name].come_out(self.end - number * self.apart, self.end)
        for rod in self.rods.values():
            rod.come_out(self.end, self.end)
        return [stretch for rod in self.rods.values() for stretch in rod.stretches]


def _strikes(strikes: pd.DataFrame) -> list[Strike]:
    """Return a trip's strikes, each with what its own columns say of the rod."""
    own = ("gear", "setting", "line_out_m", "leader_length_m", "lure")
    found = []
    for row in strikes.itertuples():
        values = {name: value for name in own if _said(value := getattr(row, name))}
        found.append(
            Strike(rod=str(row.rod), time=_us(row.time), tackle=values, line=int(row.line))  # type: ignore[arg-type]
        )
    return found


def _frame(stretches: list[Stretch], sources: list[tuple[str, str]]) -> pd.DataFrame:
    """Return stretches as a frame like clean sets."""
    blank = blank_table("sets")
    if not stretches:
        return blank.assign(table=pd.Series(dtype="str"), source=pd.Series(dtype="str"))
    dtypes = {**blank.dtypes.to_dict(), "table": "str", "source": "str"}
    empty = {str(name): "" if dtype == "str" else np.nan for name, dtype in dtypes.items()}
    rows = [
        empty | {"trip": trip, "source": source} | stretch.as_row()
        for stretch, (trip, source) in zip(stretches, sources, strict=True)
    ]
    frame = pd.DataFrame(rows, columns=list(empty))
    for column in ("time_in", "time_out"):
        frame[column] = pd.to_datetime(frame[column], unit="us", utc=True)
    return frame.astype(dtypes)
