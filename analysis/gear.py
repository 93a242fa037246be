"""Owns the parameters of every kind of gear: frozen, checked when made, read from boat.toml.

Fields carry the names, units and defaults of boat.toml, so that an error can name the key to
change. None of the defaults was measured: they are physically plausible values (see each
field's meaning) and a gear that matters should be calibrated with a depth logger.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from typing import Any, ClassVar

from analysis import labels
from analysis.errors import GearError, toml_key

NOT_MEASURED = "defaults: not measured, chosen to be physically plausible"
DIAL_LIMIT_DEG = 89.0


def _number(
    low: float,
    high: float,
    unit: str,
    meaning: str,
    default: Any = MISSING,
    *,
    zero: bool = True,
) -> Any:
    """Declare a numeric field: its plausible range (`zero=False`: low itself excluded)."""
    details = {"low": low, "high": high, "unit": unit, "meaning": meaning, "zero": zero}
    if default is MISSING:
        return field(metadata=details)
    return field(default=default, metadata=details)


def _diameter(meaning: str, default: Any = MISSING, *, zero: bool = False) -> Any:
    return _number(0.0, 20.0, "mm", meaning, default, zero=zero)


def _normal_drag(default: Any = 1.2) -> Any:
    meaning = "drag coefficient across the line, on the projected width"
    return _number(0.0, 5.0, "-", meaning, default, zero=False)


def _tangential_drag(default: Any = 0.015) -> Any:
    return _number(0.0, 0.5, "-", "drag coefficient along the line, on the girth", default)


def _area(meaning: str, default: float, *, zero: bool = True) -> Any:
    return _number(0.0, 1.0, "m2", meaning, default, zero=zero)


def _check_number(key: str, spec: Field[Any], value: object) -> None:
    """Raise GearError where a value is no number or physically absurd."""
    meaning, unit = spec.metadata["meaning"], spec.metadata["unit"]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        problem = f"{value!r} is no number"
        raise GearError(problem, key=key, remedy=f"give the {meaning} in {unit}")
    low, high = spec.metadata["low"], spec.metadata["high"]
    too_low = value < low or (value == low and not spec.metadata["zero"])
    if too_low or value > high:
        bound = "from" if spec.metadata["zero"] else "above"
        problem = f"{value:g} {unit} cannot be the {meaning}"
        remedy = f"it lies {bound} {low:g} and up to {high:g} {unit}; check the unit"
        raise GearError(problem, key=key, remedy=remedy)


def _check_numbers(where: str, thing: Any) -> None:
    for spec in fields(thing):
        value = getattr(thing, spec.name)
        if "low" in spec.metadata and not (value is None and spec.default is None):
            _check_number(f"{where}.{spec.name}", spec, value)


@dataclass(frozen=True, kw_only=True)
class Water:
    """The water the gear is towed through.

    Density of fresh water is 999.8, 999.7, 998.2, 995.7 kg/m3 at 0, 10, 20, 30 C (the tests
    check the default against the IAPWS standard); sea water reaches 1030.

    >>> Water().density_kg_m3
    999.7
    """

    density_kg_m3: float = _number(900.0, 1100.0, "kg/m3", "density of the water", 999.7)

    def __post_init__(self) -> None:
        """Check the range, naming the key."""
        _check_numbers("water", self)


@dataclass(frozen=True, kw_only=True)
class Part:
    """One stretch of a line; the gear that holds it checks it and can name it.

    Only the last part, at the rod, may leave its length open. A lump sits at the part's upper
    end. A drag coefficient left out is the gear's.
    """

    name: str
    length_m: float | None = _number(0.0, 10_000.0, "m", "length of the part", None, zero=False)
    diameter_mm: float = _diameter("diameter of the part")
    weight_n_per_m: float = _number(-0.5, 20.0, "N/m", "weight in water of a metre of line", 0.0)
    normal_drag: float | None = _normal_drag(None)
    tangential_drag: float | None = _tangential_drag(None)
    lump_weight_n: float = _number(-5.0, 200.0, "N", "weight in water of the lump", 0.0)
    lump_drag_area_m2: float = _area("drag area (Cd times frontal area) of the lump", 0.0)


@dataclass(frozen=True, kw_only=True)
class Diver:
    """A diving disc on a thin line, pulled down and, by its dial, to the side.

    `roll_deg` maps dial settings to the tilt of the plane in which the disc pulls, as sorted
    pairs; between two settings the roll is interpolated. A low-aspect plate at a steep angle
    has a lift/drag ratio of 1.5-2.4 (from memory); a 0.30 mm line across the flow at 1.1 m/s
    has a Reynolds number of 250, where a cylinder's drag coefficient is about 1.2.
    """

    kind: ClassVar[str] = "diver"
    name: str = "diver"
    lift_area_m2: float = _area("lift area of the disc", 0.00625, zero=False)
    drag_area_m2: float = _area("drag area of the disc", 0.0045)
    lure_drag_area_m2: float = _area("drag area of leader and lure", 0.0005)
    weight_n: float = _number(-5.0, 100.0, "N", "weight of the disc in water", 0.15)
    roll_deg: tuple[tuple[float, float], ...] = (
        (0.0, 0.0),
        (1.0, 20.5),
        (2.0, 38.5),
        (3.0, 47.0),
    )
    line_diameter_mm: float = _diameter("diameter of the line", 0.30)
    normal_drag: float = _normal_drag()
    tangential_drag: float = _tangential_drag()
    line_weight_n_per_m: float = _number(
        -0.5, 20.0, "N/m", "weight in water of a metre of line", 0.0
    )
    reference: str = NOT_MEASURED

    @property
    def dial(self) -> tuple[float, ...]:
        """The settings that are marked on the dial, from the lowest."""
        return tuple(setting for setting, _ in self.roll_deg)

    def __post_init__(self) -> None:
        """Check ranges and the dial, naming the key."""
        where = toml_key("gear", self.name)
        _check_numbers(where, self)
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


@dataclass(frozen=True, kw_only=True)
class Rigger:
    """A ball on a cable; the fishing line lies along the cable and adds its drag.

    A sphere below Re 2e5 has a drag coefficient of 0.44-0.48 (measured points: 0.4732 at
    Re 58 880, 0.4395 at 1.702e5). `counter_zero` tells where the cable counter reads zero.
    """

    kind: ClassVar[str] = "rigger"
    dial: ClassVar[tuple[float, ...]] = ()
    name: str = "rigger"
    ball_mass_kg: float = _number(0.0, 100.0, "kg", "mass of the ball", 4.536, zero=False)
    ball_density_kg_m3: float = _number(
        1000.0, 22_600.0, "kg/m3", "density of the ball", 11340.0, zero=False
    )
    ball_drag: float = _number(0.0, 5.0, "-", "drag coefficient of the ball", 0.47)
    lure_drag_area_m2: float = _area("drag area of leader and lure", 0.0005)
    cable_diameter_mm: float = _diameter("diameter of the cable", 0.9)
    cable_weight_n_per_m: float = _number(
        -0.5, 20.0, "N/m", "weight in water of a metre of cable", 0.0257
    )
    normal_drag: float = _normal_drag()
    tangential_drag: float = _tangential_drag()
    clipped_line_diameter_mm: float = _diameter(
        "diameter of the fishing line along the cable, 0 for none", 0.35, zero=True
    )
    clipped_normal_drag: float = _number(0.0, 5.0, "-", "drag coefficient across that line", 1.2)
    clipped_tangential_drag: float = _tangential_drag()
    pulley_height_m: float = _number(0.0, 10.0, "m", "height of the pulley above the water", 1.2)
    counter_zero: str = "pulley"
    reference: str = NOT_MEASURED

    def __post_init__(self) -> None:
        """Check ranges and the counter's zero, naming the key."""
        _check_numbers(toml_key("gear", self.name), self)
        if self.counter_zero not in ("pulley", "surface"):
            raise GearError(
                problem=f"{self.counter_zero!r} is no place where a counter reads 0",
                key=toml_key("gear", self.name, "counter_zero"),
                remedy='write "pulley" or "surface", where the ball is when the counter reads 0',
            )


