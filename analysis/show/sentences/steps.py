"""The way from the raw count to the rate at equal conditions in plain words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analysis import labels
from analysis.decision.answer import Answer
from analysis.result_rows import Influence, records
from analysis.review.step_plot import CHANCE, TIMES, Steps, headline
from analysis.units import Units

NOTHING = 0.03
"""A ratio nearer to 1 than this moved next to nothing."""


MANIFOLD = 1.75
"""From here on a ratio is told as so many times, not as so many percent."""


WORDS: Mapping[str, str] = {
    CHANCE: "chance, and whatever the log does not hold",
    TIMES: "when each depth was fished: good days and hours, moves after a strike",
    "speed_mps": "speed while it was fished",
    "leader_length_m": "leaders fished there",
    "gear": "gears fished there",
    "water": "the water found there when it was fished",
    "depth_m": "where in the band the lures ran, and when in the season",
}
"""Each step in words, in the order in which the steps are taken."""


def worded(influence: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Return the result table ``influence`` with its headline's rows in a sentence, ``wording``."""
    rows = records(Influence, influence)
    words = [_wording(row, units) if row.headline else "" for row in rows]
    return influence.assign(wording=pd.Series(words, index=influence.index, dtype=object))


def _wording(row: Influence, units: Units) -> str:
    """Say in a sentence what an influence did to the raw rate of a band."""
    this = labels.band(row.band_low_m, row.band_high_m, units)
    other = labels.band(row.against_low_m, row.against_high_m, units)
    name, ratio = row.term, row.ratio
    what = labels.opening(WORDS[name])
    if abs(ratio - 1.0) < NOTHING:
        return f"{what}: moved next to nothing between {this} and {other}."
    way = "raised" if ratio > 1.0 else "lowered"
    sure = (
        ""
        if (row.ratio_low > 1.0) == (row.ratio_high > 1.0)
        else "; whether it did so at all cannot be told"
    )
    change = (
        f"by {labels.percent(abs(ratio - 1.0))}"
        if ratio < MANIFOLD
        else f"to {labels.ratio(ratio)} times"
    )
    return f"{what}: {way} the raw rate of {this} {change} against {other}{sure}."


def shares_sentence(steps: Steps, answer: Answer, units: Units) -> str:
    """Say in a sentence what the raw count names, what the model names, and why they differ."""
    pair = headline(steps, answer)
    if pair is None:
        return "The raw count cannot be set against the model: too few bands or strikes."
    first, best = pair
    edges = answer.hours.edges_m
    this, other = (labels.band(edges[n], edges[n + 1], units) for n in pair)
    raw = float(steps.rates[0, first, 0] / steps.rates[0, best, 0])
    true = float(np.median(steps.rates[-1, first] / steps.rates[-1, best]))
    ratios = np.median(steps.ratios(first, best), axis=1)
    toward = np.log(ratios) * np.sign(np.log(raw / true))
    main = steps.names[int(np.argmax(toward))]
    why = f"What moved it most: {WORDS[main]}."
    if raw > 1.0:
        return (
            f"By the raw rate {this} looks best, at {labels.ratio(raw)} times the rate of {other}; "
            f"at equal conditions it has {labels.ratio(true)} times. {why}"
        )
    return (
        f"By the raw rate {other} looks best too; next comes {this}, at {labels.ratio(raw)} "
        f"times its rate, and {labels.ratio(true)} times at equal conditions. {why}"
    )
