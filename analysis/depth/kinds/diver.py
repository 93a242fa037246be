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
    doubt_of,
    drag_across,
    drag_along,
    known,
    number,
    read_reference,
    reference,
    table,
)
from analysis.depth.kinds.loads import (
    Leader,
    dynamic_pressure,
    lure_behind,
    refuse_tips,
    tow_along,
    untold_speeds,
)
from analysis.depth.kinds.parts import (
    Clip,
    Part,
    check_line,
    clips_from_toml,
    line_loads,
    part_lengths,
    parts_from_toml,
    refuse_line,
)
from analysis.depth.kinds.protocol import OnBoat, Parameter, Place, Refusal, Shifts
from analysis.depth.march import Array, Tow
from analysis.depth.own_units import line_size
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

DIAL_LIMIT_DEG = 89.0
PULL_ANGLES_RAD = (np.radians(2.0), np.radians(88.0))  # what a shift may turn a pull to
LEADER_M = 2.0  # of a lure that dives, where none is logged (common practice, no source)
LEADER_MM = 0.40  # of such a leader (common practice, no source)
_ANGLE = np.radians(10.0)
_PULL = "10 degrees: no disc was measured; the lift/drag of a low-aspect plate spans about this"
_K = "30 %: disc size, line diameter and drag coefficient together, none of them measured"
_WEIGHT = "10 %: nominal weight of line and lumps, from memory"
_FLAT = "50 %: how a disc that has tripped lies in the water was not measured"
_ROLL = "10 degrees: the tilt behind a dial number is not published and differs between discs"


