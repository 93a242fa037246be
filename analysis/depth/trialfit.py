"""Owns the fit of a gear's parameters to depth-logger trials, some of which may be mistaken.

Parameters are normal about their prior. The log of a logged depth is the model's, give or take
a normal error whose size is learnt about a prior of 3 %; or, with a chance of 2 %, the trial is
mistaken (wrong unit, setting, gear) and says nothing. Expectation-maximisation with Gauss-Newton
steps finds the most probable parameters and, for each trial, the chance that it belongs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.towline import Array
from analysis.depth.uncertainty import GearBelief, jacobian, log_depth, slopes_of

TRIAL_SD = 0.03
"""Error of a trial as a share of depth: logger, counter and speed (shared physics page)."""
TRIAL_SD_WORTH = 6.0  # trials that the prior of the trial error counts for
MISTAKEN_SHARE = 0.02  # of trials, before any is seen (from memory)
MISTAKEN_WIDTH = 3.0  # of log depth over which a mistaken trial may lie: feet for metres and more
BLURS = (0.3, 0.05)
ITERATIONS = 40
HALVINGS = 6
COST_SLACK = 1e-6
SETTLED = 0.01  # posterior sd that a parameter still moves, share that the trial error changes


@dataclass(frozen=True)
class TrialFit:
    """Parameters fitted to trials.

    Attributes
    ----------
    mean, covariance
        Of the parameters.
    residual : (trials,)
        Log of logged over fitted depth.
    belongs : (trials,)
        Chance that the trial is not mistaken.
    trial_sd
        Error of a trial that belongs, in log depth.
    """

    mean: Array
    covariance: Array
    residual: Array
    belongs: Array
    trial_sd: float

    def badness(self, prior: GearBelief) -> float:
        """Return the negative log posterior, up to a constant."""
        fits, mistaken = _densities(self.residual, self.trial_sd)
        away = self.mean @ np.linalg.solve(prior.covariance, self.mean) / 2.0
        ratio = (TRIAL_SD / self.trial_sd) ** 2
        size = TRIAL_SD_WORTH / 2.0 * (ratio - np.log(ratio))
        return float(away + size - np.sum(np.log(fits + mistaken)))


def _densities(residual: Array, sd: float) -> tuple[Array, float]:
    """Return the density of residuals of trials that belong, and of mistaken ones."""
    normal = np.exp(-0.5 * (residual / sd) ** 2) / (np.sqrt(2.0 * np.pi) * sd)
    return (1.0 - MISTAKEN_SHARE) * normal, MISTAKEN_SHARE / MISTAKEN_WIDTH


def fit_trials(prior: GearBelief, columns: Columns, depth_m: Array) -> TrialFit:
    """Fit a gear's parameters to trials.

    There may be several optima: a trial far off may be mistaken, or the gear may be far from
    its prior. The search comes down from two distances and the more probable end is taken.

    Parameters
    ----------
    prior
        The gear before the trials.
    columns, depth_m
        At least one trial that the prior can solve, and what the logger read.
    """
    fits = [_come_down(prior, columns, np.log(depth_m), blur) for blur in BLURS]
    return min(fits, key=lambda fit: fit.badness(prior))


def _come_down(prior: GearBelief, columns: Columns, logged: Array, blur: float) -> TrialFit:
    """Fit, at first as if trials were as inexact as `blur`, halving it on the way."""
    gear, water = prior.gear, prior.water
    inverse = np.linalg.inv(prior.covariance)
    mean, sd, covariance = prior.mean, TRIAL_SD, prior.covariance
    residual = logged - log_depth(gear, columns, water, mean)
    belongs = np.ones(logged.size)
    for turn in range(ITERATIONS):
        wide = max(sd, blur * 0.5**turn)
        fits, mistaken = _densities(residual, wide)
        belongs = fits / (fits + mistaken)
        each = jacobian(gear, columns, slopes_of(gear, columns, water, mean), mean)
        pull = each.T * (belongs / wide**2)
        covariance = np.asarray(np.linalg.inv(inverse + pull @ each))
        move = covariance @ (pull @ residual - inverse @ mean)
        # A full step may go too far, or where a trial has no solution: then take half of it.
        worst = belongs @ residual**2 / wide**2 + mean @ inverse @ mean + COST_SLACK
        for _ in range(HALVINGS):
            there = mean + move
            missed = logged - log_depth(gear, columns, water, there)
            if belongs @ missed**2 / wide**2 + there @ inverse @ there <= worst:
                mean, residual = there, missed
                break
            move = move / 2.0
        else:
            move = np.zeros(mean.size)
        # The error's own prior counts as some trials; parameters learnt use trials up.
        free = float(np.sum(belongs) - np.trace(covariance @ pull @ each))
        total = TRIAL_SD_WORTH * TRIAL_SD**2 + float(belongs @ residual**2)
        before, sd = sd, float(np.sqrt(total / (TRIAL_SD_WORTH + free)))
        size = float(np.max(np.abs(move) / np.sqrt(np.diag(covariance))))
        if wide == before and max(abs(sd / before - 1.0), size) < SETTLED:
            break
    return TrialFit(mean, covariance, residual, belongs, sd)
