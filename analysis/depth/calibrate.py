"""Owns what depth-logger trials teach about a gear.

Few trials help and none breaks: what they cannot tell stays at its prior, a mistaken trial is
found and named. Without setting 0 a diver's roll is not learnt (depth gives only ratios of
cosines) and the pull angle is, in its place: the depth predicted is right all the same, so the
report speaks of predicted depth first and of parameters last.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.depth.columns import Columns, Texts
from analysis.depth.kinds import Gear
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.depth.march import Array
from analysis.depth.model import solve_columns
from analysis.depth.next_trial import next_trial
from analysis.depth.slips import Slip, likely_slips
from analysis.depth.slopes import SetErrors
from analysis.depth.trialfit import fit_trials, trial_errors
from analysis.depth.uncertainty import GearBelief, Prediction, believe
from analysis.depth.water import FRESH_WATER, Water
from analysis.trials import Learnt, NextTrial

LEARNT_SHARE = 0.5  # a parameter counts as learnt when its sd has fallen below this share
USE_LINE_OUTS_M = (15.0, 25.0, 35.0, 50.0, 70.0)


@dataclass(frozen=True, kw_only=True)
class Trials:
    """Depth-logger trials of one gear, row by row as given.

    Attributes
    ----------
    columns
        What was towed.
    depth_m : (rows,)
        What the logger read.
    reason : (rows,)
        Why a trial cannot be used; empty where it can.
    names
        What each is called.
    """

    columns: Columns
    depth_m: Array
    reason: Texts
    names: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """A gear's belief after its trials, and how it came about; what is asked is worked out then.

    Attributes
    ----------
    prior, belief
        What was known before the trials, and what is known now.
    trials
        The trials as given.
    left_out : (rows,)
        True for a trial that does not belong with the others, and was not used.
    error_scale
        How much larger the errors of trials are than logger, counter and speed make them, as
        learnt.
    uses : Columns
        The uses over which the depth is to be known.
    unit_m
        The unit of line-outs and depths in the log, in m.
    """

    prior: GearBelief
    belief: GearBelief
    trials: Trials
    left_out: NDArray[np.bool_]
    error_scale: float
    uses: Columns
    unit_m: float

    @cached_property
    def before(self) -> Prediction:
        """Predicted depth of each trial, from the prior."""
        return self.prior.predict_columns(self.trials.columns)

    @cached_property
    def after(self) -> Prediction:
        """Predicted depth of each trial, from the belief."""
        return self.belief.predict_columns(self.trials.columns)

    @property
    def residual(self) -> Array:
        """Logged depth over predicted depth now, less 1; NaN for a trial that cannot be used."""
        off = self.trials.depth_m / self.after.depth_m - 1.0
        return np.where(self.trials.reason == "", off, np.nan)

    @cached_property
    def slips(self) -> Mapping[int, tuple[Slip, ...]]:
        """Row of each trial left out, and what it probably was."""
        found = {}
        for row in map(int, np.flatnonzero(self.left_out)):
            one, depth = self.trials.columns.take(np.array([row])), self.trials.depth_m[[row]]
            error = float(self.error_scale * trial_errors(self.belief, one, depth)[0])
            found[row] = likely_slips(self.belief, one, float(depth[0]), error, self.unit_m)
        return found

    @cached_property
    def use_before(self) -> Prediction:
        """Predicted depth at the uses, from the prior."""
        return self.prior.predict_columns(self.uses)

    @cached_property
    def use_after(self) -> Prediction:
        """Predicted depth at the uses, from the belief."""
        return self.belief.predict_columns(self.uses)

    @property
    def learnt(self) -> tuple[Learnt, ...]:
        """Each parameter, before and now."""
        return _learnt(self.prior, self.belief)

    @cached_property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know: trials left out or not usable, what stayed at its prior."""
        return _notes(
            self.belief.gear, self.trials, self.left_out, self.slips, self.after, self.uses
        )

    @cached_property
    def next_trial(self) -> NextTrial:
        """Which trial to do next."""
        return next_trial(self.belief, self.uses, self.error_scale)


def _vet(prior: GearBelief, columns: Columns, depth_m: Array) -> Texts:
    """Say why a trial cannot be used."""
    reason = prior.solve(columns).reason
    checks = (
        (np.isnan(depth_m), "no logged depth"),
        (depth_m <= 0.0, "a logged depth that is not below the surface"),
        (depth_m > columns.deepest_m, "logged deeper than the line is long"),
    )
    for wrong, text in checks:
        reason[(reason == "") & wrong] = text
    return reason


def uses_of(
    gear: Gear, speed_mps: float = USUAL_SPEED_MPS, dial: Sequence[float] | None = None
) -> Columns:
    """Return the uses over which a gear's depth is to be known, unless others are given.

    Every setting used, or of the dial where none is told, at line-outs of 15 to 70 m.
    """
    settings = dial or gear.dial or (np.nan,)
    setting, line_out = np.meshgrid(settings, USE_LINE_OUTS_M, indexing="ij")
    uses = Columns.of(setting=setting, line_out_m=line_out, speed_mps=speed_mps)
    return uses.take(np.flatnonzero(solve_columns(gear, uses).reason == ""))