@dataclass(frozen=True, kw_only=True)
class Diver(OnBoat):
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
    line_doubt: float = doubt_of("diameter of the line")
    parts: tuple[Part, ...] = described(
        "list", "parts of the line from the disc up (wire, copper, core); one line unless given", ()
    )
    clipped: tuple[Clip, ...] = described("list", "weights clipped onto the line", ())
    tripped: bool = described(
        "true or false", "whether the disc has tripped: it planes no more and drags flat", False
    )
    tripped_drag_area_m2: float = area("drag area of the disc when tripped", 0.0015)
    reference: str = reference()

    @property
    def dial(self) -> tuple[float, ...]:
        """The settings that are marked on the dial, from the lowest."""
        return tuple(setting for setting, _ in self.roll_deg)

    def __post_init__(self) -> None:
        """Check ranges and the dial, naming the key."""
        where = toml_key("gear", self.name)
        check_numbers(where, self)
        check_line(where, self.parts, self.clipped)
        if not isinstance(self.tripped, bool):
            raise GearError(
                problem=f"{self.tripped!r} is neither true nor false",
                key=f"{where}.tripped",
                remedy="write tripped = true for a disc whose release has let go",
            )
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
        keys = dict(given)
        if "line" in keys:
            size = line_size(f"{where}.line", keys.pop("line"))
            keys = {
                "line_diameter_mm": size.diameter_mm,
                "line_weight_n_per_m": size.weight_n_per_m,
                "line_doubt": size.diameter_doubt,
                **keys,
            }
        keys = known(where, keys, cls, hidden="name")
        read_reference(name, keys)
        keys["parts"] = parts_from_toml(f"{where}.parts", keys.get("parts", []))
        keys["clipped"] = clips_from_toml(f"{where}.clipped", keys.get("clipped", []))
        if "roll_deg" in keys:
            keys["roll_deg"] = _dial(f"{where}.roll_deg", keys["roll_deg"])
        return cls(**{**keys, "name": name})

    @property
    def closed(self) -> bool:
        """Whether the fast form serves it: on one weightless line without weights."""
        return self.line_weight_n_per_m == 0.0 and not self.parts and not self.clipped

    def relevant(self, columns: Columns) -> Columns:
        """Blank the leader, unless a lure dives on it: else it trails behind and moves nothing."""
        columns = columns.without("lead_m")
        return columns.without("leader_length_m", where=~columns.described)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a setting that is missing or off the dial, and a line that cannot be."""
        yield from refuse_tips(columns)
        low, high, setting = self.dial[0], self.dial[-1], columns.setting
        yield Refusal(np.isnan(setting), "no dial setting")
        off = (setting < low) | (setting > high)
        yield Refusal(off, f"setting {{:g}} is off the dial ({low:g} to {high:g})", setting)
        yield from refuse_line(self.parts, self.clipped, columns)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the pull of the disc and of what it tows, and the loads of its line."""
        q = dynamic_pressure(columns, water.density_kg_m3)
        leader = Leader(
            length_m=np.where(np.isnan(columns.leader_length_m), LEADER_M, columns.leader_length_m),
            diameter_mm=LEADER_MM,
            normal_drag=self.normal_drag,
            tangential_drag=self.tangential_drag,
        )
        pull, trail = lure_behind(columns, q, leader)
        own = np.where(columns.described, 0.0, self.lure_drag_area_m2)
        astern, side, down = q * self._disc(columns, own, shifts) + pull
        line_m, thicker = self.line_diameter_mm / 1000.0, np.exp(shifts.get("line_drag", 0.0))
        tow = tow_along(
            columns,
            astern=astern,
            side=side,
            down=down + self.weight_n,
            normal=q * line_m * self.normal_drag * thicker,
            tangential=q * np.pi * line_m * self.tangential_drag,
            weight=self.line_weight_n_per_m,
        )
        if self.parts or self.clipped:
            whole = Part(
                name="line", diameter_mm=self.line_diameter_mm,
                weight_n_per_m=self.line_weight_n_per_m,
            )  # fmt: skip
            parts = self.parts or (whole,)
            line = line_loads(
                parts,
                self.clipped,
                part_lengths(parts, columns.without("leader_length_m")),
                q,
                normal_drag=self.normal_drag,
                tangential_drag=self.tangential_drag,
                drags_more=thicker,
                heavier=np.exp(shifts.get("line_weight", 0.0)),
            )
            tow = replace(tow, **vars(line))
        return replace(tow, trail_m=trail)

    def _disc(self, columns: Columns, lure_area_m2: Array, shifts: Shifts) -> Array:
        """Return (3, n): areas of the disc's pull astern, to the side and down."""
        lift, drag = np.float64(self.lift_area_m2), self.drag_area_m2 + lure_area_m2
        if self.tripped:
            flat = (self.tripped_drag_area_m2 + lure_area_m2) * np.exp(shifts.get("end_drag", 0.0))
            return np.stack([flat, 0.0 * flat, 0.0 * flat])
        own = np.arctan2(lift, drag)
        low, high = PULL_ANGLES_RAD
        turned = own + shifts.get("pull_angle", 0.0)
        angle = np.clip(turned, np.minimum(low, own), np.maximum(high, own))
        roll = self.roll_rad(columns.setting) + self._roll_shift(columns.setting, shifts)
        across = np.hypot(lift, drag) * np.sin(angle)
        along = np.hypot(lift, drag) * np.cos(angle)
        return np.stack([along + 0.0 * roll, across * np.sin(roll), across * np.cos(roll)])

    def longest_m(self, spool_m: float) -> float:
        """Return what the spool holds, or all parts together."""
        lengths = [part.length_m for part in self.parts] or [None]
        return min(spool_m, sum(np.inf if length is None else length for length in lengths))

    def parameters(self) -> tuple[Parameter, ...]:
        """Return pull angle, line drag and the roll of each tilted mark of the dial.

        A setting whose roll is 0 pulls straight by symmetry and keeps it.
        """
        doubt = max([self.line_doubt, *(part.diameter_doubt for part in self.parts)])
        drag = Parameter(name="line_drag", sd=float(np.hypot(0.30, doubt)), source=_K)
        heavy = [part for part in self.parts if part.weight_n_per_m or part.lump_weight_n]
        known = max([0.10, *(part.weight_doubt for part in heavy)])
        weight = [Parameter(name="line_weight", sd=known, source=_WEIGHT)]
        weight = weight if heavy or self.clipped else []
        if self.tripped:
            return (Parameter(name="end_drag", sd=0.50, source=_FLAT), drag, *weight)
        return (
            Parameter(name="pull_angle", sd=_ANGLE, source=_PULL, is_angle=True),
            drag,
            *weight,
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
        if not shifts:
            return np.zeros(setting.size)
        rolls = (parameter for parameter in self.parameters() if parameter.setting is not None)
        moved = [np.broadcast_to(shifts.get(roll.key, 0.0), setting.shape) for roll in rolls]
        shares = self.roll_shares(setting)
        return np.asarray(sum((s * m for s, m in zip(shares.T, moved, strict=True)), 0.0 * setting))

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say what the trials cannot tell about the roll, at settings that are fished."""
        if self.tripped:
            return untold_speeds(trials)
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
        parts = [replace(part, diameter_mm=factor * part.diameter_mm) for part in self.parts]
        return replace(self, line_diameter_mm=factor * self.line_diameter_mm, parts=tuple(parts))

    def with_lure_drag(self, area_m2: float) -> Self:
        """Return it with another lure."""
        return replace(self, lure_drag_area_m2=area_m2)

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
