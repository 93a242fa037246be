"""Owns the judgement of a part of a season: the season's model, fitted anew to the part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.decision.answer import Answer, answer
from analysis.decision.caps import Cap
from analysis.rates.exposure import Exposure
from analysis.rates.model_averaging import Member
from analysis.season import temperature_of
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part

REFITS = 6
"""Fewer than the review's 16: somebody waits for it."""
PICKED = Cap(code="picked")
"""Why no verdict on a part is clear."""


def exposure_of(counted: Counted, part: Part) -> Exposure:
    """Return the slices and strikes of a part, ready to fit."""
    placed = counted.strikes["row"].to_numpy() >= 0
    return counted.hourly.with_strikes(part.strikes[placed]).of_trips(part.slices)


def part_answer(
    counted: Counted,
    part: Part,
    whole: Answer,
    seed: int,
    edges_m: NDArray[np.float64] | None = None,
) -> Answer | None:
    """Judge the bands of a part by the season's fullest model, fitted anew to its strikes.

    One model, not the season's mixture: its curves shrink away where a part's strikes do not ask
    for them, and a mixture weighed by all strikes says nothing of a few.

    Returns
    -------
    Answer or None
        With the season's bands as its only period; None where the part has no rod-hours, or no
        strike in them. Its verdict is never ``clear``: see `PICKED`.
    """
    exposure = exposure_of(counted, part)
    if not len(exposure.table) or not len(exposure.strike_row):
        return None
    alone = {"fullest": Member(model=whole.choice.model, weight=1.0)}
    return answer(
        exposure,
        temperature_of(counted.seasons),
        whole.hours.edges_m if edges_m is None else edges_m,
        np.random.default_rng([seed, 3]),
        choice=replace(whole.choice, members=alone),
        checked=False,
        depth_unit=counted.units.depth,
        log_caps=(PICKED, *whole.log_caps),
        refits=REFITS,
        whole_only=True,
    )
