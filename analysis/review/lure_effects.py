"""Owns the comparison of lures at equal depth, water and gear, where it was asked for."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.decision.answer import Answer
from analysis.rates.effects import BOUNDS
from analysis.rates.terms import Effects
from analysis.result_schema import RESULTS
from analysis.review.gear_effects import told_apart

TERM = "lure"


def lure_effects(answer: Answer) -> pd.DataFrame:
    """Compare each lure with the one fished most, all else equal.

    The ratios are the model's shrunk effects, as those of gears are: a lure fished little, or only
    where no other was, is drawn toward 'no difference'.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    DataFrame
        ``lure, ratio, low, high`` (90 % interval; 1 for the reference), ``reference``,
        ``rod_hours, strikes, told_apart`` (as of gears: beyond chance, however many lures there
        are); the most fished first. Empty where lures are not in the model.
    """
    columns = list(RESULTS["lure_effects"].names)
    term = answer.fit.model.term(TERM)
    if not isinstance(term, Effects) or answer.fit.smoothing is None:
        return pd.DataFrame(columns=columns)
    sums = answer.exposure.table.groupby(TERM, observed=True)[["hours", "strikes"]].sum()
    sums = sums.sort_values("hours", ascending=False)
    draws = answer.fit.draws[:, answer.fit.model.columns_of(TERM)]
    draws = draws[:, [term.levels.index(lure) for lure in sums.index]]
    log = draws - draws[:, :1]
    ratio, low, high = np.exp(np.quantile(log, (0.5, *BOUNDS), axis=0))
    return pd.DataFrame(
        {
            "lure": sums.index.astype(str),
            "ratio": ratio,
            "low": low,
            "high": high,
            "reference": str(sums.index[0]),
            "rod_hours": sums["hours"].to_numpy(),
            "strikes": sums["strikes"].to_numpy().astype(int),
            "told_apart": told_apart(log, len(sums) - 1),
        },
        columns=columns,
    )
