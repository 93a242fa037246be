"""How surely the rods of a starting spread run where it says, as a card has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.line_depths import GearLines
from analysis.spread.line_outs import (
    asked_line_outs_m,
    longest_lines,
    speed_of_boat,
    speed_scatter,
)

if TYPE_CHECKING:
    from analysis.decision.answer import Answer
    from analysis.rates.build_exposure import BoatSeason

Array = NDArray[np.float64]


def depth_doubts(
    answer: Answer, season: BoatSeason, log: int, rods: pd.DataFrame, period: str
) -> Array:
    """Return the standard deviation of each rod's depth: given soaks and strikes, from set to set.

    Physics and soaks alone would tell a diver less surely than the strikes of rods fished
    together have it, and a rigger more surely than the boat's speed lets it run.

    Parameters
    ----------
    answer : Answer
    season : BoatSeason
    log : int
        Its number among the season folders of the answer.
    rods : DataFrame
        ``gear, setting, line_out_m, why, depth_sd_m`` of a laid-out spread.
    period : str
        Whose usual speed and its scatter are taken.

    Returns
    -------
    (rods,) array
        In metres; what ``rods`` has where a line is too short to be told.
    """
    found = rods["depth_sd_m"].to_numpy(dtype=float).copy()
    lures = np.array([why.lure for why in rods["why"]], dtype=object)
    speed, scatter = speed_of_boat(answer, period, log), speed_scatter(answer, period, log)
    longest = longest_lines(season)
    for gear in dict.fromkeys(rods["gear"]):
        most_m = season.log.boat.gears[gear].longest_m(longest[gear])
        # the longest line that was asked: what was solved for it is known already
        last_m = asked_line_outs_m(most_m, season.log.boat.units.length)[-1:]
        shared = answer.exposure.shared.get((log, gear))
        lines = GearLines.of(season, gear, shared, answer.fit, np.random.default_rng(0))
        for place in np.flatnonzero(rods["gear"] == gear):
            row = rods.iloc[place]
            out_m = np.minimum(np.append(row["line_out_m"], last_m), last_m)
            one = lines.depths(row["setting"], out_m, speed, scatter, lures[place])
            depth = one.depth_m[0] * np.exp(one.log_shift[:, 0])
            doubt = float(np.hypot(depth.std(), depth.mean() * one.own_sd[0]))
            found[place] = doubt if np.isfinite(doubt) else found[place]
    return found