@dataclass(frozen=True, kw_only=True)
class _PartedLine:
    """What a weighted and a flat line share: parts from the lure up to the rod."""

    kind: ClassVar[str]
    example: ClassVar[str]
    """Parts as boat.toml takes them, for messages and the page of keys."""
    dial: ClassVar[tuple[float, ...]] = ()
    name: str
    lure_drag_area_m2: float
    lure_weight_n: float = _number(-5.0, 50.0, "N", "weight of the lure in water", 0.02)
    parts: tuple[Part, ...]
    normal_drag: float = _normal_drag()
    tangential_drag: float = _tangential_drag()
    reference: str = NOT_MEASURED

    def __post_init__(self) -> None:
        """Check the line and each of its parts, naming the key."""
        where = toml_key("gear", self.name)
        _check_numbers(where, self)
        if not self.parts:
            raise GearError(
                problem="the line has no parts",
                key=f"{where}.parts",
                remedy=f"list the parts of the line from the lure up, such as {self.example}",
            )
        for number, part in enumerate(self.parts):
            _check_numbers(f"{where}.parts.{part.name}", part)
            if part.length_m is None and number < len(self.parts) - 1:
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


@dataclass(frozen=True, kw_only=True)
class WeightedLine(_PartedLine):
    """A line that sinks by its own weight: lead core, copper, wire."""

    kind: ClassVar[str] = "weighted line"
    example: ClassVar[str] = (
        'parts = [{ name = "leader", length_m = 6.0, diameter_mm = 0.30 }, '
        '{ name = "core", length_m = 45.72, diameter_mm = 0.85, weight_n_per_m = 0.0098 }, '
        '{ name = "backing", diameter_mm = 0.35 }]'
    )
    name: str = "weighted line"
    lure_drag_area_m2: float = _area("drag area of the lure", 0.0003)

    def __post_init__(self) -> None:
        """Refuse a line without any weight: it would run near the surface, told as if sure."""
        super().__post_init__()
        if not any(part.weight_n_per_m > 0.0 or part.lump_weight_n > 0.0 for part in self.parts):
            raise GearError(
                problem="no part of this weighted line weighs anything in water",
                key=toml_key("gear", self.name, "parts"),
                remedy="give the sinking part its weight_n_per_m, such as "
                f'{self.example}; for a plain line write kind = "flat line"',
            )


