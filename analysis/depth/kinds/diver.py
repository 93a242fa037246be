"""Owns the diver: a disc that its dial tilts, and that pulls its line down and to the side."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Self

import numpy as np

from analysis import labels
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
from analysis.depth.kinds.loads import dynamic_pressure, refuse_tips, tow_along
from analysis.depth.kinds.protocol import Parameter, Place, Refusal, Shifts
from analysis.depth.towline import Array, Tow
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

DIAL_LIMIT_DEG = 89.0
PULL_ANGLES_RAD = (np.radians(2.0), np.radians(88.0))  # what a shift may turn a pull to
_ANGLE = np.radians(10.0)
_PULL = "10 degrees: no disc was measured; the lift/drag of a low-aspect plate spans about this"
_K = "30 %: disc size, line diameter and drag coefficient together, none of them measured"
_ROLL = "10 degrees: the tilt behind a dial number is not published and differs between discs"


@dataclass(frozen=True, kw_only=True)
class Diver:
    """A diving disc on a thin line, pulled down and, by its dial, to the side.

    `roll_deg` maps dial settings to the tilt of the plane in which the disc pulls, as sorted
    pairs; between two settings the roll is interpolated. A low-aspect plate at a steep angle
    has a lift/drag ratio of 1.5-2.4 (from memory); a 0.30 mm line across the flow at 1.1 m/s
    has a Reynolds number of 250, where a cylinder's drag coefficient is about 1.2.
    """

    kind: ClassVar[str] = "diver"
    example: ClassVar[str] = (
        '[gear.diver]\nkind = "diver"\n'
        'roll_deg = { "0" = 0.0, "1" = 20.5, "2" = 38.5, "3" = 47.0 }\n'
        "line_diameter_mm = 0.30\n"
    )
    hangs_from: ClassVar[str] = "rod tip"
    place: ClassVar[Place] = Place(order=2, tip_y_m=2.0, planes=True, trail="leader_length_m")
    name: str = "diver"
    lift_area_m2: float = area("lift area of the disc", 0.00625, zero=False)
    drag_area_m2: float = area("drag area of the disc", 0.0045)
    lure_drag_area_m2: float = area("drag area of leader and lure", 0.0005)
    weight_n: float = number(-5.0, 100.0, "N", "weight of the disc in water", 0.15)
    roll_deg: tuple[tuple[float, float], ...] = described(
        "degrees",
        "tilt of the plane in which the disc pulls, by dial setting; between two settings it is "
        "interpolated, a setting beyond them is an error",
        ((0.0, 0.0), (1.0, 20.5), (2.0, 38.5), (3.0, 47.0)),
    )
    line_diameter_mm: float = diameter("diameter of the line", 0.30)
    normal_drag: float = drag_across()
    tangential_drag: float = drag_along()
    line_weight_n_per_m: float = number(
        -0.5, 20.0, "N/m", "weight in water of a metre of line", 0.0
    )
    reference: str = reference()

    @property
    def dial(self) -> tuple[float, ...]:
        """The settings that are marked on the dial, from the lowest."""
        return tuple(setting for setting, _ in self.roll_deg)

    def __post_init__(self) -> None:
        """Check ranges and the dial, naming the key."""
        where = toml_key("gear", self.name)
        check_numbers(where, self)
        if len(self.roll_deg) < 2:
            raise GearError(
                problem=f"the dial has {labels.count(len(self.roll_deg), 'setting')}",
                key=f"{where}.roll_deg",
                remedy="a dial needs at least two settings to interpolate between; "
                'for a disc without a dial write roll_deg = { "0" = 0.0, "1" = 0.0 }',
            )
        for setting, roll in self.roll_deg:
            if not 0.0 <= roll <= DIAL_LIMIT_DEG:
                raise GearError(
                    problem=f"a roll of {roll:g} degrees",
                    key=f"{where}.roll_deg.{setting:g}",
                    remedy=f"a roll lies from 0 to {DIAL_LIMIT_DEG:g} degrees; "
                    "port and starboard are the table's `side`, not a sign",
                )
        settings = [setting for setting, _ in self.roll_deg]
        if settings != sorted(set(settings)):
            raise GearError(
                problem=f"the settings {settings} are not in rising order",
                key=f"{where}.roll_deg",
                remedy="give every dial setting once, from the lowest to the highest",
            )

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table; see the protocol."""
        where = toml_key("gear", name)
        keys = known(where, given, cls, hidden="name")
        read_reference(name, keys)
        if "roll_deg" in keys:
            keys["roll_deg"] = _dial(f"{where}.roll_deg", keys["roll_deg"])
        return cls(**{**keys, "name": name})

    @property
    def closed(self) -> bool:
        """Whether the fast form serves it: on weightless line."""
        return self.line_weight_n_per_m == 0.0

    def relevant(self, columns: Columns) -> Columns:
        """Blank the leader, which trails behind and moves nothing."""
        return replace(columns, leader_length_m=np.full(columns.size, np.nan))

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a setting that is missing or off the dial."""
        yield from refuse_tips(columns)
        low, high, setting = self.dial[0], self.dial[-1], columns.setting
        yield Refusal(np.isnan(setting), "no dial setting")
        off = (setting < low) | (setting > high)
        yield Refusal(off, f"setting {{:g}} is off the dial ({low:g} to {high:g})", setting)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the pull of the disc, turned by its roll, and the drag of its line."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        lift, drag = self.lift_area_m2, self.drag_area_m2 + self.lure_drag_area_m2
        own = np.arctan2(lift, drag)
        low, high = PULL_ANGLES_RAD
        turned = own + shifts.get("pull_angle", 0.0)
        angle = np.clip(turned, min(low, own), max(high, own))
        roll = self.roll_rad(columns.setting) + self._roll_shift(columns.setting, shifts)
        pull = np.hypot(lift, drag) * q
        line_m = self.line_diameter_mm / 1000.0
        return tow_along(
            columns,
            astern=pull * np.cos(angle),
            side=pull * np.sin(angle) * np.sin(roll),
            down=pull * np.sin(angle) * np.cos(roll) + self.weight_n,
            normal=q * line_m * self.normal_drag * np.exp(shifts.get("line_drag", 0.0)),
            tangential=q * np.pi * line_m * self.tangential_drag,
            weight=self.line_weight_n_per_m,
        )

    def longest_m(self, spool_m: float) -> float:
        """Return what the spool holds."""
        return spool_m

    def parameters(self) -> tuple[Parameter, ...]:
        """Return pull angle, line drag and the roll of each tilted mark of the dial.

        A setting whose roll is 0 pulls straight by symmetry and keeps it.
        """
        return (
            Parameter(name="pull_angle", sd=_ANGLE, source=_PULL, is_angle=True),
            Parameter(name="line_drag", sd=0.30, source=_K),
            *(
                Parameter(name="roll", sd=_ANGLE, source=_ROLL, setting=setting, is_angle=True)
                for setting, roll in self.roll_deg
                if roll > 0.0
            ),
        )

    def roll_rad(self, setting: Array) -> Array:
        """Return the roll at dial settings, interpolated; NaN off the dial.

        >>> np.degrees(Diver().roll_rad(np.array([1.0, 2.5, 4.0])))
        array([20.5 , 42.75,   nan])
        """
        settings, rolls = np.array(self.roll_deg).T
        roll = np.interp(setting, settings, rolls, left=np.nan, right=np.nan)
        return np.asarray(np.radians(roll))

    def roll_shares(self, setting: Array) -> Array:
        """Return (rows, rolls): how much each tilted mark's own roll counts.

        >>> Diver().roll_shares(np.array([0.5, 2.5]))
        array([[0.5, 0. , 0. ],
               [0. , 0.5, 0.5]])
        """
        shares = [
            np.interp(setting, self.dial, np.eye(len(self.dial))[place])
            for place, (_, roll) in enumerate(self.roll_deg)
            if roll > 0.0
        ]
        return np.stack(shares, axis=1) if shares else np.zeros((setting.size, 0))

    def _roll_shift(self, setting: Array, shifts: Shifts) -> Array:
        """Return how far the roll departs from its own, between two marks by their shares."""
        rolls = (parameter for parameter in self.parameters() if parameter.setting is not None)
        moved = [np.broadcast_to(shifts.get(roll.key, 0.0), setting.shape) for roll in rolls]
        shares = self.roll_shares(setting)
        return np.asarray(sum((s * m for s, m in zip(shares.T, moved, strict=True)), 0.0 * setting))

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say what the trials cannot tell about the roll, at settings that are fished."""
        notes = []
        straight = [setting for setting, roll in self.roll_deg if roll == 0.0]
        if straight and not np.any(self.roll_rad(trials.setting) == 0.0):
            notes.append(
                f"setting {straight[0]:g} was never tried: depth gives only ratios of rolls, so "
                "the roll stays at its prior, and with it how far to the side the lines run"
            )
        tried = self.roll_shares(trials.setting).sum(axis=0) > 0.0
        fished = self.roll_shares(uses.setting).sum(axis=0) > 0.0
        tilted = [setting for setting, roll in self.roll_deg if roll > 0.0]
        missing = [
            f"{setting:g}"
            for setting, was, wanted in zip(tilted, tried, fished, strict=True)
            if wanted and not was
        ]
        if missing:
            notes.append(
                f"never tried: setting {', '.join(missing)}; the roll there stays at its prior"
            )
        return notes

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the rod tip's."""
        return tip_height_m

    def thicker(self, factor: float) -> Self:
        """Return it on another line."""
        return replace(self, line_diameter_mm=factor * self.line_diameter_mm)

    def raised(self, height_m: float) -> Self:
        """Return it as it is: the rod tip is not its own."""
        return self


def _dial(where: str, value: object) -> tuple[tuple[float, float], ...]:
    """Turn `{ "0" = 0.0, "1" = 20.5 }` into sorted pairs of numbers."""
    pairs = []
    for setting, roll in table(where, value).items():
        try:
            number = float(setting)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise GearError(
                problem=f"{setting!r} is no dial setting",
                key=f"{where}.{setting}",
                remedy="a dial setting is a number",
            )
        if isinstance(roll, bool) or not isinstance(roll, (int, float)):
            problem = f"{roll!r} is no number"
            raise GearError(problem, key=f"{where}.{setting}", remedy="give the roll in degrees")
        pairs.append((number, float(roll)))
    return tuple(sorted(pairs))
