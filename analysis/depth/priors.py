"""Owns how far a gear's parameters may lie from their values, and where that is known from.

A parameter that depth cannot tell from another is one parameter here: line diameter and its
drag coefficient show only as their product, a disc's size only against the line's drag.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.model import Shifts
from analysis.depth.towline import Array
from analysis.gear import Diver, Gear, Rigger


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One departure from a gear's values: normal about 0 with this sd before any trial.

    Attributes
    ----------
    name
        As `tow_of` knows it; a roll also names its dial setting.
    sd
        In radians for angles, else of the natural logarithm of a factor.
    source
        Where the sd comes from.
    setting
        The dial setting of a roll.
    """

    name: str
    sd: float
    source: str
    setting: float | None = None

    @property
    def label(self) -> str:
        """Name for people.

        >>> Parameter(name="roll", sd=0.17, source="", setting=1.0).label
        'roll at setting 1'
        """
        words = self.name.replace("_", " ")
        return words if self.setting is None else f"{words} at setting {self.setting:g}"

    @property
    def is_angle(self) -> bool:
        """Whether it is in radians (else a logarithm of a factor)."""
        return self.name in ("pull_angle", "roll")


_ANGLE = np.radians(10.0)
_PULL = "10 degrees: no disc was measured; the lift/drag of a low-aspect plate spans about this"
_K = "30 %: disc size, line diameter and drag coefficient together, none of them measured"
_ROLL = "10 degrees: the tilt behind a dial number is not published and differs between discs"
_BALL = "20 %: sphere 0.44-0.48 measured below Re 2e5, fins, clip and lure from memory"
_CABLE = "30 %: as a diver's line, and two lines side by side shade each other"
_WEIGHT = "10 %: nominal weight of line and lumps, from memory"
_PARTS = "20 %: diameter under its coating 10 %, cylinder 0.98-1.2 in the handbook and vibration"
_LURE = "50 %: lures differ that much, from memory"


def parameters_of(gear: Gear) -> tuple[Parameter, ...]:
    """Return the uncertain parameters of a gear with their priors.

    A setting whose roll is 0 pulls straight by symmetry and keeps it.

    >>> [parameter.label for parameter in parameters_of(Rigger())]
    ['end drag', 'line drag']
    """
    if isinstance(gear, Diver):
        rolls = tuple(
            Parameter(name="roll", sd=_ANGLE, source=_ROLL, setting=setting)
            for setting, roll in gear.roll_deg
            if roll > 0.0
        )
        return (
            Parameter(name="pull_angle", sd=_ANGLE, source=_PULL),
            Parameter(name="line_drag", sd=0.30, source=_K),
            *rolls,
        )
    if isinstance(gear, Rigger):
        return (
            Parameter(name="end_drag", sd=0.20, source=_BALL),
            Parameter(name="line_drag", sd=0.30, source=_CABLE),
        )
    return (
        Parameter(name="line_weight", sd=0.10, source=_WEIGHT),
        Parameter(name="line_drag", sd=0.20, source=_PARTS),
        Parameter(name="end_drag", sd=0.50, source=_LURE),
        Parameter(name="end_weight", sd=0.50, source=_LURE),
    )


def roll_shares(gear: Gear, setting: Array) -> Array:
    """Return (rows, rolls): how much each dial entry's own roll counts at these settings.

    >>> roll_shares(Diver(), np.array([0.5, 2.5]))
    array([[0.5, 0. , 0. ],
           [0. , 0.5, 0.5]])
    """
    if not isinstance(gear, Diver):
        return np.zeros((setting.size, 0))
    settings = [entry for entry, _ in gear.roll_deg]
    shares = [
        np.interp(setting, settings, np.eye(len(settings))[place])
        for place, (_, roll) in enumerate(gear.roll_deg)
        if roll > 0.0
    ]
    return np.stack(shares, axis=1) if shares else np.zeros((setting.size, 0))


def shifts_at(gear: Gear, columns: Columns, values: Array) -> Shifts:
    """Return what `tow_of` needs for parameter values, (p,) for all rows or (p, rows)."""
    names = [parameter.name for parameter in parameters_of(gear)]
    values = np.broadcast_to(values.reshape(len(names), -1), (len(names), columns.size))
    shifts: dict[str, Array] = {}
    shares = roll_shares(gear, columns.setting)
    for place, name in enumerate(names):
        if name != "roll":
            shifts[name] = values[place]
    if shares.shape[1]:
        shifts["roll"] = np.einsum("rk,kr->r", shares, values[-shares.shape[1] :])
    return shifts
