"""Owns rates counted over trips whose strikes come in bursts: wider than Poisson where they do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

Array = NDArray[np.float64]
BOUNDS = (0.05, 0.95)


@dataclass(frozen=True, kw_only=True)
class CountedRate:
    """Strikes over rod-hours, with what is not known of their rate.

    The rate is gamma distributed about it: Jeffreys' prior of a Poisson rate, the counts divided
    by their dispersion over trips (quasi-Poisson: Pearson's chi-squared over its degrees of
    freedom, McCullagh & Nelder 1989, *Generalized Linear Models*, sec. 6.2, from memory), which
    is never taken below 1.

    Attributes
    ----------
    strikes, hours : float
    dispersion : float

    Examples
    --------
    >>> steady = counted_rate(np.array([2.0, 2.0, 2.0]), np.array([20.0, 20.0, 20.0]))
    >>> bursts = counted_rate(np.array([6.0, 0.0, 0.0]), np.array([20.0, 20.0, 20.0]))
    >>> steady.rate, steady.dispersion, bursts.dispersion
    (0.1, 1.0, 6.0)
    >>> steady.high < bursts.high
    True
    """

    strikes: float
    hours: float
    dispersion: float

    @property
    def rate(self) -> float:
        """Strikes per rod-hour; NaN without rod-hours."""
        return self.strikes / self.hours if self.hours > 0 else float("nan")

    @property
    def low(self) -> float:
        """Lower 90 % bound."""
        return 0.0 if self.strikes == 0 else self._quantile(BOUNDS[0])

    @property
    def high(self) -> float:
        """Upper 90 % bound."""
        return self._quantile(BOUNDS[1])

    def _quantile(self, share: float) -> float:
        if self.hours <= 0:
            return float("nan")
        shape = self.strikes / self.dispersion + 0.5
        return float(gammaincinv(shape, share) * self.dispersion / self.hours)

    def draws(self, count: int, rng: np.random.Generator) -> Array:
        """Draw the rate."""
        shape = self.strikes / self.dispersion + 0.5
        return np.asarray(rng.gamma(shape, self.dispersion / self.hours, count))


def counted_rate(strikes: Array, hours: Array) -> CountedRate:
    """Return the rate of strikes counted by trip.

    Parameters
    ----------
    strikes, hours : (trips,) array
        A trip without rod-hours counts for nothing.
    """
    fished = hours > 0
    struck, spent = strikes[fished], hours[fished]
    total, effort = float(struck.sum()), float(spent.sum())
    dispersion = 1.0
    if total > 0 and len(struck) > 1:
        expected = total * spent / effort
        dispersion = max(
            1.0, float(np.sum((struck - expected) ** 2 / expected)) / (len(struck) - 1)
        )
    return CountedRate(strikes=total, hours=effort, dispersion=dispersion)
