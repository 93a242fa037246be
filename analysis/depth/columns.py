"""Owns what a log says of each towed line: columns, which rows are distinct, which refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M, LINE_OUT_M, SPEED_MPS
from analysis.depth.march import Array, Rows

if TYPE_CHECKING:
    from analysis.depth.kinds.protocol import Gear

_SLOWEST_MPS = 1e-6
_LONGEST_TRAIL_M = 5.0  # of a lure that dives, where no lead is logged
Texts = NDArray[np.object_]


@dataclass(frozen=True, kw_only=True)
class Columns:
    """What a log says of each row: same-length arrays, NaN where nothing is written.

    The columns `lure_...` are those of a lure that boat.toml describes (`analysis.depth.lures`):
    lift and drag area, weight in water, and the sd of the logarithm of its lift. `turn_rad_s` is
    how fast the boat turns, positive toward the row's own side and NaN where that is not
    known (solved as straight ahead), `tip_y_m` how far the rod tip is
    from the boat's middle, and `shear_per_s` by how much a metre deeper the water streams faster
    past the boat (`analysis.depth.streams`).
    """

    setting: Array
    line_out_m: Array
    speed_mps: Array
    tip_height_m: Array
    leader_length_m: Array
    lead_m: Array
    lure_lift_area_m2: Array
    lure_drag_area_m2: Array
    lure_weight_n: Array
    lure_doubt: Array
    turn_rad_s: Array
    tip_y_m: Array
    shear_per_s: Array

    @classmethod
    def of(
        cls,
        *,
        setting: ArrayLike = np.nan,
        line_out_m: ArrayLike,
        speed_mps: ArrayLike,
        tip_height_m: ArrayLike = DEFAULT_TIP_HEIGHT_M,
        leader_length_m: ArrayLike = np.nan,
        lead_m: ArrayLike = np.nan,
        lure_lift_area_m2: ArrayLike = np.nan,
        lure_drag_area_m2: ArrayLike = np.nan,
        lure_weight_n: ArrayLike = np.nan,
        lure_doubt: ArrayLike = np.nan,
        turn_rad_s: ArrayLike = np.nan,
        tip_y_m: ArrayLike = np.nan,
        shear_per_s: ArrayLike = 0.0,
    ) -> Columns:
        """Broadcast the columns to one length."""
        given = [setting, line_out_m, speed_mps, tip_height_m, leader_length_m, lead_m]
        given += [lure_lift_area_m2, lure_drag_area_m2, lure_weight_n, lure_doubt]
        given += [turn_rad_s, tip_y_m, shear_per_s]
        arrays = np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in given))
        return cls(
            **dict(
                zip(cls.__dataclass_fields__, (np.ravel(column) for column in arrays), strict=True)
            )
        )

    @classmethod
    def stacked(cls, several: Sequence[Columns]) -> Columns:
        """Put columns under each other."""
        return cls(
            **{
                name: np.concatenate([getattr(one, name) for one in several])
                for name in cls.__dataclass_fields__
            }
        )

    def take(self, rows: Rows) -> Columns:
        """Return the chosen rows."""
        return Columns(**{name: column[rows] for name, column in vars(self).items()})

    @property
    def size(self) -> int:
        """Number of rows."""
        return self.line_out_m.size

    @property
    def described(self) -> NDArray[np.bool_]:
        """Where the lure is one that boat.toml describes."""
        return ~np.isnan(self.lure_lift_area_m2)

    @property
    def uneven(self) -> NDArray[np.bool_]:
        """Where the water does not stream alike all along the line."""
        return np.asarray((np.nan_to_num(self.turn_rad_s) != 0.0) | (self.shear_per_s != 0.0))

    @property
    def deepest_m(self) -> Array:
        """How deep lures may be at most: a line straight down, with what a diving one trails on."""
        leader, lead = self.leader_length_m, self.lead_m
        trails = np.fmax(np.nan_to_num(leader), np.nan_to_num(lead, nan=_LONGEST_TRAIL_M))
        return np.asarray(self.line_out_m + np.where(self.described, trails, 0.0))

    def without(self, *names: str, where: NDArray[np.bool_] | bool = True) -> Columns:
        """Blank columns that do not matter."""
        blank = {name: np.where(where, np.nan, getattr(self, name)) for name in names}
        return replace(self, **blank)

    def for_gear(self, gear: Gear) -> Columns:
        """Blank what does not matter to a gear, so that rows equal in the rest are equal."""
        return gear.relevant(self.without("tip_y_m", where=np.nan_to_num(self.turn_rad_s) == 0.0))

    def distinct(self, *others: Array) -> tuple[Rows, Rows]:
        """Return one row of each distinct combination, and for each row which of them it is.

        `others` are further columns to tell rows apart by.
        """
        code = np.zeros(self.size, dtype=np.int64)
        for column in (*vars(self).values(), *others):
            if np.array_equal(column[1:], column[:-1], equal_nan=True):
                continue
            values, place = np.unique(column, return_inverse=True)
            if values.size > 1:
                code = np.unique(code * values.size + place, return_inverse=True)[1]
        _, first, place = np.unique(code, return_index=True, return_inverse=True)
        return first, place


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
    for found in gear.refusals(columns):
        refuse(*found)
    return reason
