"""What a simulated boat is: its name, units, tackle and the text of its `boat.toml`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.scenario import FT
from data.tackle import TIP_HEIGHT_M, Tackle

Array = NDArray[np.float64]

FEET = {
    "length": "ft",
    "depth": "ft",
    "speed": "mph",
    "temperature": "F",
    "fish_length": "in",
    "fish_weight": "lb",
}
METRES = {
    "length": "m",
    "depth": "m",
    "speed": "km/h",
    "temperature": "C",
    "fish_length": "cm",
    "fish_weight": "kg",
}
LURES = (
    "Tin Lantern 4",
    "Pale Smelt",
    "Copper Vole",
    "Old Ladle",
    "Night Porridge",
    "Ragged Moth",
    "Blue Heel",
    "Glass Thimble 9",
)


@dataclass(frozen=True, kw_only=True)
class Boat:
    """A boat, its crew's units and habits of rounding, its tackle and lures.

    `counter_scale` gives true line per counter reading by rod; `headings` the crew's own
    column headings by table, as `{"strikes": {"Fish on": "time"}}`.
    """

    name: str = "Dunlin"
    club: str | None = "Ostermere Trolling Club"
    time_zone: str = "Europe/Oslo"
    units: dict[str, str] = field(default_factory=lambda: FEET)
    name_boat: bool = False
    counter_scale: dict[str, float] = field(default_factory=dict)
    headings: dict[str, dict[str, str]] = field(default_factory=dict)
    tackle: Tackle = field(default_factory=Tackle)
    lures: tuple[str, ...] = LURES
    areas: tuple[str, ...] = ("North Basin", "The Narrows", "Skerry Deep")

    @property
    def in_feet(self) -> bool:
        """Whether line is counted in feet."""
        return self.units["length"] == "ft"

    @property
    def line_step_m(self) -> float:
        """The steps in which line is let out: 5 ft or 2 m."""
        return 5 * FT if self.in_feet else 2.0

    @property
    def leaders_m(self) -> Array:
        """The leader lengths on board: 4 to 12 ft, or 1.2 to 3.6 m."""
        return np.arange(4.0, 12.1, 1.0) * FT if self.in_feet else np.arange(1.2, 3.61, 0.3)

    @property
    def leads_m(self) -> Array:
        """The lengths from ball to lure."""
        return np.array([10.0, 20, 30, 40, 60]) * FT if self.in_feet else np.arange(3.0, 19, 3.0)

    @property
    def cast_depths_m(self) -> Array:
        """The depths of a temperature cast, to 36 m or 120 ft."""
        return np.arange(0.0, 121, 5.0) * FT if self.in_feet else np.arange(0.0, 37, 1.5)

    def line_scale(self) -> Array:
        """Return true line per counter reading of each rod."""
        return np.array([self.counter_scale.get(rod.rod, 1.0) for rod in self.tackle.rods])

    def toml(self) -> str:
        """Return the text of `boat.toml`."""
        head = [f'boat = "{self.name}"']
        if self.club:
            head.append(f'club = "{self.club}"')
        head += [f'time_zone = "{self.time_zone}"', "", "[units]"]
        head += [f'{k} = "{v}"' for k, v in self.units.items()]
        head += ["", "[rods]", f"tip_height_m = {TIP_HEIGHT_M}"]
        if self.counter_scale:
            head.append(f"counter_scale = {_toml(self.counter_scale)}")
        head += ["", "[sharing]", f"name_boat = {str(self.name_boat).lower()}"]
        for table, names in self.headings.items():
            head += ["", f"[columns.{table}]", *(f'"{k}" = "{v}"' for k, v in names.items())]
        for name, gear in self.tackle.written.items():
            head += ["", f"[gear.{name}]", *(f"{k} = {_toml(v)}" for k, v in gear.items())]
        return "\n".join(head) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        inner = (f"{k if k.isidentifier() else _toml(k)} = {_toml(v)}" for k, v in value.items())
        return "{ " + ", ".join(inner) + " }"
    if isinstance(value, list):
        return "[\n" + "".join(f"  {_toml(v)},\n" for v in value) + "]"
    return str(value)
