"""How deep lines of a gear run, draw by draw of a fit: the doubt that soaks and strikes left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from analysis.depth.columns import Columns
from analysis.rates.build_exposure import BoatSeason, untried_errors
from analysis.rates.exposure import SharedErrors
from analysis.rates.fit import TACKLE_SD, Fit

Array = NDArray[np.float64]

KNOTS = 16
"""Line-outs at which depth is solved; between them it is smooth in the logs of both."""
SHORTEST_M = 3.0
_FASTER = 0.1
"""Step of log speed over which depth's answer to it is looked at."""


@dataclass(frozen=True, kw_only=True)
class LineDepths:
    """Where lines of one gear and setting run.

    Attributes
    ----------
    setting : float
        NaN for gear without a dial.
    line_out_m : (lines,) array
    depth_m : (lines,) array
        By the model and the soaks, without the strikes; NaN where it does not run.
    log_shift : (draws, lines) array
        Log of true over modelled depth that all sets share, given the strikes.
    own_sd : (lines,) array
        Standard deviation of log depth from set to set, and as the boat's speed changes.
    """

    setting: float
    line_out_m: Array
    depth_m: Array
    log_shift: Array
    own_sd: Array


@dataclass(frozen=True, kw_only=True)
class GearLines:
    """One gear of a boat with what its shared depth errors are in each draw of a fit."""

    season: BoatSeason
    gear: str
    errors: SharedErrors
    own_errors: Array

    @classmethod
    def of(
        cls,
        season: BoatSeason,
        gear: str,
        errors: SharedErrors | None,
        fit: Fit,
        rng: np.random.Generator,
    ) -> GearLines:
        """Draw the gear's own errors; those of gear that never fished are as before any strike.

        ``errors`` are the gear's in the exposure that was fitted, `Exposure.shared`.
        """
        belief = season.belief(gear)
        if errors is None:
            dial = () if belief.trials else season.dial(gear)
            untried = tuple(np.nan_to_num(np.asarray(dial, dtype=float), nan=-1.0))
            width = belief.mean.size + len(untried)
            errors = SharedErrors(first=0, turn=np.zeros((0, width)), untried=untried)
        return cls(
            season=season, gear=gear, errors=errors, own_errors=errors.own(fit.error_draws, rng)
        )

    def depths(
        self, setting: float, line_out_m: Array, speed_mps: float, scatter: float
    ) -> LineDepths:
        """Find where lines run at a speed that itself scatters.

        Parameters
        ----------
        setting : float
        line_out_m : (lines,) array
        speed_mps : float
        scatter : float
            Standard deviation of log speed about it while the lines are out.
        """
        belief = self.season.belief(self.gear)
        knots = np.geomspace(SHORTEST_M, max(float(line_out_m.max()), 2 * SHORTEST_M), KNOTS)

        def columns(speed: float) -> Columns:
            return Columns.of(
                setting=setting,
                line_out_m=knots,
                speed_mps=speed,
                tip_height_m=self.season.tip_height_m,
            ).for_gear(belief.gear)

        at = columns(speed_mps)
        depth = belief.solve(at).depth_m
        wet = np.isfinite(depth) & (depth > 0)
        if wet.sum() < 2:
            nothing = np.full(line_out_m.shape, np.nan)
            shift = np.zeros((len(self.own_errors), len(line_out_m)))
            return LineDepths(
                setting=setting,
                line_out_m=line_out_m,
                depth_m=nothing,
                log_shift=shift,
                own_sd=nothing,
            )
        shared, own = belief.loadings(at)
        fast, slow = (
            belief.solve(columns(speed_mps * np.exp(step))).depth_m[wet]
            for step in (_FASTER, -_FASTER)
        )
        answer = np.nan_to_num(np.log(fast / slow)) / (2 * _FASTER)
        own = np.sqrt(own[wet] ** 2 + (answer * scatter) ** 2 + TACKLE_SD**2)
        shift = self._shift(shared[wet], setting)
        log_out, log_knots = np.log(line_out_m), np.log(knots[wet])

        def between(values: Array) -> Array:
            return np.asarray(PchipInterpolator(log_knots, values, extrapolate=False)(log_out))

        return LineDepths(
            setting=setting,
            line_out_m=line_out_m,
            depth_m=np.exp(between(np.log(depth[wet]))),
            log_shift=between(shift.T).T,
            own_sd=between(own),
        )

    def _shift(self, shared: Array, setting: float) -> Array:
        """Log of true over modelled depth (draws, rows) that all sets share."""
        if not self.errors.untried:
            return self.own_errors @ shared.T
        dial = np.full(len(shared), np.nan_to_num(setting, nan=-1.0))
        more = untried_errors(shared, dial, self.errors.untried)
        return self.own_errors @ np.hstack([shared, more]).T
