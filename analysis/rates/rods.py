"""The rods down at each strike: their design, linear about curves, depth errors and layers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.shared_shifts import SharedShifts
from analysis.rates.strays import BEST, MEAN_SHARE, mean_share
from analysis.rates.terms import WARMTH, RateModel
from analysis.stats.conditional import Strata, group
from analysis.stats.latent_shift import Layers
from analysis.stats.risk_sets import RiskSets, rods_at_strikes

Array = NDArray[np.float64]

STEP = 0.05
SPREAD = np.sqrt(3.0)
"""Standard deviations at which the three-point Gauss-Hermite rule looks."""
MOST_CHANGE = 2.0


def risk_sets(exposure: Exposure, model: RateModel) -> RiskSets:
    """Find the rods down at each strike, leaving out rods whose covariates are missing.

    Leaving a rod out of a moment's comparison is harmless: the chances among the others keep
    their ratios. A moment whose striking rod is left out is dropped with it.
    """
    sets = rods_at_strikes(
        exposure.trip,
        exposure.start,
        exposure.end,
        exposure.strike_row,
        exposure.strike_time,
    )
    complete = exposure.complete(model)
    moment_kept = complete[exposure.strike_row]
    keep = complete[sets.row] & moment_kept[sets.moment]
    return RiskSets(row=sets.row[keep], moment=sets.moment[keep], hit=sets.hit[keep])


@dataclass(frozen=True, kw_only=True)
class Rods:
    """The rods down at each strike, able to give their design at any shift of the depths.

    ``stray`` is the share of the best rate that is left where the curves give nothing.
    """

    exposure: Exposure
    model: RateModel
    sets: RiskSets
    cluster: NDArray[np.intp]
    stray: float = 0.0

    @cached_property
    def shifts(self) -> SharedShifts:
        """How the depth of each rod follows the shared errors."""
        return self.exposure.shifts.take(self.sets.row)

    @property
    def errors(self) -> int:
        """Number of the shared depth errors."""
        return int(self.shifts.loadings.shape[1])

    @property
    def layered(self) -> bool:
        """Whether the height of the water's layers is in doubt, and matters to the model."""
        doubt = self.exposure.layer_doubt[self.sets.row]
        return self.model.warm and bool(doubt.any())

    @cached_property
    def _still(self) -> Array:
        """Design matrix of the terms that no shift changes; zeros for the others."""
        row = self.sets.row
        return self.model.design(self.exposure.values(self.model.tackle, row), len(row))

    def design(self, log_shift: Array, layers: Array | float = 0.0) -> Array:
        """Design matrix with log depth shifted, and the water's layers deeper by ``layers``."""
        row, water = self.sets.row, self.model.water
        matrix = self._still.copy()
        values = self.exposure.values(water, row, log_shift, layers)
        matrix[:, self.model.of_water] = water.design(values, len(row))
        return matrix

    def linear(self, coef: Array, error: Array, layers: Array | float) -> tuple[Array, Array]:
        """Design with the shared depth errors as further columns, linear about both.

        Each set's own depth error is averaged over: given that one strike came, the chance of
        each rod is the mean of its rate over it, divided by the sum of these means. Where a rod's
        strikes are mostly strays its curves matter little. The second array adds to the log rate.
        """
        design, more = self._linear(coef, error, np.atleast_2d(layers))
        return design[0], more[0]

    def _linear(self, coef: Array, error: Array, layers: Array) -> tuple[Array, Array]:
        """Give `linear` at several heights of the layers, (looks, 1) or (looks, rods), at once.

        Returns arrays of (looks, rods, columns) and (looks, rods).
        """
        model, size = self.model, self.model.size
        shift, follows = self.shifts.log_shift(error), self.shifts.slopes(error)
        own = SPREAD * self.exposure.set_error_sd[self.sets.row]
        steps = [0.0, STEP, -STEP, *([own, -own] if own.any() else [])]
        deeper = np.stack([shift + step for step in steps])
        warm = np.zeros(size, dtype=bool)
        warm[model.columns_of(WARMTH)] = True
        of_depth = model.of_water & ~warm
        by_depth = RateModel(terms=tuple(t for t in model.water.terms if t.name != WARMTH))
        by_warmth = RateModel(terms=tuple(t for t in model.terms if t.name == WARMTH))
        # The heights of the layers change nothing but temperature.
        liked = self._log_rate(by_depth, coef[of_depth], deeper, np.zeros(1))
        liked = liked + self._log_rate(by_warmth, coef[warm], deeper, layers[:, None])
        least = self._log_stray(liked[:, 0])
        rates = np.logaddexp(liked, least[:, None, None])
        blur = np.zeros(1)
        if own.any():
            blur = _log_mean(np.moveaxis(rates[:, 3:] - rates[:, :1], 1, 0))
        share = np.exp(liked[:, 0] - rates[:, 0])
        slope = (rates[:, 1] - rates[:, 2]) / (2 * STEP)
        design = np.empty((*share.shape, size + self.errors))
        design[..., :size] = self._still
        for terms, heights in ((by_depth, np.zeros(1)), (by_warmth, layers)):
            plain = self._design(terms, shift, heights)
            for term in terms.terms:
                columns = terms.columns_of(term.name)
                design[..., model.columns_of(term.name)] = plain[..., columns] * share[..., None]
        np.multiply(slope[..., None], follows, out=design[..., size:])
        more = rates[:, 0] - share * liked[:, 0] + blur - design[..., size:] @ error
        return design, more

    def _log_rate(self, model: RateModel, coef: Array, shift: Array, layers: Array) -> Array:
        """Log rate by some terms, of the shape of log shifts and heights of the layers."""
        shape, row, values = self._values(model, shift, layers)
        return model.log_rate(values, coef, row.size).reshape(shape)

    def _design(self, model: RateModel, shift: Array, layers: Array) -> Array:
        """Design matrix of some terms, its columns last."""
        shape, row, values = self._values(model, shift, layers)
        return model.design(values, row.size).reshape(*shape, model.size)

    def _values(
        self, model: RateModel, shift: Array, layers: Array
    ) -> tuple[tuple[int, ...], NDArray[np.intp], dict[str, NDArray[np.generic]]]:
        """Values of some terms, one after the other: their shape, rows, and the values."""
        shape = np.broadcast_shapes(shift.shape, layers.shape)
        row = np.broadcast_to(self.sets.row, shape).ravel()
        moved = (np.broadcast_to(by, shape).ravel() for by in (shift, layers))
        return shape, row, self.exposure.values(model, row, *moved)

    def _log_stray(self, log_liked: Array) -> Array:
        """Log rate of strays (looks,), where rods like those down at strikes have some rates."""
        if not self.stray or not self.model.of_water.any():
            return np.full(len(log_liked), -np.inf)
        return np.asarray(np.quantile(log_liked, BEST, axis=1) + np.log(self.stray))

    def log_rates(self, coef: Array, error: Array, layers: Array | float) -> tuple[Array, Array]:
        """Log rate by the curves and the depths' errors, and by the tackle (rods, draws each).

        ``coef`` (draws, size) and ``error`` (draws, errors) lie near each other: the rates are
        linear about their mean. Strays are left out.
        """
        model = self.model
        bare = replace(self, stray=0.0)
        design, more = bare.linear(coef.mean(axis=0), error.mean(axis=0), layers)
        of_water = np.append(model.of_water, np.ones(error.shape[1], dtype=bool))
        log_curves = design[:, of_water] @ np.hstack([coef, error])[:, of_water].T + more[:, None]
        tackle, towed = self.exposure.tackle(model, self.sets.row)
        return log_curves, (tackle @ coef[:, ~model.of_water].T)[towed]

    def with_usual_strays(self) -> Rods:
        """Return the same rods with as many strays as are usual, if the model knows the water."""
        return replace(self, stray=MEAN_SHARE if self.model.of_water.any() else 0.0)

    def with_strays(self, coef: Array, error: Array, layers: Array | float) -> Rods:
        """Return the same rods with as many strays as their strikes make likely, given curves."""
        if not self.stray:
            return self
        known = self.log_rates(coef[None], error[None], layers)
        return replace(self, stray=mean_share(self.sets, *known))

    def blurred(self, sd: float) -> Rods:
        """Return the same rods, each set's own error of log depth larger by an independent one."""
        own = np.hypot(self.exposure.set_error_sd, sd)
        return replace(self, exposure=replace(self.exposure, set_error_sd=own))

    def in_water(self, amount: Array) -> Rods:
        """Return the same rods in the water moved by some amounts (ways,)."""
        return replace(self, exposure=self.exposure.in_water(amount, self.sets.row))

    def strata(self, coef: Array, error: Array, layers: Array | float = 0.0) -> Strata:
        """Rows of the fit by moment; see :meth:`linear`."""
        design, offset = self.linear(coef, error, layers)
        return group(design, self.sets.hit, offset, self.sets.moment, self.cluster)

    def looks(self, coef: Array, error: Array, layers: Layers) -> Strata:
        """Rows of the fit once for each height of the layers, strikes parted by its chance.

        Clusters are trip times looks, plus the look.
        """
        count = len(layers.looks)
        if count == 1:
            return self.strata(coef, error)
        design, more = self._linear(coef, error, layers.looks[:, None])
        trip, look = self.exposure.trip[self.sets.row], np.arange(count)[:, None]
        moments = int(self.sets.moment.max()) + 1
        return group(
            design.reshape(more.size, -1),
            (self.sets.hit * layers.chances[trip].T).ravel(),
            more.ravel(),
            (look * moments + self.sets.moment).ravel(),
            (trip * count + look).ravel(),
        )


def _log_mean(changes: Sequence[Array] | Array) -> Array:
    """Log mean of ``exp`` of a change under a normal error, by three-point Gauss-Hermite."""
    up, down = (np.exp(np.clip(change, -MOST_CHANGE, MOST_CHANGE)) for change in changes)
    return np.asarray(np.log(2 / 3 + (up + down) / 6))


def rods_of(exposure: Exposure, model: RateModel) -> Rods:
    """Gather the rods down at each strike whose covariates the model needs are known."""
    sets = risk_sets(exposure, model)
    _, cluster = np.unique(exposure.trip[sets.row], return_inverse=True)
    return Rods(exposure=exposure, model=model, sets=sets, cluster=cluster)
