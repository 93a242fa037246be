"""Owns what a log says of each towed line: columns, which rows are distinct, which refused."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.depth.limits import (
    DEFAULT_TIP_HEIGHT_M,
    LEADER_LENGTH_M,
    LINE_OUT_M,
    SPEED_MPS,
    TIP_HEIGHT_M,
)
from analysis.depth.towline import Array, Rows
from analysis.gear import Diver, Gear, Part, Rigger

LEADER = "leader"  # the part whose length a log may replace
_SLOWEST_MPS = 1e-6
Texts = NDArray[np.object_]


@dataclass(frozen=True, kw_only=True)
class Columns:
    """What a log says of each row: same-length arrays, NaN where nothing is written."""

    setting: Array
    line_out_m: Array
    speed_mps: Array
    tip_height_m: Array
    leader_length_m: Array

    @classmethod
    def of(
        cls,
        *,
        setting: ArrayLike = np.nan,
        line_out_m: ArrayLike,
        speed_mps: ArrayLike,
        tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
        leader_length_m: ArrayLike = np.nan,
    ) -> Columns:
        """Broadcast the columns to one length."""
        given = (setting, line_out_m, speed_mps, tip_height_m, leader_length_m)
        arrays = np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in given))
        return cls(
            **dict(
                zip(cls.__dataclass_fields__, (np.ravel(column) for column in arrays), strict=True)
            )
        )

    def take(self, rows: Rows) -> Columns:
        """Return the chosen rows."""
        return Columns(**{name: column[rows] for name, column in vars(self).items()})

    @property
    def size(self) -> int:
        """Number of rows."""
        return self.line_out_m.size

    def for_gear(self, gear: Gear) -> Columns:
        """Blank what does not matter to a gear, so that rows equal in the rest are equal."""
        blank = np.full(self.size, np.nan)
        if isinstance(gear, Rigger):
            none = dict.fromkeys(("setting", "tip_height_m", "leader_length_m"), blank)
        elif isinstance(gear, Diver):
            none = {"leader_length_m": blank}
        elif any(part.name == LEADER for part in gear.parts):
            none = {"setting": blank}
        else:
            none = dict.fromkeys(("setting", "leader_length_m"), blank)
        return replace(self, **none)

    def distinct(self, *others: Array) -> tuple[Rows, Rows]:
        """Return one row of each distinct combination, and for each row which of them it is.

        `others` are further columns to tell rows apart by.
        """
        code = np.zeros(self.size, dtype=np.int64)
        for column in (*vars(self).values(), *others):
            values, place = np.unique(column, return_inverse=True)
            if values.size > 1:
                code = np.unique(code * values.size + place, return_inverse=True)[1]
        _, first, place = np.unique(code, return_index=True, return_inverse=True)
        return first, place


def roll_deg(gear: Diver, setting: Array) -> Array:
    """Return the roll at dial settings, interpolated; NaN off the dial.

    >>> roll_deg(Diver(), np.array([1.0, 2.5, 4.0]))
    array([20.5 , 42.75,   nan])
    """
    settings, rolls = np.array(gear.roll_deg).T
    return np.asarray(np.interp(setting, settings, rolls, left=np.nan, right=np.nan))


def refusals(gear: Gear, columns: Columns) -> Texts:
    """Return for each row why it cannot be solved as written, or an empty text."""
    reason: Texts = np.full(columns.size, "", dtype=object)

    def refuse(where: NDArray[np.bool_], text: str, values: Array | None = None) -> None:
        for row in np.flatnonzero(where):
            if not reason[row]:
                reason[row] = text if values is None else text.format(values[row])

    length, speed = columns.line_out_m, columns.speed_mps
    refuse(np.isnan(length), "no line-out")
    refuse(length <= 0.0, "a line-out of {:g} m; it must be above 0", length)
    refuse(length > LINE_OUT_M.high, "a line-out of {:g} m; check the unit", length)
    refuse(np.isnan(speed), "no speed")
    refuse(speed <= 0.0, "a speed of {:g} m/s; a line is towed only at a speed above 0", speed)
    adrift = (speed > 0.0) & (speed < _SLOWEST_MPS)
    refuse(adrift, "a speed of {:g} m/s, at which nothing is towed; check the unit", speed)
    refuse(speed > SPEED_MPS.high, "a speed of {:g} m/s; check the unit", speed)
    if not isinstance(gear, Rigger):
        tip = columns.tip_height_m
        refuse(np.isnan(tip), "no height of the rod tip")
        low, high = TIP_HEIGHT_M.low, TIP_HEIGHT_M.high
        text = f"a rod tip at {{:g}} m; it lies from {low:g} to {high:g} m"
        refuse((tip < low) | (tip > high), text, tip)
    if isinstance(gear, Diver):
        low, high = gear.dial[0], gear.dial[-1]
        setting = columns.setting
        refuse(np.isnan(setting), "no dial setting")
        off = (setting < low) | (setting > high)
        refuse(off, f"setting {{:g}} is off the dial ({low:g} to {high:g})", setting)
    elif not isinstance(gear, Rigger):
        lengths = [part.length_m for part in gear.parts]
        leader = columns.leader_length_m
        refuse(leader < 0.0, "a leader of {:g} m; it cannot be negative", leader)
        refuse(leader > LEADER_LENGTH_M.high, "a leader of {:g} m; check the unit", leader)
        if lengths[-1] is not None:
            total = part_lengths(gear.parts, columns).sum(axis=0)
            text = "a line-out of {:g} m is more than all parts of the line together"
            refuse(length > total, text, length)
    return reason


def part_lengths(parts: tuple[Part, ...], columns: Columns) -> Array:
    """Return the length of each part on each row, a logged leader replacing the gear's."""
    rows = []
    for part in parts:
        length = np.inf if part.length_m is None else part.length_m
        row = np.full(columns.size, length)
        if part.name == LEADER:
            row = np.where(np.isnan(columns.leader_length_m), row, columns.leader_length_m)
        rows.append(row)
    return np.array(rows)
