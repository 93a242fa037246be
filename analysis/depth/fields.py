"""Owns how a gear's parameters are declared, checked when made, and read from boat.toml.

Fields carry the names, units and defaults of boat.toml, so that an error can name the key to
change. None of the defaults was measured: they are physically plausible values (see each
field's meaning) and a gear that matters should be calibrated with a depth logger.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import MISSING, Field, field, fields
from typing import Any

from analysis.depth.own_units import in_si
from analysis.errors import GearError, toml_key

NOT_MEASURED = "defaults: not measured, chosen to be physically plausible"


def number(
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


def diameter(meaning: str, default: Any = MISSING, *, zero: bool = False) -> Any:
    """Declare a diameter in mm."""
    return number(0.0, 20.0, "mm", meaning, default, zero=zero)


def drag_across(default: Any = 1.2) -> Any:
    """Declare a drag coefficient across a line."""
    meaning = "drag coefficient across the line, on the projected width"
    return number(0.0, 5.0, "-", meaning, default, zero=False)


def drag_along(default: Any = 0.015) -> Any:
    """Declare a drag coefficient along a line."""
    return number(0.0, 0.5, "-", "drag coefficient along the line, on the girth", default)


def area(meaning: str, default: float, *, zero: bool = True) -> Any:
    """Declare a lift or drag area in m2."""
    return number(0.0, 1.0, "m2", meaning, default, zero=zero)


def doubt_of(what: str) -> Any:
    """Declare a standard deviation of a logarithm, on top of the kind's own."""
    return number(0.0, 1.0, "-", f"by what share the {what} may be off (sd)", 0.0)


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


def described(unit: str, meaning: str, default: Any = MISSING) -> Any:
    """Declare a field that is no number, for the page of keys; its kind checks it."""
    details = {"unit": unit, "meaning": meaning}
    if default is MISSING:
        return field(metadata=details)
    return field(default=default, metadata=details)


def reference() -> Any:
    """Declare where the values of a gear come from."""
    return described("text", "where these values come from", NOT_MEASURED)


def check_numbers(where: str, thing: Any) -> None:
    """Raise GearError where a declared number of a thing is none, or absurd."""
    for spec in fields(thing):
        value = getattr(thing, spec.name)
        if "low" in spec.metadata and not (value is None and spec.default is None):
            _check_number(f"{where}.{spec.name}", spec, value)


def known(where: str, given: Mapping[str, Any], kind: type, hidden: str = "") -> dict[str, Any]:
    """Return the mapping as keyword arguments in SI; refuse a key that the kind does not have."""
    allowed = [spec.name for spec in fields(kind) if spec.name != hidden]
    given = in_si(where, given, allowed)
    for key in given:
        if key not in allowed:
            near = difflib.get_close_matches(key, allowed, n=1, cutoff=0.0)[0]
            raise GearError(
                problem="there is no such key",
                key=f"{where}.{key}",
                remedy=f"did you mean {near}?",
            )
    return dict(given)


def table(key: str, value: object) -> Mapping[str, Any]:
    """Return a value that must be a table, or raise GearError."""
    if not isinstance(value, Mapping):
        problem = f"{value!r} is no table"
        raise GearError(problem, key=key, remedy="write it as a table of key = value")
    return value


def read_reference(name: str, given: Mapping[str, Any]) -> None:
    """Raise GearError where the source of a gear's values is no text."""
    if not isinstance(given.get("reference", ""), str):
        raise GearError(
            problem=f"{given['reference']!r} is no text",
            key=toml_key("gear", name, "reference"),
            remedy="say where the values come from",
        )
