"""Owns the fit of a gear's parameters to depth-logger trials, some of which may be mistaken.

Parameters are normal about their prior. The log of a logged depth is the model's, give or take
the error of its row (logger, counter, speed, turns), times a scale that is learnt about 1; or,
with a chance of 5 %, the trial is mistaken: it teaches nothing, and is the likelier to be so if a
slip of the pen (wrong unit, setting, digits swapped) explains what it says.

All trials of a day were towed in its shear, and all with one lure that dives had its lift: both are
fitted beside the parameters. Else a boat that made its eight trials in one morning would take that
morning's water for its gear.

Which trials are mistaken is not decided: sets of mistaken trials are enumerated from none
upward, each is fitted by Gauss-Newton steps, all at once, and weighed by its evidence (Laplace's
approximation). The answer is the mixture's mean and covariance, so that a doubt about a trial is
part of the doubt about depth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from analysis.depth.columns import Columns
from analysis.depth.march import Array
from analysis.depth.slips import Rewritten, rewritten
from analysis.depth.slopes import log_depth
from analysis.depth.uncertainty import GearBelief

LOGGER_SD_M = 0.2
"""Of a depth logger and where on the line it is clipped (from memory)."""
SCALE_WORTH = 6.0  # trials that the prior of the errors' scale counts for
MISTAKEN_SHARE = 0.05  # of trials, before any is seen (from memory)
SLIP_SHARE = 0.75  # of mistaken trials, those with one of the slips that are known (from memory)
MISTAKEN_WIDTH = 3.0  # of log depth over which any other mistaken trial may lie
ENUMERATED = 24  # sets of mistaken trials that are weighed for each number of mistakes
AT_LEAST = 4  # of these, however unlikely they look
EXTENDED = 8  # of them, the best, to which a further mistake is added
FIRST_BLUR = 8.0  # the search begins as if errors were this much larger
NEGLIGIBLE = 9.0  # nats below the best: a set of mistakes that counts for nothing
ITERATIONS = 25
HALVINGS = 5
SETTLED = 0.02  # posterior sd that a parameter still moves, share that the scale changes
UNSOLVED = 3.0  # log residual of a trial that has no depth with some parameters

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class TrialFit:
    """Parameters fitted to trials.

    Attributes
    ----------
    mean, covariance
        Of the parameters, over all that may be mistaken.
    belongs : (trials,)
        Chance that the trial is not mistaken.
    scale
        How much larger the errors of trials are than `trial_errors` makes them.
    """

    mean: Array
    covariance: Array
    belongs: Array
    scale: float


@dataclass(frozen=True)
class _Modes:
    """The fits of h sets of mistaken trials.

    Attributes
    ----------
    mistaken : (h, trials)
        Which trials are taken as mistaken.
    mean, covariance : (h, p), (h, p, p)
        Of the parameters, and after them of what is fitted beside them.
    scale : (h,)
        Of the errors.
    score : (h,)
        Log evidence.
    gain : (h, trials)
        About how much calling one more trial mistaken would add to it.
    """

    mistaken: Flags
    mean: Array
    covariance: Array
    scale: Array
    score: Array
    gain: Array

    def join(self, other: _Modes) -> _Modes:
        """Return both together."""
        return _Modes(
            *map(np.concatenate, zip(vars(self).values(), vars(other).values(), strict=True))
        )


@dataclass(frozen=True)
class _Trials:
    """Trials that the prior can solve, ready to fit: log depths, errors, days' shear and slips.

    `beside` is (trials, unknowns), what one sd of a day's shear, or of the lift of a lure that
    dives, does to log depth. What is fitted are p unknowns: the gear's parameters, and after them
    these, in sd.
    """

    prior: GearBelief
    columns: Columns
    logged: Array
    error: Array
    beside: Array
    slipped: Rewritten

    @property
    def covariance(self) -> Array:
        """What is known of the unknowns before the trials."""
        return np.asarray(block_diag(self.prior.covariance, np.eye(self.beside.shape[1])))

    def residuals(self, mean: Array) -> Array:
        """Return (h, trials): log of logged over modelled depth, for unknowns (h, p)."""
        of_gear = len(self.prior.parameters)
        many = self.columns.take(np.tile(np.arange(self.logged.size), len(mean)))
        values = np.repeat(mean[:, :of_gear].T, self.logged.size, axis=1)
        logs = log_depth(self.prior.gear, many, self.prior.water, values)
        missed = self.logged - logs.reshape(len(mean), -1) - mean[:, of_gear:] @ self.beside.T
        return np.where(np.isnan(missed), UNSOLVED, missed)

    def slopes(self, mean: Array) -> Array:
        """Return (h, trials, p): d log depth / d unknown, those of parameters by differences."""
        steps = np.diag([parameter.sd / 3.0 for parameter in self.prior.parameters])
        count, hypotheses = len(steps), len(mean)
        moves = np.pad(np.concatenate([steps, -steps]), ((0, 0), (0, self.beside.shape[1])))
        sides = (mean[:, None, :] + moves).reshape(-1, mean.shape[1])
        missed = self.residuals(sides).reshape(hypotheses, 2 * count, -1)
        change = (missed[:, count:] - missed[:, :count]) / (2.0 * np.diag(steps)[:, None])
        beside = np.broadcast_to(self.beside, (hypotheses, *self.beside.shape))
        return np.concatenate([np.swapaxes(change, 1, 2), beside], axis=2)

    def mistaken(self, which: Flags, mean: Array, covariance: Array, scale: Array) -> Array:
        """Return (h, trials): how likely a mistaken trial says what it says, per log depth.

        A slip is judged by what the others make of the trial without it; trials that are not in
        `which` are judged as if no slip explained them.
        """
        slipped, of_gear = self.slipped, len(self.prior.parameters)
        mode, row = np.nonzero(which[:, slipped.of])
        trial = slipped.of[row]
        steps = np.diag([parameter.sd / 3.0 for parameter in self.prior.parameters])
        moves = np.vstack([np.zeros(of_gear), steps, -steps])
        many = slipped.columns.take(np.tile(row, len(moves)))
        values = (mean[mode, :of_gear] + moves[:, None, :]).reshape(-1, of_gear).T
        logs = log_depth(self.prior.gear, many, self.prior.water, values).reshape(len(moves), -1)
        each = (logs[1 : of_gear + 1] - logs[of_gear + 1 :]).T / (2.0 * np.diag(steps))
        each = np.hstack([each, self.beside[trial]])
        missed = np.log(slipped.depth_m[row]) - logs[0]
        missed -= np.sum(mean[mode, of_gear:] * self.beside[trial], axis=1)
        known = np.einsum("ni,nij,nj->n", each, covariance[mode], each)
        sd = np.sqrt(known + (scale[mode] * self.error[trial]) ** 2)
        fits = np.nan_to_num(np.exp(-0.5 * (missed / sd) ** 2) / (np.sqrt(2.0 * np.pi) * sd))
        fits *= slipped.usual[row]
        found = np.bincount(mode * self.error.size + trial, fits, which.size).reshape(which.shape)
        slips = np.bincount(slipped.of, minlength=self.error.size)
        return SLIP_SHARE * found / slips + (1.0 - SLIP_SHARE) / MISTAKEN_WIDTH


def trial_errors(prior: GearBelief, columns: Columns, depth_m: Array) -> Array:
    """Return the error of each trial in log depth: logger, counter, speed, turns and shear.

    Parameters
    ----------
    prior
        The gear, with the errors of counter and speed.
    columns, depth_m
        What was towed, and what the logger read.
    """
    return _logged(prior.loadings(columns).own_sd, depth_m)


def _logged(own: Array, depth_m: Array) -> Array:
    """Return errors of trials in log depth from those of their sets."""
    return np.asarray(np.hypot(own, LOGGER_SD_M / depth_m))


def fit_trials(
    prior: GearBelief, columns: Columns, depth_m: Array, day: NDArray[np.intp], unit_m: float = 1.0
) -> TrialFit:
    """Fit a gear's parameters to trials.

    Parameters
    ----------
    prior
        The gear before the trials.
    columns, depth_m
        At least one trial that the prior can solve, and what the logger read.
    day : (trials,)
        Numbers of the days on which they were made.
    unit_m
        The unit in which they are written, in m: in it digits are swapped.
    """
    calm, of_gear = replace(prior.errors, shear_sd_per_s=0.0), prior.mean.size
    of_calm = replace(prior, errors=calm).loadings(columns)
    days = _sheared(prior, columns)[:, None] * (day[:, None] == np.unique(day))
    beside = np.hstack([days, of_calm.shared[:, of_gear:]])
    slipped = rewritten(prior.gear, columns, depth_m, unit_m)
    trials = _Trials(
        prior, columns, np.log(depth_m), _logged(of_calm.own_sd, depth_m), beside, slipped
    )
    level = found = _fit(trials, np.zeros((1, depth_m.size), dtype=bool))
    for count in range(1, depth_m.size + 1):
        level = _fit(trials, _one_more(level, found.score.max() - NEGLIGIBLE))
        found = found.join(level)
        # Two alike hide each other, so a second mistake is always tried.
        if count > 1 and level.score.max() < found.score.max() - NEGLIGIBLE:
            break
    weight = np.exp(found.score - found.score.max())
    weight = weight / weight.sum()
    each = found.mean[:, :of_gear]
    mean = weight @ each
    away = each - mean
    spread = found.covariance[:, :of_gear, :of_gear] + away[:, :, None] * away[:, None, :]
    return TrialFit(
        mean=mean,
        covariance=np.einsum("h,hij->ij", weight, spread),
        belongs=1.0 - weight @ found.mistaken,
        scale=float(np.sqrt(weight @ found.scale**2)),
    )


def _sheared(prior: GearBelief, columns: Columns) -> Array:
    """Return (rows,): change of log depth for one sd of shear, of gear in closed form, too."""
    sd = prior.errors.shear_sd_per_s
    faster, slower = (
        log_depth(prior.gear, replace(columns, shear_per_s=shear), prior.water, prior.mean)
        for shear in np.array([[sd], [-sd]]) + columns.shear_per_s
    )
    return np.asarray(np.nan_to_num((faster - slower) / 2.0))


def _one_more(level: _Modes, least: float) -> Flags:
    """Return the likeliest sets with one mistake more than these, those that may score `least`."""
    best = np.argsort(-level.score)[:EXTENDED]
    chance: dict[bytes, float] = {}
    for row in best:
        for trial in np.flatnonzero(~level.mistaken[row]):
            more = level.mistaken[row].copy()
            more[trial] = True
            score = float(level.score[row] + level.gain[row, trial])
            chance[more.tobytes()] = max(score, chance.get(more.tobytes(), -np.inf))
    likely = sorted(chance, key=lambda key: -chance[key])[:ENUMERATED]
    chosen = [key for at, key in enumerate(likely) if at < AT_LEAST or chance[key] > least]
    return np.array([np.frombuffer(key, dtype=bool) for key in chosen])


def _fit(trials: _Trials, mistaken: Flags) -> _Modes:
    """Fit each set of mistaken trials, at first as if errors were larger."""
    inverse, error = np.asarray(np.linalg.inv(trials.covariance)), trials.error
    kept = ~mistaken
    mean = np.zeros((len(mistaken), len(inverse)))
    scale = np.ones(len(mistaken))
    missed = trials.residuals(mean)
    for turn in range(ITERATIONS):
        wide = np.maximum(scale, FIRST_BLUR * 0.5**turn)
        worth = kept / (wide[:, None] * error) ** 2
        each = trials.slopes(mean)
        pull = np.swapaxes(each, 1, 2) * worth[:, None, :]
        covariance = np.asarray(np.linalg.inv(inverse + pull @ each))
        uphill = np.einsum("hpn,hn->hp", pull, missed) - mean @ inverse
        move = np.einsum("hij,hj->hi", covariance, uphill)
        mean, missed, move = _step(trials, worth, inverse, mean, missed, move)
        # The scale's own prior counts as some trials; parameters learnt use trials up.
        free = kept.sum(axis=1) - np.trace(covariance @ pull @ each, axis1=1, axis2=2)
        squares = np.sum(kept * (missed / error) ** 2, axis=1)
        before, scale = scale, np.sqrt((SCALE_WORTH + squares) / (SCALE_WORTH + free))
        size = np.abs(move) / np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
        done = (wide == before) & (np.abs(scale / before - 1.0) < SETTLED)
        if np.all(done & (size.max(axis=1) < SETTLED)):
            break
    sd = scale[:, None] * error
    each = trials.slopes(mean)
    normal = -0.5 * (missed / sd) ** 2 - np.log(np.sqrt(2.0 * np.pi) * sd)
    away = -0.5 * np.sum((mean @ inverse) * mean, axis=1)
    size = 0.5 * (np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(inverse)[1])
    prior_of_scale = -SCALE_WORTH / 2.0 * (scale**-2 + 2.0 * np.log(scale))
    belongs = np.log(1.0 - MISTAKEN_SHARE)
    lost = np.log(MISTAKEN_SHARE * trials.mistaken(mistaken, mean, covariance, scale))
    score = away + size + prior_of_scale + np.sum(np.where(kept, belongs + normal, lost), axis=1)
    # What the others make of a trial: its residual without it, and how sure they are.
    known = np.einsum("hni,hij,hnj->hn", each, covariance, each)
    rest = np.maximum(1.0 - known / sd**2, 1e-3)
    alone = -0.5 * (missed / sd) ** 2 / rest - np.log(np.sqrt(2.0 * np.pi / rest) * sd)
    return _Modes(mistaken, mean, covariance, scale, score, lost - belongs - alone)


def _step(
    trials: _Trials, worth: Array, inverse: Array, mean: Array, missed: Array, move: Array
) -> tuple[Array, Array, Array]:
    """Go the step, or half of it where all is too far; return parameters, residuals and steps."""

    def cost(of: Array, residual: Array, rows: NDArray[np.intp]) -> Array:
        return np.asarray(
            np.sum(worth[rows] * residual**2, axis=1) + np.sum((of @ inverse) * of, axis=1)
        )

    mean, missed, move = mean.copy(), missed.copy(), move.copy()
    rows = np.arange(len(mean))
    worst = cost(mean, missed, rows) + 1e-6
    for _ in range(HALVINGS):
        there = mean[rows] + move[rows]
        residual = trials.residuals(there)
        better = cost(there, residual, rows) <= worst[rows]
        mean[rows[better]], missed[rows[better]] = there[better], residual[better]
        rows = rows[~better]
        if not rows.size:
            return mean, missed, move
        move[rows] /= 2.0
    move[rows] = 0.0
    return mean, missed, move
