"""Owns which trial to do next, and what it would buy.

What a trial will say is not known: it may be anything that the belief allows. So parameters are
drawn from the belief, each draw in turn is taken for the boat whose trial it is, and all draws are
weighed by what that trial would say, which for all one knows is a mistake. What is left of their
variance, in the mean over boats, is what the trial leaves. (Expected posterior variance by weighed
draws; e.g. Chaloner & Verdinelli, Statistical Science 10(3), 1995, 273-304, from memory.) Log depth
taken as straight in the parameters, and trials as beyond doubt, would promise more than comes.
"""

from __future__ import annotations

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.march import Array
from analysis.depth.slopes import WIDEST_SD, log_depth
from analysis.depth.trialfit import MISTAKEN_SHARE, MISTAKEN_WIDTH, trial_errors
from analysis.depth.uncertainty import GearBelief
from analysis.trials import NextTrial

DRAWS = 512
FURTHEST = 2.0 * WIDEST_SD  # of log depth off the mean that counts: a line out of the water is it


def next_trial(belief: GearBelief, uses: Columns, scale: float) -> NextTrial:
    """Return the use that, as a trial of another day, would leave the least mean variance.

    Parameters
    ----------
    belief
        The gear as known.
    uses
        The uses over which its depth is to be known, and at which it may be tried.
    scale
        How much larger errors of trials are than `trial_errors` makes them.
    """
    error = scale * trial_errors(belief, uses, belief.solve(uses).depth_m)
    off = _drawn(belief, uses)
    now = np.mean(off**2)
    # A use that leaves the water, by what the trials taught, cannot be tried.
    then = np.array(
        [now if np.isnan(sd) else _left(off, at, sd) for at, sd in zip(off.T, error, strict=True)]
    )
    best = int(np.argmin(then))
    shared = belief.loadings(uses).shared
    sd_now = float(np.sqrt(np.mean(np.sum(shared**2, axis=1))))
    return NextTrial(
        setting=float(uses.setting[best]),
        line_out_m=float(uses.line_out_m[best]),
        speed_mps=float(uses.speed_mps[best]),
        sd_now=sd_now,
        sd_then=sd_now * float(np.sqrt(then[best] / now)),
    )


def _drawn(belief: GearBelief, uses: Columns) -> Array:
    """Return (draws, uses): how far log depth is off its mean with parameters as believed."""
    values, vectors = np.linalg.eigh(belief.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    half = np.random.default_rng(0).standard_normal((DRAWS // 2, values.size))
    drawn = belief.mean + np.concatenate([half, -half]) @ root.T
    many = uses.take(np.tile(np.arange(uses.size), DRAWS))
    every = np.repeat(drawn.T, uses.size, axis=1)
    logs = log_depth(belief.gear, many, belief.water, every).reshape(DRAWS, -1)
    off = logs - np.nanmean(logs, axis=0)
    off = np.clip(np.nan_to_num(off, nan=-FURTHEST), -FURTHEST, FURTHEST)
    return np.asarray(off - off.mean(axis=0))


def _left(off: Array, tried: Array, error: float) -> float:
    """Return the mean variance that is left after a trial where depth is `tried` off (draws,)."""
    fits = np.exp(-0.5 * (np.subtract.outer(tried, tried) / error) ** 2)
    fits *= (1.0 - MISTAKEN_SHARE) / (np.sqrt(2.0 * np.pi) * error)
    fits += MISTAKEN_SHARE / MISTAKEN_WIDTH
    fits /= fits.sum(axis=1, keepdims=True)
    return float(np.mean(fits @ off**2 - (fits @ off) ** 2))