def _learnt(prior: GearBelief, belief: GearBelief) -> tuple[Learnt, ...]:
    """Set out each parameter before and now."""
    rows = []
    for place, parameter in enumerate(prior.parameters):
        scale = np.degrees(1.0) if parameter.is_angle else 100.0
        sd = float(np.sqrt(belief.covariance[place, place]))
        rows.append(
            Learnt(
                label=parameter.label,
                unit="degrees" if parameter.is_angle else "%",
                prior_sd=scale * parameter.sd,
                sd=scale * sd,
                shift=scale * float(belief.mean[place]),
                learnt=sd < LEARNT_SHARE * parameter.sd,
                source=parameter.source,
            )
        )
    return tuple(rows)


def _notes(
    gear: Gear,
    trials: Trials,
    left_out: NDArray[np.bool_],
    slips: Mapping[int, tuple[Slip, ...]],
    after: Prediction,
    uses: Columns,
) -> tuple[str, ...]:
    """Say what a reader of the calibration should know."""
    notes = [
        f"{trials.names[row]} cannot be used: {trials.reason[row]}"
        for row in np.flatnonzero(trials.reason != "")
    ]
    notes += [
        f"{trials.names[row]} is left out: it logged {trials.depth_m[row]:.1f} m where the others "
        f"make {after.depth_m[row]:.1f} m; {_meant(slips[int(row)])}"
        for row in np.flatnonzero(left_out)
    ]
    used = trials.columns.take(np.flatnonzero((trials.reason == "") & ~left_out))
    if not used.size:
        return (*notes, "no trial could be used: everything stays at its prior")
    notes += gear.untold(used, uses)
    if np.ptp(used.line_out_m) < 0.1 * np.mean(used.line_out_m):
        notes.append(
            f"all trials had about {np.mean(used.line_out_m):.0f} m out: "
            "how depth grows with line-out rests on the model"
        )
    return tuple(notes)


def _meant(slips: tuple[Slip, ...]) -> str:
    """Say what a trial probably was."""
    if not slips:
        return "look for a wrong unit, setting or line-out"
    return f"was it {' or '.join(slip.words for slip in slips)}?"


def calibrate(
    gear: Gear,
    *,
    depth_m: ArrayLike,
    day: ArrayLike = 0,
    water: Water = FRESH_WATER,
    errors: SetErrors | None = None,
    uses: Columns | None = None,
    names: Sequence[str] | None = None,
    unit_m: float = 1.0,
    **columns: ArrayLike,
) -> Calibration:
    """Learn a gear's parameters from depth-logger trials, from none to hundreds.

    Parameters
    ----------
    gear, water, errors
        As `believe` takes them.
    depth_m : (rows,)
        What the logger read. A trial without a depth or that cannot be solved is not used, and
        the notes say why.
    day
        Number of the day of each trial: those of one day share its shear. All on one unless given.
    uses
        The uses over which the depth is to be known; `uses_of` the gear unless given.
    names
        What the notes call each trial; `trial 1` and so on unless given.
    unit_m
        The unit of line-outs and depths in the log, in m: in it digits are swapped.
    columns
        What was towed, one value a trial or one for all, as `Columns.of` takes it. What trials
        say with a lure that dives is the gear's as far as the lure's own lift is known.

    Returns
    -------
    Calibration
        `.belief` is the gear as now known. Judge it by predicted depth: pull angle and line
        drag trade off (correlation about 0.9), and either alone says little.

    Examples
    --------
    >>> from analysis.depth.kinds import Diver
    >>> out = calibrate(
    ...     Diver(), setting=[0, 0, 1, 2], line_out_m=[20, 40, 30, 30], speed_mps=1.1,
    ...     depth_m=[10.4, 18.1, 13.9, 11.5],
    ... )
    >>> print(out.notes[0])
    never tried: setting 3; the roll there stays at its prior
    >>> print(f"{out.next_trial.setting:g}")
    3
    """
    prior = believe(gear, water, errors)
    depth = np.ravel(np.asarray(depth_m, dtype=float))
    each = {name: np.broadcast_to(column, depth.shape) for name, column in columns.items()}
    towed = Columns.of(**each).for_gear(gear)
    called = tuple(names or (f"trial {row + 1}" for row in range(depth.size)))
    reason = _vet(prior, towed, depth)
    trials = Trials(columns=towed, depth_m=depth, reason=reason, names=called)
    used = np.flatnonzero(trials.reason == "")
    belief, left_out, scale = prior, np.zeros(depth.size, dtype=bool), 1.0
    if used.size:
        days = np.broadcast_to(np.asarray(day, dtype=np.intp), depth.shape)[used]
        fit = fit_trials(prior, towed.take(used), depth[used], days, unit_m)
        left_out[used[fit.belongs < 0.5]] = True
        kept = int(used.size - np.sum(left_out))
        belief = replace(prior, mean=fit.mean, covariance=fit.covariance, trials=kept)
        scale = fit.scale
    if uses is None:
        uses = uses_of(
            gear, float(np.median(towed.speed_mps[used])) if used.size else USUAL_SPEED_MPS
        )
    return Calibration(
        prior=prior,
        belief=belief,
        trials=trials,
        left_out=left_out,
        error_scale=scale,
        uses=uses,
        unit_m=unit_m,
    )
