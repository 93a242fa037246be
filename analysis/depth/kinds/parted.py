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
    diameter,
    drag_across,
    drag_along,
    known,
    number,
    read_reference,
    reference,
    table,
)
from analysis.depth.kinds.loads import dynamic_pressure, refuse_tips, tow_along, untold_speeds
from analysis.depth.kinds.protocol import Parameter, Place, Refusal, Shifts
from analysis.depth.limits import LEADER_LENGTH_M
from analysis.depth.towline import Array, Tow
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

LEADER = "leader"  # the part whose length a log may replace
_WEIGHT = "10 %: nominal weight of line and lumps, from memory"
_PARTS = "20 %: diameter under its coating 10 %, cylinder 0.98-1.2 in the handbook and vibration"
_LURE = "50 %: lures differ that much, from memory"


@dataclass(frozen=True, kw_only=True)
class Part:
    """One stretch of a line; the gear that holds it checks it and can name it.

    Only the last part, at the rod, may leave its length open. A lump sits at the part's upper
    end. A drag coefficient left out is the gear's.
    """

    name: str = described(
        "text", "name of the part; the length of a `leader` is replaced by the log's"
    )
    length_m: float | None = number(0.0, 10_000.0, "m", "length of the part", None, zero=False)
    diameter_mm: float = diameter("diameter of the part")
    weight_n_per_m: float = number(-0.5, 20.0, "N/m", "weight in water of a metre of line", 0.0)
    normal_drag: float | None = drag_across(None)
    tangential_drag: float | None = drag_along(None)
    lump_weight_n: float = number(-5.0, 200.0, "N", "weight in water of the lump", 0.0)
    lump_drag_area_m2: float = area("drag area (Cd times frontal area) of the lump", 0.0)


