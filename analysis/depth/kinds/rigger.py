"""Owns the rigger: a ball on a cable, the fishing line clipped along it."""

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
)
from analysis.depth.kinds.loads import dynamic_pressure, tow_along, untold_speeds
from analysis.depth.kinds.protocol import Parameter, Place, Refusal, Shifts
from analysis.depth.towline import Array, Tow
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

GRAVITY_M_S2 = 9.80665  # standard gravity
_BALL = "20 %: sphere 0.44-0.48 measured below Re 2e5, fins, clip and lure from memory"
_CABLE = "30 %: as a diver's line, and two lines side by side shade each other"


@dataclass(frozen=True, kw_only=True)
class Rigger:
    """A ball on a cable; the fishing line lies along the cable and adds its drag.

    A sphere below Re 2e5 has a drag coefficient of 0.44-0.48 (measured points: 0.4732 at
    Re 58 880, 0.4395 at 1.702e5). `counter_zero` tells where the cable counter reads zero.
    """

    kind: ClassVar[str] = "rigger"
    example: ClassVar[str] = (
        '[gear.rigger]\nkind = "rigger"\nball_mass_kg = 4.536\npulley_height_m = 1.2\n'
    )
    hangs_from: ClassVar[str] = "pulley"
    place: ClassVar[Place] = Place(order=1, tip_y_m=1.2, built_in=True, trail="lead_m")
    name: str = "rigger"
    ball_mass_kg: float = number(0.0, 100.0, "kg", "mass of the ball", 4.536, zero=False)
    ball_density_kg_m3: float = number(
        1000.0, 22_600.0, "kg/m3", "density of the ball", 11340.0, zero=False
    )
    ball_drag: float = number(0.0, 5.0, "-", "drag coefficient of the ball", 0.47)
    lure_drag_area_m2: float = area("drag area of leader and lure", 0.0005)
    cable_diameter_mm: float = diameter("diameter of the cable", 0.9)
    cable_weight_n_per_m: float = number(
        -0.5, 20.0, "N/m", "weight in water of a metre of cable", 0.0257
    )
    normal_drag: float = drag_across()
    tangential_drag: float = drag_along()
    clipped_line_diameter_mm: float = diameter(
        "diameter of the fishing line along the cable, 0 for none", 0.35, zero=True
    )
    clipped_normal_drag: float = number(0.0, 5.0, "-", "drag coefficient across that line", 1.2)
    clipped_tangential_drag: float = drag_along()
    pulley_height_m: float = number(0.0, 10.0, "m", "height of the pulley above the water", 1.2)
    counter_zero: str = described(
        "text", '"pulley" or "surface": where the ball is when the counter reads 0', "pulley"
    )
    reference: str = reference()

    def __post_init__(self) -> None:
        """Check ranges and the counter's zero, naming the key."""
        check_numbers(toml_key("gear", self.name), self)
        if self.counter_zero not in ("pulley", "surface"):
            raise GearError(
                problem=f"{self.counter_zero!r} is no place where a counter reads 0",
                key=toml_key("gear", self.name, "counter_zero"),
                remedy='write "pulley" or "surface", where the ball is when the counter reads 0',
            )

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table; see the protocol."""
        keys = known(toml_key("gear", name), given, cls, hidden="name")
        read_reference(name, keys)
        return cls(**{**keys, "name": name})

    @property
    def dial(self) -> tuple[float, ...]:
        """No dial."""
        return ()

    @property
    def closed(self) -> bool:
        """Its cable has weight: it is integrated."""
        return False

    def relevant(self, columns: Columns) -> Columns:
        """Blank dial, rod tip and leader: it hangs from its pulley."""
        blank = np.full(columns.size, np.nan)
        return replace(columns, setting=blank, tip_height_m=blank, leader_length_m=blank)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse nothing beyond what every line is refused for."""
        yield from ()

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the drag and weight of the ball, and of cable and line above it."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        volume = self.ball_mass_kg / self.ball_density_kg_m3
        ball_area = self.ball_drag * np.pi / 4.0 * (6.0 * volume / np.pi) ** (2.0 / 3.0)
        cable, line = self.cable_diameter_mm / 1000.0, self.clipped_line_diameter_mm / 1000.0
        normal = cable * self.normal_drag + line * self.clipped_normal_drag
        along = cable * self.tangential_drag + line * self.clipped_tangential_drag
        below_pulley = self.pulley_height_m if self.counter_zero == "surface" else 0.0
        tow = tow_along(
            columns,
            astern=q * (ball_area + self.lure_drag_area_m2) * np.exp(shifts.get("end_drag", 0.0)),
            down=(self.ball_mass_kg - water.density_kg_m3 * volume) * GRAVITY_M_S2,
            normal=q * normal * np.exp(shifts.get("line_drag", 0.0)),
            tangential=q * np.pi * along,
            weight=self.cable_weight_n_per_m,
        )
        return replace(
            tow,
            line_out_m=columns.line_out_m + below_pulley,
            height_m=np.full(columns.size, self.pulley_height_m),
        )

    def longest_m(self, spool_m: float) -> float:
        """Return what the drum holds."""
        return spool_m

    def parameters(self) -> tuple[Parameter, ...]:
        """Return the drag of the ball and of the cable.

        >>> [parameter.label for parameter in Rigger().parameters()]
        ['end drag', 'line drag']
        """
        return (
            Parameter(name="end_drag", sd=0.20, source=_BALL),
            Parameter(name="line_drag", sd=0.30, source=_CABLE),
        )

    def roll_rad(self, setting: Array) -> Array:
        """Return 0: it pulls straight."""
        return np.zeros(setting.size)

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say where all trials ran at one speed."""
        return untold_speeds(trials)

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the pulley's."""
        return self.pulley_height_m

    def thicker(self, factor: float) -> Self:
        """Return it on another cable."""
        return replace(self, cable_diameter_mm=factor * self.cable_diameter_mm)

    def raised(self, height_m: float) -> Self:
        """Return it with its pulley at another height."""
        return replace(self, pulley_height_m=height_m)
