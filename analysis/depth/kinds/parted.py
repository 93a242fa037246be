"""Owns lines of several parts: a weighted line sinks by itself, a flat line by a weight at most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Self

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.fields import (
    area,
    check_numbers,
    described,
    drag_across,
    drag_along,
    known,
    number,
    read_reference,
    reference,
)
from analysis.depth.kinds.loads import (
    dynamic_pressure,
    lure_force,
    refuse_tips,
    tow_along,
    untold_speeds,
)
from analysis.depth.kinds.parts import (
    LEADER,
    Clip,
    Part,
    check_line,
    clips_from_toml,
    line_loads,
    part_lengths,
    parts_from_toml,
    refuse_line,
)
from analysis.depth.kinds.protocol import NoDial, Parameter, Place, Refusal, Shifts
from analysis.depth.limits import LEADER_LENGTH_M
from analysis.depth.march import Tow
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

_WEIGHT = "10 %: nominal weight of line and lumps, from memory"
_PARTS = "20 %: diameter under its coating 10 %, cylinder 0.98-1.2 in the handbook and vibration"
_LURE = "50 %: lures differ that much, from memory"
COLOUR_M = 9.144
"""One colour of lead core: 10 yards (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class PartedLine(NoDial):
    """What a weighted and a flat line share: parts from the lure up to the rod."""

    kind: ClassVar[str]
    example: ClassVar[str]
    line_example: ClassVar[str]
    """What the line is made of as boat.toml takes it, for messages."""
    hangs_from: ClassVar[str] = "rod tip"
    place: ClassVar[Place] = Place(order=0, tip_y_m=0.8)
    name: str
    lure_drag_area_m2: float
    lure_weight_n: float = number(-5.0, 50.0, "N", "weight of the lure in water", 0.02)
    parts: tuple[Part, ...] = described(
        "list", "parts of the line from the lure up; line-out cuts the last one reached"
    )
    clipped: tuple[Clip, ...] = described("list", "weights clipped onto the line", ())
    normal_drag: float = drag_across()
    tangential_drag: float = drag_along()
    reference: str = reference()

    def __post_init__(self) -> None:
        """Check the line and each of its parts, naming the key."""
        where = toml_key("gear", self.name)
        check_numbers(where, self)
        if not self.parts:
            raise GearError(
                problem="the line has no parts",
                key=f"{where}.parts",
                remedy=f"say what the line is made of, such as {self.line_example}",
            )
        check_line(where, self.parts, self.clipped)

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table; see the protocol."""
        where = toml_key("gear", name)
        keys = known(where, cls.spelt_out(where, given), cls, hidden="name")
        read_reference(name, keys)
        keys["parts"] = parts_from_toml(f"{where}.parts", keys.get("parts", []))
        keys["clipped"] = clips_from_toml(f"{where}.clipped", keys.get("clipped", []))
        return cls(**{**keys, "name": name})

    @classmethod
    def spelt_out(cls, where: str, given: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return the table with shorthands written as parts."""
        return given

    def relevant(self, columns: Columns) -> Columns:
        """Blank the dial and the lead, and the leader where no part is named so."""
        columns = columns.without("setting", "lead_m")
        if any(part.name == LEADER for part in self.parts):
            return columns
        return columns.without("leader_length_m")

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a leader that cannot be, and more line than there is."""
        yield from refuse_tips(columns)
        leader = columns.leader_length_m
        yield Refusal(leader < 0.0, "a leader of {:g} m; it cannot be negative", leader)
        yield Refusal(leader > LEADER_LENGTH_M.high, "a leader of {:g} m; check the unit", leader)
        yield from refuse_line(self.parts, self.clipped, columns)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return drag, weight and lift of the lure, and the loads of each part and weight."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        line = line_loads(
            self.parts,
            self.clipped,
            part_lengths(self.parts, columns),
            q,
            normal_drag=self.normal_drag,
            tangential_drag=self.tangential_drag,
            drags_more=np.exp(shifts.get("line_drag", 0.0)),
            heavier=np.exp(shifts.get("line_weight", 0.0)),
        )
        astern, side, down = lure_force(
            columns,
            q,
            self.lure_drag_area_m2,
            self.lure_weight_n * np.exp(shifts.get("end_weight", 0.0)),
        )
        tow = tow_along(
            columns,
            astern=astern * np.exp(shifts.get("end_drag", 0.0)),
            side=side,
            down=down,
            normal=line.normal_n_per_m,
            tangential=line.tangential_n_per_m,
            weight=line.weight_n_per_m,
        )
        return replace(tow, top_m=line.top_m, lump_n=line.lump_n)

    def longest_m(self, spool_m: float) -> float:
        """Return the length of all parts, or what the spool holds of the open one."""
        lengths = [part.length_m for part in self.parts]
        return min(spool_m, sum(np.inf if length is None else length for length in lengths))

    def parameters(self) -> tuple[Parameter, ...]:
        """Return weight and drag of the line, drag and weight of the lure."""
        weight = float(np.hypot(0.10, max(part.weight_doubt for part in self.parts)))
        drag = float(np.hypot(0.20, max(part.diameter_doubt for part in self.parts)))
        return (
            Parameter(name="line_weight", sd=weight, source=_WEIGHT),
            Parameter(name="line_drag", sd=drag, source=_PARTS),
            Parameter(name="end_drag", sd=0.50, source=_LURE),
            Parameter(name="end_weight", sd=0.50, source=_LURE),
        )

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say where all trials ran at one speed."""
        return untold_speeds(trials)

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the rod tip's."""
        return tip_height_m

    def thicker(self, factor: float) -> Self:
        """Return it with all parts of another diameter."""
        parts = [replace(part, diameter_mm=factor * part.diameter_mm) for part in self.parts]
        return replace(self, parts=tuple(parts))

    def with_lure_drag(self, area_m2: float) -> Self:
        """Return it with another lure."""
        return replace(self, lure_drag_area_m2=area_m2)

    def raised(self, height_m: float) -> Self:
        """Return it as it is: the rod tip is not its own."""
        return self


@dataclass(frozen=True, kw_only=True)
class WeightedLine(PartedLine):
    """A line that sinks by its own weight: lead core, copper, wire."""

    kind: ClassVar[str] = "weighted line"
    line_example: ClassVar[str] = 'core = "27 lb lead core"'
    example: ClassVar[str] = (
        '[gear."lead core"]\nkind = "weighted line"\n'
        'parts = [{ name = "leader", length_m = 6.0, diameter_mm = 0.30 }, '
        '{ name = "core", length_m = 45.72, diameter_mm = 0.85, weight_n_per_m = 0.0098 }, '
        '{ name = "backing", diameter_mm = 0.35 }]\n'
    )
    name: str = "weighted line"
    lure_drag_area_m2: float = area("drag area of the lure", 0.0003)

    @classmethod
    def spelt_out(cls, where: str, given: Mapping[str, Any]) -> Mapping[str, Any]:
        """Write `core`, `colours`, `leader` and `backing` as parts."""
        if "core" not in given:
            return given
        keys = dict(given)
        if "parts" in keys:
            raise GearError(
                problem="core and parts say the same twice",
                key=f"{where}.core",
                remedy="keep one of the two",
            )
        colours = keys.pop("colours", 10)
        if isinstance(colours, bool) or not isinstance(colours, (int, float)) or colours <= 0:
            raise GearError(
                problem=f"{colours!r} is no number of colours",
                key=f"{where}.colours",
                remedy="write how many colours of 10 yards there are on the spool, such as 10",
            )
        leader = {"name": LEADER, "line": keys.pop("leader", "15 lb mono")}
        core = {"name": "core", "line": keys.pop("core"), "length_m": colours * COLOUR_M}
        keys["parts"] = [
            {**leader, "length": keys.pop("leader_length", "20 ft")},
            core,
            {"name": "backing", "line": keys.pop("backing", "30 lb braid")},
        ]
        return keys

    def __post_init__(self) -> None:
        """Refuse a line without any weight: it would run near the surface, told as if sure."""
        super().__post_init__()
        if not any(part.weight_n_per_m > 0.0 or part.lump_weight_n > 0.0 for part in self.parts):
            raise GearError(
                problem="no part of this weighted line weighs anything in water",
                key=toml_key("gear", self.name, "parts"),
                remedy="give the sinking part its weight_n_per_m, or say what the line is by its "
                f'label, such as {self.line_example}; for a plain line write kind = "flat line"',
            )


@dataclass(frozen=True, kw_only=True)
class FlatLine(PartedLine):
    """A plain line, with or without an inline weight (a lump at a part's upper end)."""

    kind: ClassVar[str] = "flat line"
    line_example: ClassVar[str] = (
        'parts = [{ name = "leader", length = "6 ft", line = "10 lb mono", lump_weight = "1 oz" }, '
        '{ name = "line", line = "10 lb mono" }]'
    )
    example: ClassVar[str] = (
        '[gear.flat]\nkind = "flat line"\n'
        'parts = [{ name = "leader", length_m = 2.0, diameter_mm = 0.30, lump_weight_n = 0.27, '
        'lump_drag_area_m2 = 0.0001 }, { name = "line", diameter_mm = 0.30 }]\n'
    )
    name: str = "flat line"
    lure_drag_area_m2: float = area("drag area of the lure", 0.0002)
