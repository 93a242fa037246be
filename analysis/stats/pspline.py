"""A smooth curve of one covariate: one peak by default, more shape only where the log insists."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, PPoly

Array = NDArray[np.float64]

DEGREE = 3
PENALTY_ORDER = 3


@dataclass(frozen=True, kw_only=True)
class Smooth:
    """A penalised B-spline (P-spline) with third-difference penalty, as a mixed model.

    The third difference leaves a parabola unpenalised, so a log rate shrinks to one peak, where a
    second difference would shrink it to a line whose best depth is an edge. The parabola and the
    deviation from it are separate blocks, each with a prior standard deviation that the data
    choose, so a covariate the fish ignore can shrink away altogether.

    Eilers & Marx 1996, *Statistical Science* 11(2), 89-121 (P-splines); Wand & Ormerod 2008,
    *Aust. N. Z. J. Stat.* 50(2), 179-198 (mixed-model form). Both from memory.

    Attributes
    ----------
    name : str
        Column of the covariate, with its unit.
    low, high : float
        Range the curve can bend in; beyond it only the parabola goes on.
    order : int
        2 for a parabola beneath the deviation, 1 for a straight line.
    wiggles : int
        Number of functions for the deviation; 0 for none.
    logarithmic : bool
        Whether the curve is in the logarithm of the covariate.
    """

    name: str
    low: float
    high: float
    order: int = 2
    wiggles: int = 9
    logarithmic: bool = False

    @classmethod
    def over(
        cls,
        name: str,
        values: Array,
        weights: Array,
        *,
        wiggles: int = 9,
        logarithmic: bool = False,
    ) -> Smooth:
        """Span the middle 98 % of the effort, widened by a twentieth on each side."""
        order = np.argsort(values)
        share = np.cumsum(weights[order]) / np.sum(weights)
        inner = np.interp([0.01, 0.99], share, values[order])
        margin = 0.05 * (inner[1] - inner[0])
        low, high = inner[0] - margin, inner[1] + margin
        if logarithmic:
            low = max(low, 0.5 * inner[0])
        return cls(
            name=name, low=float(low), high=float(high), wiggles=wiggles, logarithmic=logarithmic
        )

    @property
    def is_constant(self) -> bool:
        """Whether the covariate hardly varies, so that no curve can be told."""
        return self.high - self.low < 1e-3 * max(1.0, abs(self.high))

    @property
    def blocks(self) -> tuple[int, ...]:
        """Columns of each block: the parabola, then the deviation from it."""
        return (self.order, self.wiggles) if self.wiggles else (self.order,)

    def design(self, values: Array) -> Array:
        """Columns of the curve at ``values``: (values, 2 + wiggles); 0 where a value is missing."""
        z, missing = self._scaled(values)
        columns = self._parabola(z)
        if self.wiggles:
            columns = np.column_stack([columns, _deviations(self.wiggles)(np.clip(z, -1.0, 1.0))])
        columns[missing] = 0.0
        return columns

    def log_rate(self, values: Array, coef: Array) -> Array:
        """Return ``design(values) @ coef`` without building the columns."""
        z, missing = self._scaled(values)
        curve = self._parabola(z) @ coef[: self.order]
        if self.wiggles:
            curve += _along(_deviations(self.wiggles), coef[self.order :], np.clip(z, -1.0, 1.0))
        curve[missing] = 0.0
        return np.asarray(curve)

    def _parabola(self, z: Array) -> Array:
        return np.column_stack([z, z**2 - 1 / 3][: self.order])

    def _scaled(self, values: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Values with the span at -1 to 1, those that are missing in its middle; and which are."""
        values = np.asarray(values, dtype=float)
        if self.logarithmic:
            low, high, values = np.log(self.low), np.log(self.high), np.log(values)
        else:
            low, high = self.low, self.high
        z = np.clip((2 * values - low - high) / (high - low), -3.0, 3.0)
        missing = ~np.isfinite(z)
        return np.where(missing, 0.0, z), missing


def _along(pieces: PPoly, coef: Array, z: Array) -> Array:
    """Sum of the curves times ``coef`` at ``z``; the breaks are even, so no place is searched."""
    powers = pieces.c @ coef
    piece = ((z - pieces.x[0]) / (pieces.x[1] - pieces.x[0])).astype(np.intp)
    piece = np.clip(piece, 0, powers.shape[1] - 1)
    beyond = z - pieces.x[piece]
    total = powers[0][piece]
    for power in powers[1:]:
        total *= beyond
        total += power[piece]
    return np.asarray(total)


@lru_cache
def _deviations(wiggles: int) -> PPoly:
    """Cubics on [-1, 1], of unit variance together: the deviations from a parabola."""
    size = wiggles + PENALTY_ORDER
    step = 2.0 / (size - DEGREE)
    knots = -1.0 + step * np.arange(-DEGREE, size + 1)
    basis = BSpline(knots, np.eye(size), DEGREE)
    difference = np.diff(np.eye(size), PENALTY_ORDER, axis=0)
    transform = difference.T @ np.linalg.inv(difference @ difference.T)
    grid = np.linspace(-1.0, 1.0, 201)
    values = basis(grid) @ transform
    parabola = np.polynomial.legendre.legvander(grid, 2)
    fitted, *_ = np.linalg.lstsq(parabola, values, rcond=None)
    to_basis, *_ = np.linalg.lstsq(basis(grid), parabola, rcond=None)
    transform = transform - to_basis @ fitted
    scale = np.sqrt(np.mean(np.sum((basis(grid) @ transform) ** 2, axis=1)))
    pieces = [PPoly.from_spline(BSpline(knots, column, DEGREE)) for column in transform.T / scale]
    inside = slice(DEGREE, -DEGREE)
    powers = np.stack([piece.c[:, inside] for piece in pieces], axis=-1)
    return PPoly(powers, pieces[0].x[inside])
