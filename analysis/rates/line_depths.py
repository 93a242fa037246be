"""How deep lines of a gear run, draw by draw of a fit: the doubt that soaks and strikes left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from analysis.depth import GearBelief
from analysis.depth.columns import Columns
from analysis.rates.exposure import SharedErrors
from analysis.rates.fit import TACKLE_SD, Fit

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

Array = NDArray[np.float64]

KNOTS = 16
"""Line-outs at which depth is solved; between them it is smooth in the logs of both."""
SHORTEST_M = 3.0
_LIFT = "lure_lift_area_m2"
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
    """One gear of a boat with what its shared depth errors are in each draw of a fit.

    Attributes
    ----------
    belief : GearBelief
    tip_height_m : float
        Of the boat's rods, on average.
    own_errors : (draws, errors) array
        Of the gear's parameters, then of the lures that dive, in the order of their lift.
    rigs : mapping
        Name of a lure that dives and that the gear fished -> what columns say of a line with it.
    """

    belief: GearBelief
    tip_height_m: float
    own_errors: Array
    rigs: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

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
            errors = SharedErrors(first=0, turn=np.zeros((0, belief.mean.size)))
        own, rigs = errors.own(fit.error_draws, rng), season.rigs(gear)
        # a lure that the fit was not told of is as before any strike
        untold = belief.mean.size + len(_lifts(rigs)) - own.shape[1]
        return cls(
            belief=belief,
            tip_height_m=season.tip_height_m,
            own_errors=np.hstack([own, rng.standard_normal((len(own), max(untold, 0)))]),
            rigs=rigs,
        )

    @classmethod
    def before_strikes(
        cls, season: BoatSeason, gear: str, draws: int, rng: np.random.Generator
    ) -> GearLines:
        """Draw the gear's own errors as physics and soaks leave them, without any strike."""
        belief, rigs = season.belief(gear), season.rigs(gear)
        return cls(
            belief=belief,
            tip_height_m=season.tip_height_m,
            own_errors=rng.standard_normal((draws, belief.mean.size + len(_lifts(rigs)))),
            rigs=rigs,
        )

    def depths(
        self, setting: float, line_out_m: Array, speed_mps: float, scatter: float
    ) -> LineDepths:
        """Find where lines run at a speed that itself scatters, as `depths_of_each`."""
        (found,) = self.depths_of_each(
            np.array([setting]), line_out_m, np.array([speed_mps]), np.array([scatter])
        )
        return found

    def depths_of_each(
        self,
        setting: Array,
        line_out_m: Array,
        speed_mps: Array,
        scatter: Array,
        lure: str = "",
    ) -> list[LineDepths]:
        """Find where the same lines run on each of several ways to tow them, all solved at once.

        Parameters
        ----------
        setting : (ways,) array
        line_out_m : (lines,) array
        speed_mps : (ways,) array
        scatter : (ways,) array
            Standard deviation of log speed about it while the lines are out.
        lure : str
            One that dives and that this gear fished; by default one that does not.
        """
        belief = self.belief
        ways = len(setting)
        knots = np.geomspace(SHORTEST_M, max(float(line_out_m.max()), 2 * SHORTEST_M), KNOTS)
        columns = Columns.of(
            setting=np.repeat(setting, KNOTS),
            line_out_m=np.tile(knots, ways),
            speed_mps=np.repeat(speed_mps, KNOTS),
            tip_height_m=self.tip_height_m,
            **self.rigs.get(lure, {}),
        ).for_gear(belief.gear)
        step = np.repeat(np.exp([0.0, _FASTER, -_FASTER]), columns.size)
        three = columns.take(np.tile(np.arange(columns.size), 3))
        three = replace(three, speed_mps=three.speed_mps * step)
        depth, fast, slow = belief.solve(three).depth_m.reshape(3, ways, KNOTS)
        shared, own = belief.loadings(columns)
        shared = shared.reshape(ways, KNOTS, shared.shape[1])
        own = own.reshape(ways, KNOTS)
        errors = self._errors(lure)
        log_out, log_knots = np.log(line_out_m), np.log(knots)
        found = []
        for way in range(ways):
            wet = np.isfinite(depth[way]) & (depth[way] > 0)
            if wet.sum() < 2:
                found.append(self._nowhere(setting[way], line_out_m))
                continue
            answer = np.nan_to_num(np.log(fast[way, wet] / slow[way, wet])) / (2 * _FASTER)
            own_sd = np.sqrt(own[way, wet] ** 2 + (answer * scatter[way]) ** 2 + TACKLE_SD**2)
            shift = errors @ shared[way, wet].T
            told = np.vstack([np.log(depth[way, wet]), own_sd, shift])
            between = PchipInterpolator(log_knots[wet], told, axis=1, extrapolate=False)(log_out)
            found.append(
                LineDepths(
                    setting=float(setting[way]),
                    line_out_m=line_out_m,
                    depth_m=np.exp(between[0]),
                    log_shift=between[2:],
                    own_sd=between[1],
                )
            )
        return found

    def _errors(self, lure: str) -> Array:
        """Return the errors of the gear's parameters, and that of a lure that dives."""
        own = self.belief.mean.size
        if lure not in self.rigs:
            return self.own_errors[:, :own]
        place = own + int(np.searchsorted(_lifts(self.rigs), self.rigs[lure][_LIFT]))
        return self.own_errors[:, [*range(own), place]]

    def _nowhere(self, setting: float, line_out_m: Array) -> LineDepths:
        nothing = np.full(line_out_m.shape, np.nan)
        return LineDepths(
            setting=setting,
            line_out_m=line_out_m,
            depth_m=nothing,
            log_shift=np.zeros((len(self.own_errors), len(line_out_m))),
            own_sd=nothing,
        )


def _lifts(rigs: Mapping[str, Mapping[str, float]]) -> Array:
    """Return the lifts that tell lures apart, in the order of their errors."""
    return np.unique(np.array([rig[_LIFT] for rig in rigs.values()], dtype=float))
