"""Owns one rod through one trip: what it fished from when to when, as its events happen."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from analysis.depth.kinds import Gear

COLUMNS = ("side", "gear", "setting", "line_out_m", "lead_m", "leader_length_m", "lure")
"""What a change may change."""
_HEADING = {"line_out_m": "line_out"}

Tackle = Mapping[str, object]


@dataclass(frozen=True, kw_only=True)
class State:
    """What a rod fishes, and the row that says so."""

    tackle: Tackle
    table: str
    line: int


@dataclass(frozen=True, kw_only=True)
class Change:
    """One change of one rod; ``what`` is ``in``, ``out``, empty, or ``lost``: not readable.

    Times are microseconds since 1970 UTC.
    """

    time: int
    what: str
    tackle: Tackle
    ended_by: str
    line: int

    def at(self, scale: float) -> Change:
        """Return the change with its line-out as true line of a rod whose counter reads so."""
        if "line_out_m" not in self.tackle or scale == 1.0:
            return self
        read = self.tackle["line_out_m"]
        assert isinstance(read, float)
        return replace(self, tackle={**self.tackle, "line_out_m": read * scale})

    def lost(self) -> Change:
        """Return it as a change that nobody can read."""
        return replace(self, what="lost", tackle={})


@dataclass(frozen=True, kw_only=True)
class Strike:
    """A strike, with what its own columns say of the rod."""

    rod: str
    time: int
    tackle: Tackle
    line: int


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A stretch that a rod fished unchanged."""

    rod: str
    state: State
    time_in: int
    time_out: int
    ended_by: str

    def as_row(self) -> dict[str, object]:
        """Return it with the columns of clean sets."""
        return {
            "rod": self.rod,
            "time_in": self.time_in,
            "time_out": self.time_out,
            "ended_by": self.ended_by,
            "table": self.state.table,
            "line": self.state.line,
            **self.state.tackle,
        }


@dataclass(kw_only=True)
class Rod:
    """One rod of one trip.

    Parameters
    ----------
    name : str
        Its label.
    start : int
        The trip's start.
    gears : mapping
        Name of a gear -> gear.
    reset : int
        From a strike until the rod fishes again, in microseconds.
    move : int
        From a change until the rod fishes again.
    """

    name: str
    start: int
    gears: Mapping[str, Gear]
    reset: int
    move: int = 0
    state: State | None = None
    fishes_from: int | None = None
    """From when it fishes; later than the event at hand where a habit says so, None when out."""
    recorded: int | None = None
    """Time of the last event that was written down."""
    stretches: list[Stretch] = field(default_factory=list)

    def plan(self, time: int) -> None:
        """Let the rod go in at a time that follows from a habit."""
        self.fishes_from = time

    def is_down(self, time: int) -> bool:
        """Whether the rod fishes before a time."""
        return self.fishes_from is not None and self.fishes_from < time

    def strike(self, strike: Strike) -> None:
        """End the set; the rod is back as before after the reset.

        A strike on a rod that a habit still has out of the water shows that it went in sooner:
        half-way between the last event and the strike.
        """
        if self.state is None or self.fishes_from is None:
            return
        if self.fishes_from > strike.time:
            last = self.start if self.recorded is None else self.recorded
            self.fishes_from = last + (strike.time - last) // 2
        if self._differs(strike.tackle):
            # nobody wrote when it was changed: half-way
            middle = self.fishes_from + (strike.time - self.fishes_from) // 2
            self._end(middle, "")
            values = {**self.state.tackle, **strike.tackle}
            if self._lacking(values):
                # it fished something, but nobody knows what: neither hours nor strike count
                self._forget()
                return
            self.state = State(tackle=self._of_gear(values), table="strikes", line=strike.line)
            self.fishes_from = middle
        self._end(strike.time, "strike")
        self.fishes_from = strike.time + self.reset
        self.recorded = strike.time

    def change(self, change: Change) -> str:
        """Let a change happen; return the column that it lacks, empty where it can be used."""
        if change.what == "lost":
            self._take_out(change)
            self._forget()
            return ""
        before = self.state.tackle if self.state is not None else {}
        values = {**before, **change.tackle}
        differs = self._of_gear(values) != self._of_gear(before)
        state = self.state
        if differs or state is None:
            state = State(tackle=values, table="changes", line=change.line)
        if change.what == "out":
            self._take_out(change)
            self.state = state
            return ""
        if lacking := self._lacking(values):
            self.change(change.lost())
            return lacking
        if self.fishes_from is None:
            self.fishes_from = change.time
        elif self.fishes_from > change.time:
            # at the start, or with the strike: what goes in, not when
            if change.what == "in" or change.time != (self.recorded or self.start):
                self.fishes_from = change.time
        elif differs or change.ended_by:
            self._end(change.time, change.ended_by or "moved")
            self.fishes_from = change.time + self.move
        self.state = state
        if change.time > self.start:
            self.recorded = change.time
        return ""

    def come_out(self, time: int, end: int) -> None:
        """Take the rod out at a time that follows from a habit; at the end if a record is later."""
        if self.fishes_from is None:
            return
        late = self.recorded is not None and self.recorded > time
        self._end(end if late else time, "end")
        self.fishes_from = None

    def _take_out(self, change: Change) -> None:
        self._end(change.time, change.ended_by)
        self.fishes_from = None
        self.recorded = change.time

    def _forget(self) -> None:
        """Take for unknown what the rod fishes, until a change says it anew."""
        self.fishes_from = None
        if self.state is not None:
            unknown = {"gear", "setting", "line_out_m"}
            kept = {key: value for key, value in self.state.tackle.items() if key not in unknown}
            self.state = replace(self.state, tackle=kept)

    def _end(self, time: int, ended_by: str) -> None:
        """End the stretch under way; one that never began, or lasted no time, is none."""
        if self.state is None or self.fishes_from is None or self.fishes_from >= time:
            return
        fished = replace(self.state, tackle=self._of_gear(self.state.tackle))
        self.stretches.append(
            Stretch(
                rod=self.name,
                state=fished,
                time_in=self.fishes_from,
                time_out=time,
                ended_by=ended_by,
            )
        )

    def _of_gear(self, values: Tackle) -> Tackle:
        """Return only what a rod's gear has: a setting if it has a dial, a lead if one trails."""
        gear = self.gears.get(str(values.get("gear", "")))
        foreign = {"setting"} if gear is None or not gear.dial else set()
        foreign |= {"lead_m"} if gear is None or gear.place.trail != "lead_m" else set()
        return {key: value for key, value in values.items() if key not in foreign}

    def _lacking(self, values: Tackle) -> str:
        """Return the column without which the rod's depth cannot be known."""
        needed = ["gear", "line_out_m"]
        gear = self.gears.get(str(values.get("gear", "")))
        if gear is not None and gear.dial:
            needed.insert(1, "setting")
        missing = [name for name in needed if name not in values]
        return _HEADING.get(missing[0], missing[0]) if missing else ""

    def _differs(self, told: Tackle) -> bool:
        """Whether a strike tells of something else than the rod is recorded to fish."""
        state = self._of_gear(self.state.tackle) if self.state is not None else {}
        return any(name in state and not _same(state[name], value) for name, value in told.items())


def _same(one: object, other: object) -> bool:
    """Compare as written: texts but for capitals, numbers but for the rounding of a conversion."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9)
    return str(one).casefold() == str(other).casefold()
