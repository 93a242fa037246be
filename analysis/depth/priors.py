"""Owns what is believed of a gear's parameters before any trial, and how values become shifts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds import Gear
from analysis.depth.kinds.protocol import Parameter, Shifts
from analysis.depth.march import Array

NEIGHBOURS_LEAN = 0.5
"""Correlation of one parameter at two neighbouring marks of a dial (from memory): a dial is made
in one piece, so a mark that tilts further than written has neighbours that do."""


def shifts_at(gear: Gear, columns: Columns, values: Array) -> Shifts:
    """Return what a kind's `tow` needs for parameter values, (p,) for all rows or (p, rows)."""
    parameters = gear.parameters()
    values = np.broadcast_to(values.reshape(len(parameters), -1), (len(parameters), columns.size))
    return {parameter.key: row for parameter, row in zip(parameters, values, strict=True)}


def prior_covariance(parameters: Sequence[Parameter]) -> Array:
    """Return the covariance of the parameters before any trial.

    Each has its own sd. Those of one name at several marks of a dial are correlated, the less
    the more marks lie between, so that a setting never tried learns from its neighbours.

    >>> rolls = [Parameter(name="roll", sd=0.2, source="", setting=mark) for mark in (1, 2, 3)]
    >>> (prior_covariance(rolls) / 0.2**2).round(3)
    array([[1.  , 0.5 , 0.25],
           [0.5 , 1.  , 0.5 ],
           [0.25, 0.5 , 1.  ]])
    """
    correlation = np.eye(len(parameters))
    for name in {parameter.name for parameter in parameters}:
        same = [place for place, parameter in enumerate(parameters) if parameter.name == name]
        apart = np.abs(np.subtract.outer(range(len(same)), range(len(same))))
        correlation[np.ix_(same, same)] = NEIGHBOURS_LEAN**apart
    sd = np.array([parameter.sd for parameter in parameters])
    return np.asarray(correlation * np.outer(sd, sd))
