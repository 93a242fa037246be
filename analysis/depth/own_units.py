"""Owns keys written in a boat's own units and the trade's sizes: "10 lb", "30 lb braid".

A key in SI ends in its unit (`ball_mass_kg`). The same key without that ending takes a text with
any unit of its quantity (`ball_mass = "10 lb"`). A line may be named by its breaking strength and
kind: strength grows with the area of a line, so one rule a kind gives diameter and weight of any
size. The rules are from memory of labels and of what such lines are made of; makers differ, which
is what the doubts are for.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from analysis.errors import GearError

_GRAVITY_M_S2 = 9.80665
_POUND_KG = 0.45359237  # exact, as the foot: the international agreement of 1959
_WATER_IN_LEAD = 1000.0 / 11340.0
_LENGTHS = {"in": 0.0254, "ft": 0.3048, "yd": 0.9144, "mm": 0.001, "cm": 0.01, "m": 1.0}
_MASSES = {"oz": _POUND_KG / 16.0, "lb": _POUND_KG, "g": 0.001, "kg": 1.0}
_SPEEDS = {"mph": 0.44704, "kn": 1852.0 / 3600.0, "km/h": 1.0 / 3.6, "m/s": 1.0}
_IN_WATER = {u: kg * (1.0 - _WATER_IN_LEAD) * _GRAVITY_M_S2 for u, kg in _MASSES.items()}
_AREAS = {"in2": 0.0254**2, "cm2": 1e-4, "mm2": 1e-6, "m2": 1.0}

_ENDINGS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "_kg": _MASSES,
        "_mm": {unit: 1000.0 * size for unit, size in _LENGTHS.items()},
        "_n": {**_IN_WATER, "N": 1.0},
        "_m2": _AREAS,
        "_mps": _SPEEDS,
        "_m": _LENGTHS,
    }
)
"""Ending of a key in SI -> unit -> what it is in the ending's unit. A weight in water (`_n`) given
in ounces or pounds is that of lead on a scale."""

_QUANTITY = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)(?:\s*/\s*([0-9]+))?\s*([a-zA-Z/]+2?)\s*")
_LINE = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)\s*(lb|kg)\s+([a-z -]+?)\s*", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class LineSize:
    """A line of the trade.

    Attributes
    ----------
    diameter_mm
        Its diameter.
    weight_n_per_m
        Weight in water of a metre.
    diameter_doubt, weight_doubt
        Standard deviation of their logarithms.
    """

    diameter_mm: float
    weight_n_per_m: float
    diameter_doubt: float
    weight_doubt: float


@dataclass(frozen=True, kw_only=True)
class _Rule:
    """One kind of line: diameter for 1 lb (grows as the root), weight for 1 lb and for any size."""

    diameter_mm: float
    diameter_doubt: float
    weight_n_per_m: float = 0.0
    weight_at_any: float = 0.0
    weight_doubt: float = 0.0


LINES: Mapping[str, _Rule] = MappingProxyType(
    {
        "braid": _Rule(diameter_mm=0.051, diameter_doubt=0.12),
        "mono": _Rule(diameter_mm=0.100, diameter_doubt=0.08),
        "fluorocarbon": _Rule(diameter_mm=0.100, diameter_doubt=0.08),
        # strands of steel near 1500 MPa, two thirds of the round they fill
        "wire": _Rule(
            diameter_mm=0.069, diameter_doubt=0.10, weight_n_per_m=2.0e-4, weight_doubt=0.10
        ),
        # soft copper near 220 MPa
        "copper": _Rule(
            diameter_mm=0.170, diameter_doubt=0.10, weight_n_per_m=1.57e-3, weight_doubt=0.12
        ),
        # the lead inside is much the same in all sizes: the sheath makes the strength
        "lead core": _Rule(
            diameter_mm=0.164, diameter_doubt=0.10, weight_at_any=0.0098, weight_doubt=0.15
        ),
    }
)
"""Kinds of line by the word behind their strength; from memory, no source."""


def quantity(key: str, value: object, units: Mapping[str, float], example: str) -> float:
    """Read a text such as "10 lb" or "1/2 oz" in the unit that `units` counts in.

    Raises
    ------
    GearError
        For no text, no number, or another unit; it names the key and the units there are.
    """
    found = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    if found is None or found[3] not in units or float(found[2] or 1) == 0.0:
        raise GearError(
            problem=f"{value!r} is no number with a unit",
            key=key,
            remedy=f'write a number and one of {", ".join(units)}, such as "{example}"',
        )
    return float(found[1]) / float(found[2] or 1) * units[found[3]]


def in_si(where: str, given: Mapping[str, Any], allowed: Collection[str]) -> dict[str, Any]:
    """Return keys in SI, those in a boat's own units turned into them.

    Raises
    ------
    GearError
        For a key given both ways, or a text that is no number with a unit.

    Examples
    --------
    >>> in_si("gear.r", {"ball_mass": "10 lb"}, ["ball_mass_kg"])
    {'ball_mass_kg': 4.5359237}
    """
    out: dict[str, Any] = {}
    for key, value in given.items():
        ending = _ending_of(key, allowed) if isinstance(value, str) else ""
        name = key + ending
        if ending:
            value = quantity(f"{where}.{key}", value, _ENDINGS[ending], _example(ending))
        if name in out:
            raise GearError(
                problem=f"{name} is given twice, in SI and with a unit",
                key=f"{where}.{key}",
                remedy="keep one of the two",
            )
        out[name] = value
    return out


def _ending_of(key: str, allowed: Collection[str]) -> str:
    """Return the ending with which a key is one of those allowed; empty where none is needed."""
    return next((end for end in _ENDINGS if key not in allowed and key + end in allowed), "")


def _example(ending: str) -> str:
    return {"_kg": "10 lb", "_mm": "0.012 in", "_n": "2 oz", "_m2": "5 cm2", "_mps": "2 mph"}.get(
        ending, "20 ft"
    )


def line_size(key: str, value: object) -> LineSize:
    """Return diameter and weight of a line named as on its label.

    Raises
    ------
    GearError
        For no text, or a kind of line that has no rule.

    Examples
    --------
    >>> line_size("gear.diver.line", "30 lb braid").diameter_mm
    0.279
    """
    found = _LINE.fullmatch(value) if isinstance(value, str) else None
    rule = (
        LINES.get(found[3].lower().replace("-", " ").replace("leadcore", "lead core"))
        if found
        else None
    )
    if found is None or rule is None or float(found[1]) <= 0.0:
        raise GearError(
            problem=f"{value!r} is no line that is known by name",
            key=key,
            remedy='write its strength and kind, such as "30 lb braid"; the kinds are '
            f"{', '.join(LINES)}; for another give its diameter",
        )
    pounds = float(found[1]) * (1.0 if found[2].lower() == "lb" else 1.0 / _POUND_KG)
    return LineSize(
        diameter_mm=float(np.round(rule.diameter_mm * np.sqrt(pounds), 3)),
        weight_n_per_m=float(np.round(rule.weight_n_per_m * pounds + rule.weight_at_any, 5)),
        diameter_doubt=rule.diameter_doubt,
        weight_doubt=rule.weight_doubt,
    )
