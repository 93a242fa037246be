"""Owns how well a depth is known: what all sets share, what each set adds, and draws of both.

Depth is positive, so its error lives in log depth. What all sets share is followed along the
independent directions of the parameters' covariance: each is stepped by its sd to both sides, and
log depth is taken as a parabola through the three. The tests hold this against solving the whole
model again for every draw.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.depth.columns import Columns
from analysis.depth.kinds import Gear
from analysis.depth.kinds.protocol import NO_SHIFTS, Parameter
from analysis.depth.march import Array
from analysis.depth.model import Solution, solve_columns
from analysis.depth.priors import prior_covariance, shifts_at
from analysis.depth.slopes import WIDEST_SD, SetErrors, Slopes, slopes_of
from analysis.depth.water import FRESH_WATER, Water

_CELL = {
    "line_out_m": 0.08,
    "speed_mps": 0.08,
    "tip_height_m": 0.2,
    "leader_length_m": 0.2,
    "lead_m": 0.2,
}
"""Width in log units of the cells within which rows share their slopes (not their depths)."""
_SETTING_CELL = 0.25


@dataclass(frozen=True, kw_only=True)
class Prediction(Solution):
    """A solution with its uncertainty.

    Attributes
    ----------
    depth_sd_m
        Standard deviation of the depth, everything together.
    shared_sd_m
        The part of it that all sets of this gear and setting share.
    """

    depth_sd_m: Array
    shared_sd_m: Array


@dataclass(frozen=True, kw_only=True)
class Loadings:
    """How log depth follows independent errors, each of one standard deviation.

    Attributes
    ----------
    shared : (rows, errors)
        Its slope to each error that all rows share, or all rows with one lure: a column more for
        each lure that dives.
    bend : (rows, errors)
        Its second difference to each of them; 0 for lures.
    own_sd : (rows,)
        Standard deviation of log depth from counter, speed, a day's shear and turns.
    """

    shared: Array
    bend: Array
    own_sd: Array


@dataclass(frozen=True, kw_only=True)
class GearBelief:
    """What is known of one gear's parameters, and the depths that follow.

    Attributes
    ----------
    gear, water
        What is towed, and in what.
    parameters
        The uncertain parameters and their priors.
    mean : (p,)
        Their departure from the gear's values.
    covariance : (p, p)
        How well that is known.
    errors
        What varies from set to set.
    trials
        Number of depth-logger trials behind it.
    """

    gear: Gear
    water: Water
    parameters: tuple[Parameter, ...]
    mean: Array
    covariance: Array
    errors: SetErrors = field(default_factory=SetErrors)
    trials: int = 0

    def predict(self, *, speed_over_ground: ArrayLike = False, **columns: ArrayLike) -> Prediction:
        """Return where lines run and how well the depth is known.

        Parameters
        ----------
        speed_over_ground
            True where the speed is over ground, so that a current adds to its error.
        columns
            As `analysis.depth.solve` takes them, without the water.

        Returns
        -------
        Prediction
            In the columns' broadcast shape.

        Examples
        --------
        >>> from analysis.depth.kinds import Diver
        >>> out = believe(Diver()).predict(setting=1, line_out_m=30.48, speed_mps=1.1)
        >>> f"{out.depth_m:.1f} m, uncertain by {out.depth_sd_m / out.depth_m:.0%}"
        '15.3 m, uncertain by 18%'
        """
        flat, ground, shape = self._flat(columns, speed_over_ground)
        out = self.predict_columns(flat, ground)
        return Prediction(**{name: value.reshape(shape) for name, value in vars(out).items()})

    def locate(self, **columns: ArrayLike) -> Solution:
        """Return where lines run, as `predict`, without asking how well that is known."""
        flat, _, shape = self._flat(columns, np.False_)
        out = self.solve(flat)
        return Solution(**{name: value.reshape(shape) for name, value in vars(out).items()})

    def predict_columns(
        self, columns: Columns, ground: NDArray[np.bool_] | None = None
    ) -> Prediction:
        """Return where prepared rows run, as `predict`."""
        return self._predicted(columns, self._slopes(columns, ground))

    def predict_with_loadings(
        self, columns: Columns, ground: NDArray[np.bool_] | None = None
    ) -> tuple[Prediction, Loadings]:
        """Return what `predict_columns` and `loadings` do, the slopes worked out once."""
        slopes = self._slopes(columns, ground)
        return self._predicted(columns, slopes), _loadings(columns, slopes)

    def _predicted(self, columns: Columns, slopes: Slopes) -> Prediction:
        """Solve rows, and turn their slopes into standard deviations of depth."""
        solution = self.solve(columns)
        shared = np.hypot(np.linalg.norm(slopes.shared, axis=1), slopes.lure)
        whole = np.hypot(shared, slopes.own)
        return Prediction(
            **vars(solution),
            depth_sd_m=whole * solution.depth_m,
            shared_sd_m=shared * solution.depth_m,
        )

    def solve(self, columns: Columns) -> Solution:
        """Return where prepared rows run by the parameters' mean."""
        shifts = shifts_at(self.gear, columns, self.mean) if self.mean.any() else NO_SHIFTS
        return solve_columns(self.gear, columns, self.water, shifts)

    def loadings(self, columns: Columns, ground: NDArray[np.bool_] | None = None) -> Loadings:
        """Return how log depth follows the shared errors, and the sd of each set's own.

        Parameters
        ----------
        columns
            Prepared rows.
        ground : (rows,), optional
            True where the speed is over ground.

        Returns
        -------
        Loadings
        """
        return _loadings(columns, self._slopes(columns, ground))

    def draws(
        self,
        n: int,
        rng: np.random.Generator,
        *,
        set_id: ArrayLike,
        day_id: ArrayLike = 0,
        speed_over_ground: ArrayLike = False,
        **columns: ArrayLike,
    ) -> Array:
        """Return draws of depth that respect which errors are shared.

        Parameters
        ----------
        n
            How many.
        rng
            Where chance comes from.
        set_id : (rows,)
            Rows of one set share their counter's and speed's error, and how the boat turned; all
            rows share the parameters.
        day_id : (rows,)
            Rows of one day share its shear.
        speed_over_ground, columns
            As in `predict`, one value a row or one for all.

        Returns
        -------
        (n, rows)
            Depth in metres, positive; NaN where there is no solution.
        """
        ids = np.ravel(np.asarray(set_id))
        over_ground = np.broadcast_to(np.asarray(speed_over_ground, dtype=bool), ids.shape)
        flat, ground, _ = self._flat(columns, over_ground)
        solution, slopes = self.solve(flat), self._slopes(flat, ground)
        _, place = np.unique(ids, return_inverse=True)
        sets = int(place.max(initial=-1)) + 1
        shared = rng.normal(0.0, 1.0, (n, slopes.shared.shape[1]))
        counter, speed, turning = rng.normal(0.0, 1.0, (3, n, sets))
        shift = shared @ slopes.shared.T + shared**2 @ slopes.bend.T / 2.0
        which = same_lure(flat)
        shift += slopes.lure * (rng.normal(0.0, 1.0, (n, which.shape[1])) @ which.T)
        shift += slopes.line_out * counter[:, place]
        shift += slopes.speed * speed[:, place]
        shift += slopes.turning * turning[:, place]
        _, day = np.unique(np.broadcast_to(day_id, ids.shape), return_inverse=True)
        days = int(day.max(initial=-1)) + 1
        shift += slopes.shear * rng.normal(0.0, 1.0, (n, days))[:, day]
        return np.minimum(solution.depth_m * np.exp(shift), flat.deepest_m)

    def _flat(
        self, columns: Mapping[str, ArrayLike], ground: ArrayLike
    ) -> tuple[Columns, NDArray[np.bool_], tuple[int, ...]]:
        """Return the columns as rows, which speeds are over ground, and the asked shape."""
        shape = np.broadcast_shapes(np.shape(ground), *map(np.shape, columns.values()))
        spread = {name: np.broadcast_to(column, shape) for name, column in columns.items()}
        return (
            Columns.of(**spread).for_gear(self.gear),
            np.ravel(np.broadcast_to(np.asarray(ground, dtype=bool), shape)),
            shape,
        )

    def _slopes(self, columns: Columns, ground: NDArray[np.bool_] | None) -> Slopes:
        """Return slopes, those to line-out and speed times the sd of a set's error.

        They are worked out once for all rows of a narrow cell. A line barely in the water
        would have an endless log sd: it gets `WIDEST_SD`.
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            cells = {
                name: np.round(np.log(getattr(columns, name)) / width)
                for name, width in _CELL.items()
            }
            cells["setting"] = np.round(columns.setting / _SETTING_CELL)
            current = 0.0 if ground is None else np.where(ground, self.errors.current_sd_mps, 0.0)
            # Nothing is towed at rest: such a row has no depth, nor an error of it.
            moving = np.where(columns.speed_mps > 0.0, columns.speed_mps, np.inf)
            speed_sd = np.hypot(self.errors.speed_sd_mps, current) / moving
        first, place = replace(columns, **cells).distinct()
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        raw = slopes_of(
            self.gear, columns.take(first), self.water, self.mean, root, self.errors
        ).take(place)
        line_out, speed = raw.line_out * self.errors.counter_sd, raw.speed * speed_sd
        raw = replace(raw, line_out=line_out, speed=speed)
        whole = np.sqrt(np.sum(raw.shared**2, axis=1) + raw.lure**2 + raw.own**2)
        share: Array = WIDEST_SD / np.maximum(whole, WIDEST_SD)
        return Slopes(
            shared=raw.shared * share[:, None],
            bend=raw.bend * share[:, None],
            line_out=line_out * share,
            speed=speed * share,
            lure=raw.lure * share,
            shear=raw.shear * share,
            turning=raw.turning * share,
        )


def _loadings(columns: Columns, slopes: Slopes) -> Loadings:
    lures = slopes.lure[:, None] * same_lure(columns)
    return Loadings(
        shared=np.hstack([slopes.shared, lures]),
        bend=np.hstack([slopes.bend, np.zeros_like(lures)]),
        own_sd=slopes.own,
    )


def same_lure(columns: Columns) -> Array:
    """Return (rows, lures): 1 where a row fishes that lure that dives."""
    lifts = np.unique(columns.lure_lift_area_m2[columns.described])
    return np.asarray(columns.lure_lift_area_m2[:, None] == lifts, dtype=float)


def believe(gear: Gear, water: Water = FRESH_WATER, errors: SetErrors | None = None) -> GearBelief:
    """Return what is known of a gear before any trial.

    Parameters
    ----------
    gear, water
        What is towed, and in what.
    errors
        What varies from set to set; the defaults of `SetErrors` unless given.

    Examples
    --------
    >>> from analysis.depth.kinds import Diver
    >>> belief = believe(Diver())
    >>> [parameter.label for parameter in belief.parameters][:3]
    ['pull angle', 'line drag', 'roll at setting 1']
    """
    parameters = gear.parameters()
    return GearBelief(
        gear=gear,
        water=water,
        parameters=parameters,
        mean=np.zeros(len(parameters)),
        covariance=prior_covariance(parameters),
        errors=errors or SetErrors(),
    )
