"""Effect curves: how the catch rate changes with one thing, all else equal, with bounds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.terms import WATER
from analysis.rates.within_trip import SharedCurve
from analysis.stats.pspline import Smooth

Array = NDArray[np.float64]

POINTS = 25
SLICES = 400
"""Slices over which what stands beside a curve is averaged."""
BOUNDS = (0.05, 0.95)
STEPS = {
    "depth_m": 1.524,
    "speed_mps": 0.044704,
    "lure_temp_c": 1.0,
    "surface_temp_c": 1.0,
    "leader_length_m": 0.3048,
}
"""Step of each term's derivative: 5 ft, 0.1 mph, 1 C, 1 ft."""


COLUMNS = (
    *("term", "at", "ratio", "low", "high", "reference"),
    *("step", "step_ratio", "step_low", "step_high"),
)


def weighted_quantile(values: Array, weights: Array, share: float) -> float:
    """Quantile of ``values`` weighted by rod-hours."""
    order = np.argsort(values)
    passed = np.cumsum(weights[order]) - 0.5 * weights[order]
    return float(np.interp(share * weights.sum(), passed, values[order]))


def draws_of_term(fit: Fit, name: str) -> Array:
    """Draws of a term's coefficients (draws, columns) from the models averaged that have it."""
    coef = fit.draws[:, fit.model.columns_of(name)]
    return np.asarray(coef[coef.any(axis=1)])


def effect_table(
    exposure: Exposure,
    fit: Fit,
    *shared: SharedCurve | None,
    instead: Mapping[str, Fit] | None = None,
) -> pd.DataFrame:
    """Catch-rate ratios against each term's reference, the median of the rod-hours.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit
    *shared : SharedCurve or None
        Curves of what all rods of a boat share: speed, surface temperature.
    instead : mapping of str to Fit, optional
        Fits to ask about some terms in place of ``fit``, in which hardly a draw has them.

    Returns
    -------
    DataFrame
        ``term, at, ratio, low, high`` of the contract; ``reference``; and ``step, step_ratio,
        step_low, step_high``: the ratio for one more step (5 ft, 0.1 mph, 1 C, 1 ft) there. Grid
        from the 2 % to the 98 % point of the rod-hours, reference included. Ratios are the
        median of the draws, bounds their 5 % and 95 % points. No curve of a fit that rests on no
        strike: its draws are what was thought before.
    """
    hours = exposure.table["hours"].to_numpy()
    curves: list[tuple[str, Callable[[Array], Array]]] = []
    for term in fit.model.terms if fit.smoothing is not None else ():
        if isinstance(term, Smooth):
            asked = fit if instead is None else instead.get(term.name, fit)
            coef = draws_of_term(asked, term.name)
            least = _log_least(exposure, asked, term.name)
            curves.append((term.name, partial(_log_rate, term, coef, least)))
    curves += [(curve.smooth.name, curve.log_rate) for curve in shared if curve is not None]
    frames = [_curve(name, exposure, hours, log_rate) for name, log_rate in curves]
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=list(COLUMNS))


def _log_rate(term: Smooth, coef: Array, log_least: Array, values: Array) -> Array:
    """Log rate (values, draws) along a curve, strays included."""
    return np.logaddexp(term.design(values) @ coef.T, log_least)


def _log_least(exposure: Exposure, fit: Fit, name: str) -> Array:
    """Log of the background along one curve of the water, the others as the rods met them.

    One for each of `draws_of_term`; none for a curve of tackle, which works on strays too.
    """
    model = fit.model
    held = fit.draws[:, model.columns_of(name)].any(axis=1)
    if name not in WATER:
        return np.full(int(held.sum()), -np.inf)
    row = np.flatnonzero(exposure.complete(model))
    row = row[:: max(len(row) // SLICES, 1)]
    others = model.of_water.copy()
    others[model.columns_of(name)] = False
    design = model.design(exposure.values(model.water, row), len(row))[:, others]
    hours = exposure.table["hours"].to_numpy(dtype=float)[row]
    beside = hours @ np.exp(design @ fit.draws[held][:, others].T) / hours.sum()
    with np.errstate(divide="ignore"):  # no background: no least rate
        return np.asarray(np.log(fit.background[held] / beside))


def _curve(
    name: str, exposure: Exposure, hours: Array, log_rate: Callable[[Array], Array]
) -> pd.DataFrame:
    values = exposure.table[name].to_numpy(dtype=float)
    known = np.isfinite(values)
    values, weights = values[known], hours[known]
    low, reference, high = (weighted_quantile(values, weights, q) for q in (0.02, 0.5, 0.98))
    at = np.unique(np.append(np.linspace(low, high, POINTS), reference))
    step = STEPS[name]
    base = log_rate(np.array([reference]))
    ratio = np.exp(log_rate(at) - base)
    more = np.exp(log_rate(at + step) - log_rate(at))
    bounds = np.quantile(ratio, BOUNDS, axis=1)
    step_bounds = np.quantile(more, BOUNDS, axis=1)
    return pd.DataFrame(
        {
            "term": name,
            "at": at,
            "ratio": np.median(ratio, axis=1),
            "low": bounds[0],
            "high": bounds[1],
            "reference": reference,
            "step": step,
            "step_ratio": np.median(more, axis=1),
            "step_low": step_bounds[0],
            "step_high": step_bounds[1],
        }
    )
