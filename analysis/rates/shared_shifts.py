"""How depths follow the errors that sets share: a parabola along each of a gear's own errors."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SharedShifts:
    """How log depth follows the shared errors of a fit on some rows.

    An angle that pulls a diver down, and the drag of a cable, move log depth the less the further
    they go one way and the more the other. By slopes alone a gear that is off by two standard
    deviations cannot be believed, and strikes are laid to depths where they were not taken.

    Attributes
    ----------
    loadings : (rows, errors) array
        Slope of log depth to one standard deviation of each error.
    bends : (rows, own errors) array
        Its second difference to each of the gears' own errors, of which errors are the main modes.
    turn : (errors, own errors) array
        Orthonormal rows: own errors are ``error @ turn``, but for what the modes leave open.
    """

    loadings: Array
    bends: Array
    turn: Array

    def take(self, row: NDArray[np.intp]) -> SharedShifts:
        """Return some of the rows."""
        return SharedShifts(loadings=self.loadings[row], bends=self.bends[row], turn=self.turn)

    @cached_property
    def _left(self) -> Array:
        """Variance of own errors that the modes leave open."""
        return np.asarray(1.0 - np.sum(self.turn**2, axis=0))

    def log_shift(self, error: Array) -> Array:
        """Log of true over modelled depth (rows,), given the shared errors (errors,)."""
        own = error @ self.turn
        return np.asarray(self.loadings @ error + 0.5 * self.bends @ (own**2 + self._left))

    def slopes(self, error: Array) -> Array:
        """Slope of `log_shift` to each error (rows, errors) where they are ``error``."""
        return np.asarray(self.loadings + (self.bends * (error @ self.turn)) @ self.turn.T)

    def slopes_of_sums(self, sums: csr_array, error: Array) -> Array:
        """Return ``sums @ slopes(error)`` of some sums of rows (sums, rows), with less work."""
        own = (sums @ self.bends) * (error @ self.turn)
        return np.asarray(sums @ self.loadings + own @ self.turn.T)
