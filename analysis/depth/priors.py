"""Owns the way from parameter values to the shifts that a kind's loads take."""

from __future__ import annotations

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds import Gear
from analysis.depth.kinds.protocol import Shifts
from analysis.depth.towline import Array


def shifts_at(gear: Gear, columns: Columns, values: Array) -> Shifts:
    """Return what a kind's `tow` needs for parameter values, (p,) for all rows or (p, rows)."""
    names = [parameter.name for parameter in gear.parameters()]
    values = np.broadcast_to(values.reshape(len(names), -1), (len(names), columns.size))
    shifts: dict[str, Array] = {}
    shares = gear.roll_shares(columns.setting)
    for place, name in enumerate(names):
        if name != "roll":
            shifts[name] = values[place]
    if shares.shape[1]:
        shifts["roll"] = np.einsum("rk,kr->r", shares, values[-shares.shape[1] :])
    return shifts
