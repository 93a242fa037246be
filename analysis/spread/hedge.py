"""How far apart rods are put when they share a doubt: some shallower, some deeper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.spread.expected import AS_GOOD, LineRates

Array = NDArray[np.float64]

WIDTHS = (AS_GOOD, 0.05, 0.1, 0.2)
"""Shares of the rate that the outermost line-outs may give up beyond the best one. The first is
that of line-outs which do as well: rods stand no nearer to each other than these let them."""
WORTH_IT = 0.01
"""Least that the better half must gain beyond what all together give up, to put rods farther
apart: else the rods pay for it what half of them win."""


@dataclass(frozen=True, kw_only=True)
class Hedge:
    """How far apart the rods for the band are put, and what that costs and buys.

    Attributes
    ----------
    width : float
        Of `WIDTHS`.
    cost : float
        Share of the mean rate of these rods given up against rods at line-outs that do as well.
    gain : float
        Share by which the mean rate of the better half of them rises.
    """

    width: float
    cost: float
    gain: float


def hedged(rods: Sequence[tuple[LineRates, float]]) -> Hedge:
    """Choose how far apart rods are put so that the best-placed half of them catches most.

    Rods at one best guess are right or wrong together: curve and depth are the same for all, in
    each draw. Put apart, some are nearer the truth whatever it is, and a captain moves the others
    to them. For each width the rods stand at their places between the ends that it allows; in
    each draw the better half of them is what it is; the width is taken whose mean over the draws
    is highest. Rates are shares of the best line-out's in each draw, so that no draw weighs more
    for a high rate.

    Parameters
    ----------
    rods : sequence of (LineRates, float)
        Of each rod for the band: its rates, and its place from the longest line-out (0) to the
        shortest (1).

    Returns
    -------
    Hedge
        Of the first of `WIDTHS` where more would not pay.
    """
    best = Hedge(width=AS_GOOD, cost=0.0, gain=0.0)
    if len(rods) < 2:
        return best
    together = _shares(rods, AS_GOOD)
    half, every = _better_half(together), together.mean()
    for width in WIDTHS[1:]:
        apart = _shares(rods, width)
        gain = float(_better_half(apart) / half - 1.0)
        cost = float(1.0 - apart.mean() / every)
        if gain - cost > max(best.gain - best.cost, WORTH_IT):
            best = Hedge(width=width, cost=cost, gain=gain)
    return best


def line_at(rates: LineRates, width: float, share: float) -> float:
    """Line-out, in metres, of a rod at a place between the ends that a width allows."""
    low, high = rates.ends(width)
    ends = rates.line_out_m[[low, high]]
    return float(ends[1] - share * (ends[1] - ends[0]))


def _shares(rods: Sequence[tuple[LineRates, float]], width: float) -> Array:
    """Share of the best line-out's rate of each rod at its place (draws, rods)."""
    found = []
    for rates, share in rods:
        nearest = int(np.argmin(np.abs(rates.line_out_m - line_at(rates, width, share))))
        found.append(rates.share[:, nearest])
    return np.column_stack(found)


def _better_half(shares: Array) -> float:
    """Mean over the draws of the mean of the better half of the rods in each."""
    count = max(shares.shape[1] // 2, 1)
    return float(np.sort(shares, axis=1)[:, -count:].mean())
