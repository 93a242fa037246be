"""Owns the units a boat writes its log in: the only place where they become SI and back."""

import re
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from analysis.errors import UsageError

# Exact by definition: the international yard and pound agreement of 1959 (foot, inch, mile,
# pound) and the international nautical mile; see NIST Special Publication 811, appendix B.
_FOOT_M = 0.3048
_MILE_M = 1609.344
_NAUTICAL_MILE_M = 1852.0
_POUND_KG = 0.45359237
_HOUR_S = 3600.0

# quantity -> unit -> (factor, offset): SI = (value - offset) * factor
_SCALES: dict[str, dict[str, tuple[float, float]]] = {
    "length": {"ft": (_FOOT_M, 0.0), "m": (1.0, 0.0)},
    "depth": {"ft": (_FOOT_M, 0.0), "m": (1.0, 0.0)},
    "speed": {
        "mph": (_MILE_M / _HOUR_S, 0.0),
        "kn": (_NAUTICAL_MILE_M / _HOUR_S, 0.0),
        "km/h": (1000.0 / _HOUR_S, 0.0),
        "m/s": (1.0, 0.0),
    },
    "temperature": {"F": (5.0 / 9.0, 32.0), "C": (1.0, 0.0)},
    "fish_length": {"in": (_FOOT_M / 12.0, 0.0), "cm": (0.01, 0.0)},
    "fish_weight": {"lb": (_POUND_KG, 0.0), "kg": (1.0, 0.0)},
}

LINE_STEP = {"ft": 5.0, "m": 1.0}
"""Steps in which line-outs are asked: no boat lets line out more finely than its doubt."""

QUANTITIES = MappingProxyType(
    {
        "length": "m",
        "depth": "m",
        "speed": "m/s",
        "temperature": "C",
        "fish_length": "m",
        "fish_weight": "kg",
    }
)
"""The quantities of a log and the unit each has inside the package."""

UNITS = MappingProxyType({quantity: tuple(scale) for quantity, scale in _SCALES.items()})
"""The units a log may be written in, by quantity."""


class UnitError(ValueError):
    """A quantity or unit that the package does not know; the message lists those it does."""


def _scale(quantity: str, unit: str) -> tuple[float, float]:
    """Return factor and offset of a unit, or say which ones there are."""
    if quantity not in _SCALES:
        msg = f"{quantity!r} is not a quantity of the log; there are {', '.join(_SCALES)}"
        raise UnitError(msg)
    units = _SCALES[quantity]
    if unit not in units:
        msg = f"{unit!r} is not a unit of {quantity}; write one of {', '.join(units)}"
        raise UnitError(msg)
    return units[unit]


def to_si(values: npt.ArrayLike, quantity: str, unit: str) -> npt.NDArray[np.float64]:
    """Convert values written in a boat's unit to SI.

    Parameters
    ----------
    values : array_like
        Values in `unit`, any shape; NaN stays NaN.
    quantity : str
        A key of `QUANTITIES`.
    unit : str
        One of ``UNITS[quantity]``.

    Returns
    -------
    numpy.ndarray
        The values in ``QUANTITIES[quantity]``, same shape.

    Raises
    ------
    UnitError
        For an unknown quantity or unit.

    Examples
    --------
    >>> to_si([10.0, 100.0], "length", "ft")
    array([ 3.048, 30.48 ])
    >>> to_si(50.0, "temperature", "F")
    array(10.)
    """
    factor, offset = _scale(quantity, unit)
    result: npt.NDArray[np.float64] = np.asarray(
        (np.asarray(values, dtype=np.float64) - offset) * factor
    )
    return result


_BAND_M = (0.5, 30.0)


DEFAULT_BAND = {"ft": 10.0, "m": 3.0}
"""Height of a depth band where nobody asks for another, by unit of depth."""


def band_height_m(text: str) -> float:
    """Read the height of a depth band as a person types it.

    Parameters
    ----------
    text : str
        A number and its unit, such as ``10 ft``.

    Returns
    -------
    float
        In metres.

    Raises
    ------
    UsageError
        Where it is not a number with a unit of depth, or absurd.

    Examples
    --------
    >>> band_height_m("10 ft")
    3.048
    """
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(ft|m)\s*", text)
    height = float(to_si(float(found[1]), "depth", found[2])) if found else 0.0
    if not _BAND_M[0] <= height <= _BAND_M[1]:
        msg = f"band {text!r}: give a height from 0.5 to 30 m with its unit, such as '10 ft'."
        raise UsageError(msg)
    return height


def from_si(values: npt.ArrayLike, quantity: str, unit: str) -> npt.NDArray[np.float64]:
    """Convert SI values to a boat's own unit; the inverse of `to_si`.

    Parameters
    ----------
    values : array_like
        Values in ``QUANTITIES[quantity]``, any shape; NaN stays NaN.
    quantity : str
        A key of `QUANTITIES`.
    unit : str
        One of ``UNITS[quantity]``.

    Returns
    -------
    numpy.ndarray
        The values in `unit`, same shape.

    Raises
    ------
    UnitError
        For an unknown quantity or unit.

    Examples
    --------
    >>> from_si(30.48, "depth", "ft")
    array(100.)
    """
    factor, offset = _scale(quantity, unit)
    result: npt.NDArray[np.float64] = np.asarray(
        np.asarray(values, dtype=np.float64) / factor + offset
    )
    return result


@dataclass(frozen=True, kw_only=True)
class Units:
    """The units one boat's log is written in; checked on creation.

    Parameters
    ----------
    length : str
        Unit of line-out, lead and leader length: ``ft`` or ``m``.
    depth : str
        Unit of casts, probes, soaks and bands: ``ft`` or ``m``.
    speed : str
        ``mph``, ``kn``, ``km/h`` or ``m/s``.
    temperature : str
        ``F`` or ``C``.
    fish_length : str
        ``in`` or ``cm``.
    fish_weight : str
        ``lb`` or ``kg``.

    Raises
    ------
    UnitError
        For a unit that the quantity does not have.
    """

    length: str
    depth: str
    speed: str
    temperature: str
    fish_length: str
    fish_weight: str

    def __post_init__(self) -> None:
        """Refuse a unit that its quantity does not have."""
        for quantity in QUANTITIES:
            _scale(quantity, self.of(quantity))

    def of(self, quantity: str) -> str:
        """Return the boat's unit of a quantity of `QUANTITIES`."""
        unit: Any = getattr(self, quantity)
        return str(unit)


_SI_AMOUNT = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) (m/s|m)\b")


def in_boat_units(text: str, units: Units) -> str:
    """Rewrite the metres of a depth model's reason in the boat's units.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> in_boat_units("cannot reach 30.48 m: 150 m out runs 22.0 m deep", feet)
    'cannot reach 100 ft: 492 ft out runs 72 ft deep'
    >>> in_boat_units("a line-out of 1.4 m at 0.5 m/s", feet)
    'a line-out of 4.6 ft at 1.1 mph'
    """

    def rewritten(found: re.Match[str]) -> str:
        quantity = "length" if found[2] == "m" else "speed"
        amount = float(from_si(float(found[1]), quantity, units.of(quantity)))
        return f"{round(amount, 0 if amount >= 10.0 else 1):,g} {units.of(quantity)}"

    return _SI_AMOUNT.sub(rewritten, text)
