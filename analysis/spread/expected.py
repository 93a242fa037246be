"""Which line-out is expected to catch best, when neither curve nor depth is known for sure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from analysis.rates.effects import BOUNDS
from analysis.rates.line_depths import LineDepths
from analysis.stats.cells import band_of

if TYPE_CHECKING:
    from analysis.decision.answer import Period

Array = NDArray[np.float64]

AS_GOOD = 0.02
"""Line-outs that give up no more of the rate than this beyond the best one do as well."""
TOP_M = 1.0
"""A line that runs in the top metre stands where the boat's wake and weed are, and a diver or ball
breaks the surface (common practice, no source)."""
LOOKS = np.sqrt(3.0) * np.array([-1.0, 0.0, 1.0])
WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6.0
"""Three-point Gauss-Hermite rule for a standard normal error."""


@dataclass(frozen=True, kw_only=True)
class RateByDepth:
    """Draws of a period's rate at evenly spaced depths.

    Attributes
    ----------
    depth_m : (depths,) array
    rate : (depths, draws) array
        Strikes per rod-hour; none is NaN.
    """

    depth_m: Array
    rate: Array

    @classmethod
    def of(cls, period: Period, depth_m: Array) -> RateByDepth | None:
        """Take a period's rates; None where the model knows none.

        Where the water was unknown the nearest known depth's rate stands: no line is aimed there,
        but one may stray there.
        """
        return cls.of_draws(period.at_depth, depth_m)

    @classmethod
    def of_draws(cls, at_depth: Array, depth_m: Array) -> RateByDepth | None:
        """Take draws of the rate (bands, inner, draws) at the depths within bands, as `of`."""
        rate = at_depth.reshape(depth_m.size, -1)
        known = np.flatnonzero(np.isfinite(rate).all(axis=1))
        if not len(known):
            return None
        nearest = known[np.abs(np.arange(len(rate))[:, None] - known).argmin(axis=1)]
        return cls(depth_m=depth_m.ravel(), rate=rate[nearest])

    @cached_property
    def _log_rate(self) -> Array:
        return np.asarray(np.log(self.rate))

    def at(self, depth_m: Array) -> Array:
        """Rate of each draw at its own depths (draws, lines), log-linear between the depths."""
        log = self._log_rate
        step = self.depth_m[1] - self.depth_m[0]
        place = np.clip((depth_m - self.depth_m[0]) / step, 0.0, len(self.depth_m) - 1.001)
        below = place.astype(np.intp)
        share = place - below
        draw = np.arange(log.shape[1])[:, None]
        return np.asarray(np.exp((1.0 - share) * log[below, draw] + share * log[below + 1, draw]))


@dataclass(frozen=True, kw_only=True)
class LineRates:
    """Draws of the rate of each line-out that was asked.

    Attributes
    ----------
    line_out_m, depth_m : (lines,) arrays
        Depths as the depth model has them.
    rate : (draws, lines) array
        Strikes per rod-hour.
    """

    line_out_m: Array
    depth_m: Array
    rate: Array

    @property
    def share(self) -> Array:
        """Rate over that of each draw's best line-out (draws, lines)."""
        return np.asarray(self.rate / self.rate.max(axis=1, keepdims=True))

    def ends(self, most_lost: float, about: int | None = None) -> tuple[int, int]:
        """First and last line about the best, or another, that give up no more beyond the best."""
        worth = self.share.mean(axis=0)
        low = high = int(np.argmax(worth)) if about is None else about
        least = worth.max() - most_lost
        while low > 0 and worth[low - 1] >= least:
            low -= 1
        while high < len(worth) - 1 and worth[high + 1] >= least:
            high += 1
        return low, high


@dataclass(frozen=True, kw_only=True)
class Advice:
    """The line-out that is expected to catch best on one gear and setting.

    Attributes
    ----------
    line_out_m : float
    line_out_low_m, line_out_high_m : float
        Between these all do nearly as well.
    depth_m : float
        Where the depth model puts the lure.
    depth_low_m, depth_high_m : float
        90 % bounds of where it runs, given soaks and strikes.
    rate, rate_low, rate_high : float
        Strikes per rod-hour there, with 90 % bounds, at the boat's usual mix of tackle.
    loss, loss_low, loss_high : float
        Share of the rate given up against the line-out that would be best if curve and depth were
        known: median and 90 % bounds.
    rates : LineRates
    """

    line_out_m: float
    line_out_low_m: float
    line_out_high_m: float
    depth_m: float
    depth_low_m: float
    depth_high_m: float
    rate: float
    rate_low: float
    rate_high: float
    loss: float
    loss_low: float
    loss_high: float
    rates: LineRates


