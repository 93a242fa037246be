"""How deep lines of a gear run, draw by draw of a fit: the doubt that soaks and strikes left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from analysis.depth import GearBelief
from analysis.depth.towing import Knots, Towing
from analysis.rates.exposure import SharedErrors
from analysis.rates.fit import TACKLE_SD, Fit

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

Array = NDArray[np.float64]

_LIFT = "lure_lift_area_m2"


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

    def take(self, lines: NDArray[np.intp]) -> LineDepths:
        """Return some of the lines."""
        return LineDepths(
            setting=self.setting,
            line_out_m=self.line_out_m[lines],
            depth_m=self.depth_m[lines],
            log_shift=self.log_shift[:, lines],
            own_sd=self.own_sd[lines],
        )


@dataclass(frozen=True, kw_only=True)
class GearLines:
    """One gear of a boat with what its shared depth errors are in each draw of a fit.

    Attributes
    ----------
    towing : Towing
    own_errors : (draws, errors) array
        Of the gear's parameters, then of the lures that dive, in the order of their lift.
    """

    towing: Towing
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
        towing = season.towing[gear]
        if errors is None:
            errors = SharedErrors(first=0, turn=np.zeros((0, towing.belief.mean.size)))
        own = errors.own(fit.error_draws, rng)
        # a lure that the fit was not told of is as before any strike
        untold = towing.belief.mean.size + len(_lifts(towing.rigs)) - own.shape[1]
        own = np.hstack([own, rng.standard_normal((len(own), max(untold, 0)))])
        return cls(towing=towing, own_errors=own)

    @classmethod
    def before_strikes(
        cls, season: BoatSeason, gear: str, draws: int, rng: np.random.Generator
    ) -> GearLines:
        """Draw the gear's own errors as physics and soaks leave them, without any strike."""
        towing = season.towing[gear]
        errors = towing.belief.mean.size + len(_lifts(towing.rigs))
        return cls(towing=towing, own_errors=rng.standard_normal((draws, errors)))

    @property
    def belief(self) -> GearBelief:
        """What physics and soaks tell of the gear."""
        return self.towing.belief

    def depths(
        self,
        setting: float,
        line_out_m: Array,
        speed_mps: float,
        scatter: float,
        lure: str = "",
    ) -> LineDepths:
        """Find where lines run at a speed that itself scatters, as `depths_of_each`."""
        (found,) = self.depths_of_each(
            np.array([setting]), line_out_m, np.array([speed_mps]), np.array([scatter]), lure
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
        known = self.towing.knots(setting, speed_mps, float(line_out_m.max()), lure)
        errors = self._errors(lure)
        return [
            self._between(*way, errors, line_out_m)
            for way in zip(setting, known, scatter, strict=True)
        ]

    def _between(
        self, setting: float, known: Knots, scatter: float, errors: Array, line_out_m: Array
    ) -> LineDepths:
        """Return where lines of one way run, between those that were solved."""
        wet = np.isfinite(known.depth_m) & (known.depth_m > 0)
        if wet.sum() < 2:
            return self._nowhere(setting, line_out_m)
        swaying = known.by_speed[wet] * scatter
        own_sd = np.sqrt(known.own_sd[wet] ** 2 + swaying**2 + TACKLE_SD**2)
        shift = errors @ known.shared[wet].T + 0.5 * errors**2 @ known.bend[wet].T
        told = np.vstack([np.log(known.depth_m[wet]), own_sd, shift])
        curves = PchipInterpolator(np.log(known.line_out_m[wet]), told, axis=1, extrapolate=False)
        between = curves(np.log(line_out_m))
        return LineDepths(
            setting=float(setting),
            line_out_m=line_out_m,
            depth_m=np.exp(between[0]),
            log_shift=between[2:],
            own_sd=between[1],
        )

    def _errors(self, lure: str) -> Array:
        """Return the errors of the gear's parameters, and that of a lure that dives."""
        own = self.belief.mean.size
        rigs = self.towing.rigs
        if lure not in rigs:
            return self.own_errors[:, :own]
        place = own + int(np.searchsorted(_lifts(rigs), rigs[lure][_LIFT]))
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
