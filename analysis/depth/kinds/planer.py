"""Owns the in-line planer: a board on the surface that carries a line to the side.

What it tows hangs from the board as from a rod tip at the surface. The board's own pull to the side
and astern and that of what it tows make the angle at which the line to the boat lies; that line is
straight, in the air (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Self

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.fields import (
    area,
    check_numbers,
    known,
    number,
    read_reference,
    reference,
    table,
)
from analysis.depth.kinds.diver import Diver
from analysis.depth.kinds.loads import dynamic_pressure, refuse_tips
from analysis.depth.kinds.parted import FlatLine, WeightedLine
from analysis.depth.kinds.protocol import Parameter, Place, Refusal, Shifts
from analysis.depth.march import Array, Tow
from analysis.depth.towline import Towed
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

Behind = Diver | WeightedLine | FlatLine
_BEHIND: Mapping[str, type[Behind]] = {kind.kind: kind for kind in (Diver, WeightedLine, FlatLine)}
_REMEDY = 'describe it in a table [gear.NAME.behind] with kind = "flat line" and its parts, or '
_REMEDY += '"weighted line" or "diver"'
_SIDE = "30 %: boards differ, and so does how they are trimmed (from memory)"


@dataclass(frozen=True, kw_only=True)
class Planer:
    """A board on the surface, with a diver, a weighted or a flat line behind it.

    `line_out` is the line behind the board, `to_planer_m` that from the rod tip to it.
    """

    kind: ClassVar[str] = "planer"
    example: ClassVar[str] = (
        '[gear.board]\nkind = "planer"\nto_planer = "80 ft"\n'
        '[gear.board.behind]\nkind = "weighted line"\ncore = "27 lb lead core"\n'
    )
    hangs_from: ClassVar[str] = "planer"
    why_lost: ClassVar[str] = "the planer is pulled under by what it carries"
    place: ClassVar[Place] = Place(order=3, tip_y_m=3.5)
    name: str = "planer"
    behind: Behind = field(
        metadata={"unit": "table", "meaning": "what it carries: its kind and the keys of that kind"}
    )
    to_planer_m: float = number(0.0, 200.0, "m", "line from the rod tip to the board", 25.0)
    side_area_m2: float = area("area of the board's pull to the side", 0.008)
    drag_area_m2: float = area("drag area of the board", 0.004)
    buoyancy_n: float = number(0.0, 200.0, "N", "what the board carries before it goes under", 12.0)
    reference: str = reference()

    def __post_init__(self) -> None:
        """Check ranges, naming the key."""
        check_numbers(toml_key("gear", self.name), self)

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it, and what it carries, from its table; see the protocol."""
        where = toml_key("gear", name)
        keys = known(where, given, cls, hidden="name")
        read_reference(name, keys)
        if "behind" not in keys:
            problem = "a planer without a line behind it"
            raise GearError(problem=problem, key=f"{where}.behind", remedy=_REMEDY)
        behind = dict(table(f"{where}.behind", keys["behind"]))
        kind = behind.pop("kind", None)
        if not isinstance(kind, str) or kind not in _BEHIND:
            problem = f"{kind!r} is nothing that a planer carries"
            raise GearError(problem=problem, key=f"{where}.behind.kind", remedy=_REMEDY)
        keys["behind"] = _BEHIND[kind].from_toml(f"{name}.behind", behind)
        return cls(**{**keys, "name": name})

    @property
    def dial(self) -> tuple[float, ...]:
        """The dial of what it carries."""
        return self.behind.dial

    @property
    def closed(self) -> bool:
        """Whether the fast form serves what it carries."""
        return self.behind.closed

    @property
    def lure_drag_area_m2(self) -> float:
        """Drag area of the lure that it carries."""
        return self.behind.lure_drag_area_m2

    def relevant(self, columns: Columns) -> Columns:
        """Blank what does not matter to the line behind it."""
        return self.behind.relevant(columns)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a board that hangs from the rod, and what the line behind it refuses."""
        yield from refuse_tips(columns)
        hangs = (self.to_planer_m > 0.0) & (self.to_planer_m <= columns.tip_height_m)
        text = (
            f"{self.to_planer_m:g} m of line to the planer do not reach the water from a rod tip "
        )
        yield Refusal(np.asarray(hangs), text + "at {:g} m", columns.tip_height_m)
        yield from self.behind.refusals(_at_surface(columns))

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the loads of the line behind it, which hangs from the surface."""
        return self.behind.tow(_at_surface(columns), water, shifts)

    def held(self, towed: Towed, columns: Columns, water: Water, shifts: Shifts) -> Towed:
        """Return the line carried to where the board runs; no answer where it is pulled under."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        astern = towed.top_n[0] + q * self.drag_area_m2
        side = towed.top_n[1] + q * self.side_area_m2 * np.exp(shifts.get("planer_side", 0.0))
        level = np.hypot(astern, side)
        height = np.minimum(columns.tip_height_m, self.to_planer_m)
        run = np.sqrt(self.to_planer_m**2 - height**2)
        with np.errstate(divide="ignore", invalid="ignore"):
            lifted = np.where(run > 0.0, level * height / run, 0.0)
        under = towed.top_n[2] - lifted > self.buoyancy_n
        carry = np.stack([run * astern / level, run * side / level, height])
        floats = np.where(under, np.nan, 1.0)
        return replace(
            towed,
            depth_m=towed.depth_m * floats,
            lateral_m=(towed.lateral_m + carry[1]) * floats,
            setback_m=(towed.setback_m + carry[0]) * floats,
            pull_n=np.where(run > 0.0, np.hypot(level, lifted), towed.pull_n) * floats,
            carry_m=carry,
        )

    def longest_m(self, spool_m: float) -> float:
        """Return the most line behind the board."""
        return self.behind.longest_m(spool_m)

    def parameters(self) -> tuple[Parameter, ...]:
        """Return those of what it carries, and the board's pull to the side."""
        return (*self.behind.parameters(), Parameter(name="planer_side", sd=0.30, source=_SIDE))

    def roll_rad(self, setting: Array) -> Array:
        """Return the roll of what it carries."""
        return self.behind.roll_rad(setting)

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say what trials cannot tell of the line behind it."""
        return self.behind.untold(trials, uses)

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the rod tip's."""
        return tip_height_m

    def thicker(self, factor: float) -> Self:
        """Return it with other line behind it."""
        return replace(self, behind=self.behind.thicker(factor))

    def with_lure_drag(self, area_m2: float) -> Self:
        """Return it with another lure."""
        return replace(self, behind=self.behind.with_lure_drag(area_m2))

    def raised(self, height_m: float) -> Self:
        """Return it as it is: the rod tip is not its own."""
        return self


def _at_surface(columns: Columns) -> Columns:
    """Return the rows as towed from the board."""
    return replace(columns, tip_height_m=np.zeros(columns.size))
