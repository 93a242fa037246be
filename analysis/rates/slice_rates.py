"""Rates of slices by the water they were in, refit by refit: each has a water and depths."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Values = dict[str, NDArray[np.generic]]

STEP = 0.02
"""Of log depth, for slopes."""
_NOTHING = 1e-200
"""Rate of no strays, so that it has a logarithm."""


def refits(fit: Fit) -> Iterator[Index]:
    """Rows of the draws that belong to each refit."""
    for refit in np.unique(fit.refit):
        yield np.flatnonzero(fit.refit == refit)


def mean_shift(exposure: Exposure, fit: Fit, row: Index, draws: Index) -> Array:
    """Log of true over modelled depth of slices (rows,), at the mean of the draws' depth errors."""
    return exposure.shifts.log_shift(fit.error_draws[draws].mean(axis=0))[row]


def water_values(exposure: Exposure, fit: Fit, row: Index, draws: Index, shift: Array) -> Values:
    """Return the values of the water's terms at some slices.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    row : (rows,) int array
        Slices, of known covariates.
    draws : (draws,) int array
        Of one refit; see `refits`.
    shift : (rows,) array
        Log of true over modelled depth; see `mean_shift`.
    """
    refit = fit.refit[draws[0]]
    layers = fit.layers[exposure.trip[row], refit]
    return exposure.values(fit.model.water, row, shift, layers, fit.waters[refit])


def rate_of_water(fit: Fit, draws: Index, known: Values, rows: int) -> Array:
    """Return the rate of slices by the water they were in, strays included.

    Parameters
    ----------
    fit : Fit
    draws : (draws,) int array
        Of one refit; see `refits`.
    known : mapping of str to array
        `water_values` of the slices.
    rows : int
        Their number.

    Returns
    -------
    (rows, draws) array
    """
    curves = fit.model.water.design(known, rows) @ fit.draws[draws][:, fit.model.of_water].T
    np.exp(curves, out=curves)
    curves += fit.background[draws]
    return np.asarray(curves)


def steepness(fit: Fit, draws: Index, here: Values, deeper: Values, rows: int) -> Array:
    """Slope of the log rate of slices (rows,) to log depth, by `water_values` `STEP` apart."""
    coef = fit.draws[draws].mean(axis=0)[fit.model.of_water]
    stray = np.log(fit.background[draws].mean() + _NOTHING)
    above, below = (
        np.logaddexp(fit.model.water.log_rate(values, coef, rows), stray)
        for values in (here, deeper)
    )
    return np.asarray((below - above) / STEP)