@dataclass(frozen=True, kw_only=True)
class FlatLine(_PartedLine):
    """A plain line, with or without an inline weight (a lump at a part's upper end)."""

    kind: ClassVar[str] = "flat line"
    example: ClassVar[str] = (
        'parts = [{ name = "leader", length_m = 2.0, diameter_mm = 0.30, lump_weight_n = 0.27, '
        'lump_drag_area_m2 = 0.0001 }, { name = "line", diameter_mm = 0.30 }]'
    )
    name: str = "flat line"
    lure_drag_area_m2: float = _area("drag area of the lure", 0.0002)


Gear = Diver | Rigger | WeightedLine | FlatLine
KINDS: dict[str, type[Gear]] = {kind.kind: kind for kind in (Diver, Rigger, WeightedLine, FlatLine)}


def _known(where: str, given: Mapping[str, Any], kind: type, hidden: str = "") -> dict[str, Any]:
    """Return the mapping as keyword arguments; refuse a key that the kind does not have."""
    allowed = [spec.name for spec in fields(kind) if spec.name != hidden]
    for key in given:
        if key not in allowed:
            near = difflib.get_close_matches(key, allowed, n=1, cutoff=0.0)[0]
            raise GearError(
                problem="there is no such key",
                key=f"{where}.{key}",
                remedy=f"did you mean {near}?",
            )
    return dict(given)


def _table(key: str, value: object) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        problem = f"{value!r} is no table"
        raise GearError(problem, key=key, remedy="write it as a table of key = value")
    return value


def _dial(where: str, value: object) -> tuple[tuple[float, float], ...]:
    """Turn `{ "0" = 0.0, "1" = 20.5 }` into sorted pairs of numbers."""
    pairs = []
    for setting, roll in _table(where, value).items():
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


def _part(where: str, number: int, value: object) -> Part:
    given = _table(f"{where}[{number}]", value)
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
    return Part(**_known(f"{where}.{name}", given, Part))


def gear_from_toml(name: str, mapping: Mapping[str, Any]) -> Gear:
    """Make a gear from its `[gear.NAME]` table of boat.toml.

    Parameters
    ----------
    name
        The gear's name in the log.
    mapping
        The table's keys and values. `kind` is required, and `parts` of a weighted or flat
        line; any other key left out takes the default of its kind.

    Raises
    ------
    GearError
        For an unknown kind or key (with the nearest known one), a missing part, or a value
        that is no number or physically absurd. It names the key and the remedy.

    Examples
    --------
    >>> gear_from_toml("diver", {"kind": "diver", "line_diameter_mm": 0.36}).line_diameter_mm
    0.36
    """
    where = toml_key("gear", name)
    given = dict(_table(where, mapping))
    kind = given.pop("kind", None)
    if not isinstance(kind, str) or kind not in KINDS:
        near = difflib.get_close_matches(str(kind), KINDS, n=1, cutoff=0.5)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise GearError(
            problem="the kind is missing" if kind is None else f"{kind!r} is no kind of gear",
            key=f"{where}.kind",
            remedy=f"write one of {', '.join(map(repr, KINDS))}{hint}",
        )
    cls = KINDS[kind]
    given = _known(where, given, cls, hidden="name")
    if not isinstance(given.get("reference", ""), str):
        problem = f"{given['reference']!r} is no text"
        raise GearError(problem, key=f"{where}.reference", remedy="say where the values come from")
    if "roll_deg" in given:
        given["roll_deg"] = _dial(f"{where}.roll_deg", given["roll_deg"])
    if issubclass(cls, _PartedLine):
        parts = given.get("parts", [])
        if not isinstance(parts, (list, tuple)):
            problem = f"{parts!r} is no list"
            raise GearError(problem, key=f"{where}.parts", remedy="write a list of parts")
        given["parts"] = tuple(_part(f"{where}.parts", i, part) for i, part in enumerate(parts))
    return cls(**{**given, "name": name})


def water_from_toml(mapping: Mapping[str, Any]) -> Water:
    """Make the water from the `[water]` table of boat.toml.

    Raises
    ------
    GearError
        For an unknown key or an absurd density.

    Examples
    --------
    >>> water_from_toml({"density_kg_m3": 1026}).density_kg_m3
    1026
    """
    return Water(**_known("water", _table("water", mapping), Water))