@dataclass(frozen=True, kw_only=True)
class PartedLine:
    """What a weighted and a flat line share: parts from the lure up to the rod."""

    kind: ClassVar[str]
    example: ClassVar[str]
    parts_example: ClassVar[str]
    """Parts as boat.toml takes them, for messages."""
    hangs_from: ClassVar[str] = "rod tip"
    place: ClassVar[Place] = Place(order=0, tip_y_m=0.8)
    name: str
    lure_drag_area_m2: float
    lure_weight_n: float = number(-5.0, 50.0, "N", "weight of the lure in water", 0.02)
    parts: tuple[Part, ...] = described(
        "list", "parts of the line from the lure up; line-out cuts the last one reached"
    )
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
                remedy=f"list the parts of the line from the lure up, such as {self.parts_example}",
            )
        for place, part in enumerate(self.parts):
            check_numbers(f"{where}.parts.{part.name}", part)
            if part.length_m is None and place < len(self.parts) - 1:
                raise GearError(
                    problem="the length is missing",
                    key=f"{where}.parts.{part.name}.length_m",
                    remedy="give its length in metres; only the last part may leave it open",
                )
        names = [part.name for part in self.parts]
        if len(set(names)) < len(names):
            raise GearError(
                problem=f"two parts share a name ({', '.join(names)})",
                key=f"{where}.parts",
                remedy="give each part a name of its own",
            )

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table; see the protocol."""
        where = toml_key("gear", name)
        keys = known(where, given, cls, hidden="name")
        read_reference(name, keys)
        parts = keys.get("parts", [])
        if not isinstance(parts, (list, tuple)):
            problem = f"{parts!r} is no list"
            raise GearError(problem, key=f"{where}.parts", remedy="write a list of parts")
        keys["parts"] = tuple(_part(f"{where}.parts", i, part) for i, part in enumerate(parts))
        return cls(**{**keys, "name": name})

    @property
    def dial(self) -> tuple[float, ...]:
        """No dial."""
        return ()

    @property
    def closed(self) -> bool:
        """It may have weights and several parts: it is integrated."""
        return False

    def relevant(self, columns: Columns) -> Columns:
        """Blank the dial, and the leader where no part is named so."""
        blank = np.full(columns.size, np.nan)
        if any(part.name == LEADER for part in self.parts):
            return replace(columns, setting=blank)
        return replace(columns, setting=blank, leader_length_m=blank)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a leader that cannot be, and more line than there is."""
        yield from refuse_tips(columns)
        leader, length = columns.leader_length_m, columns.line_out_m
        yield Refusal(leader < 0.0, "a leader of {:g} m; it cannot be negative", leader)
        yield Refusal(leader > LEADER_LENGTH_M.high, "a leader of {:g} m; check the unit", leader)
        if self.parts[-1].length_m is not None:
            total = self.part_lengths(columns).sum(axis=0)
            text = "a line-out of {:g} m is more than all parts of the line together"
            yield Refusal(length > total, text, length)

    def part_lengths(self, columns: Columns) -> Array:
        """Return the length of each part on each row, a logged leader replacing the gear's."""
        rows = []
        for part in self.parts:
            length = np.inf if part.length_m is None else part.length_m
            row = np.full(columns.size, length)
            if part.name == LEADER:
                row = np.where(np.isnan(columns.leader_length_m), row, columns.leader_length_m)
            rows.append(row)
        return np.array(rows)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return drag and weight of the lure, and of each part and lump."""

        def of_parts(values: list[float]) -> Array:
            return np.array(values)[:, None]

        q, parts = dynamic_pressure(columns, water.density_kg_m3), self.parts
        normal = [
            p.diameter_mm / 1000.0 * (self.normal_drag if p.normal_drag is None else p.normal_drag)
            for p in parts
        ]
        along = [
            p.diameter_mm
            / 1000.0
            * (self.tangential_drag if p.tangential_drag is None else p.tangential_drag)
            for p in parts
        ]
        heavier = np.exp(shifts.get("line_weight", 0.0))
        lump_drag = q * of_parts([p.lump_drag_area_m2 for p in parts])
        lump_weight = of_parts([p.lump_weight_n for p in parts]) * heavier
        tow = tow_along(
            columns,
            astern=q * self.lure_drag_area_m2 * np.exp(shifts.get("end_drag", 0.0)),
            down=self.lure_weight_n * np.exp(shifts.get("end_weight", 0.0)),
            normal=q * of_parts(normal) * np.exp(shifts.get("line_drag", 0.0)),
            tangential=q * np.pi * of_parts(along),
            weight=of_parts([p.weight_n_per_m for p in parts]) * heavier,
        )
        return replace(
            tow,
            top_m=np.cumsum(self.part_lengths(columns), axis=0),
            lump_n=np.stack(np.broadcast_arrays(lump_drag, lump_weight)),
        )

    def longest_m(self, spool_m: float) -> float:
        """Return the length of all parts, or what the spool holds of the open one."""
        lengths = [part.length_m for part in self.parts]
        return min(spool_m, sum(np.inf if length is None else length for length in lengths))

    def parameters(self) -> tuple[Parameter, ...]:
        """Return weight and drag of the line, drag and weight of the lure."""
        return (
            Parameter(name="line_weight", sd=0.10, source=_WEIGHT),
            Parameter(name="line_drag", sd=0.20, source=_PARTS),
            Parameter(name="end_drag", sd=0.50, source=_LURE),
            Parameter(name="end_weight", sd=0.50, source=_LURE),
        )

    def roll_rad(self, setting: Array) -> Array:
        """Return 0: it pulls straight."""
        return np.zeros(setting.size)

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

    def raised(self, height_m: float) -> Self:
        """Return it as it is: the rod tip is not its own."""
        return self


@dataclass(frozen=True, kw_only=True)
class WeightedLine(PartedLine):
    """A line that sinks by its own weight: lead core, copper, wire."""

    kind: ClassVar[str] = "weighted line"
    parts_example: ClassVar[str] = (
        'parts = [{ name = "leader", length_m = 6.0, diameter_mm = 0.30 }, '
        '{ name = "core", length_m = 45.72, diameter_mm = 0.85, weight_n_per_m = 0.0098 }, '
        '{ name = "backing", diameter_mm = 0.35 }]'
    )
    example: ClassVar[str] = f'[gear."lead core"]\nkind = "weighted line"\n{parts_example}\n'
    name: str = "weighted line"
    lure_drag_area_m2: float = area("drag area of the lure", 0.0003)

    def __post_init__(self) -> None:
        """Refuse a line without any weight: it would run near the surface, told as if sure."""
        super().__post_init__()
        if not any(part.weight_n_per_m > 0.0 or part.lump_weight_n > 0.0 for part in self.parts):
            raise GearError(
                problem="no part of this weighted line weighs anything in water",
                key=toml_key("gear", self.name, "parts"),
                remedy="give the sinking part its weight_n_per_m, such as "
                f'{self.parts_example}; for a plain line write kind = "flat line"',
            )


@dataclass(frozen=True, kw_only=True)
class FlatLine(PartedLine):
    """A plain line, with or without an inline weight (a lump at a part's upper end)."""

    kind: ClassVar[str] = "flat line"
    parts_example: ClassVar[str] = (
        'parts = [{ name = "leader", length_m = 2.0, diameter_mm = 0.30, lump_weight_n = 0.27, '
        'lump_drag_area_m2 = 0.0001 }, { name = "line", diameter_mm = 0.30 }]'
    )
    example: ClassVar[str] = f'[gear.flat]\nkind = "flat line"\n{parts_example}\n'
    name: str = "flat line"
    lure_drag_area_m2: float = area("drag area of the lure", 0.0002)


def _part(where: str, number: int, value: object) -> Part:
    given = table(f"{where}[{number}]", value)
    name = given.get("name")
    if not isinstance(name, str) or not name:
        raise GearError(
            problem="the part has no name",
            key=f"{where}[{number}].name",
            remedy='name the part, such as name = "leader"',
        )
    if "diameter_mm" not in given:
        raise GearError(
            problem="the diameter is missing",
            key=f"{where}.{name}.diameter_mm",
            remedy="give it in millimetres",
        )
    return Part(**known(f"{where}.{name}", given, Part))
