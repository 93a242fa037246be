"""Whether the boats of a club met the same fish: one answer for all of them rests on it."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.linalg import pinvh
from scipy.stats import chi2

from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.rods import rods_of

Array = NDArray[np.float64]

CHANCE = 0.01
"""Chance of a false alarm in a season, parted among its boats."""


def boats_apart(exposure: Exposure, fit: Fit) -> tuple[str, ...]:
    """Name the boats that took their strikes at other depths than the model of all boats has it.

    Given the rods down at each strike, the model tells the chance of each. A boat's strikes may
    lie deeper or shallower than that, or nearer to the middle or the edges: a score test of a slope
    and a bend of its own in the curve of depth (Rao 1948, *Proc. Camb. Phil. Soc.* 44, 50-57, from
    memory), with two degrees of freedom. The curves were fitted to the boat's own strikes too,
    which makes an alarm rarer, not more frequent.

    Parameters
    ----------
    exposure : Exposure
    fit : Fit

    Returns
    -------
    tuple of str
        Empty for a single boat, or where nothing was fitted.
    """
    boats = exposure.table["boat"].unique()
    if len(boats) < 2 or fit.smoothing is None:
        return ()
    rods = rods_of(exposure, fit.model)
    row, moment, hit = rods.sets.row, rods.sets.moment, rods.sets.hit
    layers = fit.mean_layers[exposure.trip[row]]
    known = fit.draws.mean(axis=0)[None], fit.error_draws.mean(axis=0)[None], layers
    curves, tackle = (log[:, 0] for log in rods.log_rates(*known))
    rate = pd.Series((np.exp(curves) + fit.background.mean()) * np.exp(tackle))
    chance = (rate / rate.groupby(moment).transform("sum")).to_numpy()
    depth = exposure.depth_m[row]
    at = (depth - depth.mean()) / max(depth.std(), np.finfo(float).tiny)
    bends = np.column_stack([at, at**2])
    usual = pd.DataFrame(chance[:, None] * bends).groupby(moment).transform("sum").to_numpy()
    away = bends - usual
    boat = exposure.table["boat"].to_numpy()[row]
    told = []
    for name in boats:
        own = boat == name
        score = (hit[own] - chance[own]) @ away[own]
        variance = (chance[own, None] * away[own]).T @ away[own] * max(fit.dispersion, 1.0)
        if chi2.sf(score @ pinvh(variance) @ score, 2) < CHANCE / len(boats):
            told.append(str(name))
    return tuple(told)
