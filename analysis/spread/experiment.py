"""Which two line-outs to run side by side so that a trip tells most, and how long that takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from analysis.spread.exploring import EXPLORE_HOURS
from analysis.spread.line_outs import Advised

Array = NDArray[np.float64]

LEAST_WORTH = 0.005
"""Log rate that a comparison must be expected to bring: for less than half a percent nobody need
change a line."""
MOST_SEASONS = 2.0
"""Seasons that a comparison may take until its doubt has halved (common sense, no source)."""


@dataclass(frozen=True, kw_only=True)
class Experiment:
    """Two line-outs of one gear and setting, one to each side of the boat.

    Attributes
    ----------
    gear : str
    setting : float
    line_out_m, other_m : float
        The one that looks best, and the other.
    chance : float
        That the first is the better one, as known now.
    hours : float
        Hours with both down after which the doubt between them has halved.
    """

    gear: str
    setting: float
    line_out_m: float
    other_m: float
    chance: float
    hours: float


def experiment(advised: Sequence[Advised], season_h: float) -> Experiment | None:
    """Choose the two line-outs whose comparison is worth most to the season's open question.

    Rods of one gear and setting share whatever the gear errs by, so what differs is the depth
    alone. The log of the two rates' ratio is taken as normal, ``m`` with standard deviation
    ``s``, from the draws. In ``T`` hours with both down their strikes tell it with a variance of
    ``v = (1/r1 + 1/r2) / T`` (Poisson counts), which leaves ``s'^2 = 1 / (1/s^2 + 1/v)``: the
    expected ratio then moves by a standard deviation of ``t = sqrt(s^2 - s'^2)``. Being able to
    change over to the other line-out is worth

        t (phi(m/t) - (m/t) (1 - Phi(m/t)))

    in log rate, the expected value of sample information of two normal means (Raiffa &
    Schlaifer 1961, *Applied Statistical Decision Theory*, ch. 5, from memory). The doubt has
    halved where ``v = s^2 / 3``.

    Parameters
    ----------
    advised : sequence of Advised
        What is advised for a period, one for each gear and setting.
    season_h : float
        Hours that the boat fished in its season.

    Returns
    -------
    Experiment or None
        None where none is worth `LEAST_WORTH` or done in `MOST_SEASONS`: then the log has told
        what there is to choose.
    """
    best: tuple[float, Experiment] | None = None
    for line in advised:
        rates = line.advice.rates
        first = int(np.argmin(np.abs(rates.line_out_m - line.advice.line_out_m)))
        log = np.log(np.maximum(rates.rate, 1e-12))
        apart = log[:, [first]] - log
        mean, sd = apart.mean(axis=0), apart.std(axis=0)
        rate = np.median(rates.rate, axis=0)
        per_hour = 1.0 / rate[first] + 1.0 / rate
        hours = 3.0 * per_hour / np.maximum(sd, 1e-9) ** 2
        worth = _worth(mean, sd, per_hour / EXPLORE_HOURS)
        worth[hours > MOST_SEASONS * season_h] = 0.0
        other = int(np.argmax(worth))
        if worth[other] >= (best[0] if best else LEAST_WORTH):
            found = Experiment(
                gear=line.gear,
                setting=line.setting,
                line_out_m=line.advice.line_out_m,
                other_m=float(rates.line_out_m[other]),
                chance=float(np.mean(apart[:, other] > 0)),
                hours=float(hours[other]),
            )
            best = float(worth[other]), found
    return best[1] if best else None


def _worth(mean: Array, sd: Array, variance: Array) -> Array:
    """Return the expected value of sample information; see `experiment`."""
    moves = sd**2 / np.sqrt(sd**2 + variance)
    away = np.abs(mean) / np.maximum(moves, 1e-12)
    density = np.exp(-0.5 * away**2) / np.sqrt(2.0 * np.pi)
    return np.asarray(moves * (density - away * ndtr(-away)))