def expected_rates(curve: RateByDepth, lines: LineDepths) -> Array:
    """Rates (draws, lines) of lines, each draw of the curve at its own draw of the depths.

    What differs from set to set is averaged over.
    """
    found = np.zeros(lines.log_shift.shape)
    for look, weight in zip(LOOKS, WEIGHTS, strict=True):
        depth = lines.depth_m * np.exp(lines.log_shift + look * lines.own_sd)
        found += weight * curve.at(np.nan_to_num(depth))
    return found


def advise(
    curve: RateByDepth,
    lines: LineDepths,
    edges_m: Array,
    judged: NDArray[np.bool_],
    *,
    fished_m: tuple[float, float],
    within_m: tuple[float, float] | None = None,
) -> Advice | None:
    """Choose the line-out whose expected share of the best one's rate is highest.

    Each draw has its own best line-out; the one that gives up least on average is not always
    that of the likeliest depth. Only lines that run, by the model, in bands that were fished
    enough to be judged are asked, and of those none beyond nearly all rod-hours if others do not
    run there: elsewhere the curve is a guess. Where the best runs in the top metre, the middle of
    those that do as well is taken.

    Parameters
    ----------
    curve : RateByDepth
    lines : LineDepths
    edges_m : (bands + 1,) array
    judged : (bands,) bool array
    fished_m : tuple of float
        Depths between which nearly all rod-hours were fished; see
        `analysis.spread.line_outs.fished_m`. An outermost band may be judged by one of its ends.
    within_m : tuple of float, optional
        Depths that the answer names: the best line-out there is taken where it does nearly as
        well, so that line-outs and answer do not part over next to nothing.

    Returns
    -------
    Advice or None
        None where no line runs in a judged band.
    """
    band = band_of(lines.depth_m, edges_m)
    asked = np.flatnonzero((band >= 0) & judged[band])
    if not len(asked):
        return None
    depth = lines.depth_m[asked]
    fished = asked[(depth >= fished_m[0]) & (depth <= fished_m[1])]
    lines = lines.take(fished if len(fished) else asked)
    rate = expected_rates(curve, lines)
    rates = LineRates(line_out_m=lines.line_out_m, depth_m=lines.depth_m, rate=rate)
    share = rates.share
    worth = share.mean(axis=0)
    best = int(np.argmax(worth))
    if within_m is not None:
        inside = (rates.depth_m > within_m[0]) & (rates.depth_m <= within_m[1])
        there = int(np.argmax(np.where(inside, worth, 0.0)))
        if inside.any() and worth[there] >= worth[best] - AS_GOOD:
            best = there
    low, high = rates.ends(AS_GOOD, best)
    if lines.depth_m[best] < TOP_M:
        best = max(best, (low + high) // 2)
    loss = 1.0 - share[:, best]
    spread = lines.log_shift[:, best] + lines.own_sd[best] * LOOKS[:, None]
    depth = lines.depth_m[best] * np.exp(spread)
    depth_low, depth_high = _weighted_bounds(depth)
    middle, rate_low, rate_high = np.quantile(rate[:, best], (0.5, *BOUNDS))
    lost, loss_low, loss_high = np.quantile(loss, (0.5, *BOUNDS))
    return Advice(
        line_out_m=float(lines.line_out_m[best]),
        line_out_low_m=float(lines.line_out_m[low]),
        line_out_high_m=float(lines.line_out_m[high]),
        depth_m=float(lines.depth_m[best]),
        depth_low_m=depth_low,
        depth_high_m=depth_high,
        rate=float(middle),
        rate_low=float(rate_low),
        rate_high=float(rate_high),
        loss=float(lost),
        loss_low=float(loss_low),
        loss_high=float(loss_high),
        rates=rates,
    )


def _weighted_bounds(depth: Array) -> tuple[float, float]:
    """90 % bounds of depths at the three looks (looks, draws), each look by its weight."""
    flat = depth.ravel()
    weight = np.repeat(WEIGHTS, depth.shape[1])
    order = np.argsort(flat)
    passed = np.cumsum(weight[order]) / weight.sum()
    low, high = (float(flat[order][np.searchsorted(passed, bound)]) for bound in BOUNDS)
    return low, high
