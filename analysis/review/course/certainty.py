"""Owns how the doubt about the best depth splits between fish and water."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer, Period
from analysis.rates.standardised import curves_of_refit
from analysis.result_schema import RESULTS

Array = NDArray[np.float64]

CERTAINTY = RESULTS["certainty"].names
EACH = 2
"""Draws of the curves of each refit that are put into every refit's water."""
TOGETHER = 0.5
"""Share of what fish and water would make apart, below which the joint doubt is: then one error
hides the other, and the strikes tell only the two together."""


def certainty_table(answer: Answer) -> pd.DataFrame:
    """Split the variance of each month's best depth between the fish's curves and the water.

    Curves of every refit are put into the water of every refit, and the depth of the highest rate
    is found in each pair: a table of two ways, whose variance by columns is the water's and by
    rows the fish's, as in an analysis of variance.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    DataFrame
        The table ``certainty``, a row a month with two judged bands or more; without rows where
        the model has no water in it. ``apart`` is false where the strikes tell fish and water
        only together.
    """
    fit, judged = answer.fit, answer.season.judged
    if not fit.model.warm or not answer.told or judged.sum() < 2:
        return pd.DataFrame(columns=list(CERTAINTY))
    months = [period for period in answer.periods[1:] if (period.judged & judged).sum() > 1]
    refits = np.unique(fit.refit)
    curves = np.concatenate([_spread(np.flatnonzero(fit.refit == one)) for one in refits])
    best = np.empty((len(months), len(refits), len(curves)))
    level = (answer.levels.level * answer.levels.mix)[answer.hours.trip][:, curves]
    for number, refit in enumerate(refits):
        rate = curves_of_refit(fit, answer.hours, refit).rates(fit.draws[curves])
        rate += fit.background[curves]
        rate = rate.reshape(len(answer.hours.trip), -1, len(curves)) * level[:, None, :]
        for at, month in enumerate(months):
            best[at, number] = _best_m(answer, month, rate)
    rows = [_row(answer, month, found) for month, found in zip(months, best, strict=True)]
    return pd.DataFrame(rows, columns=list(CERTAINTY))


def _spread(draws: NDArray[np.intp]) -> NDArray[np.intp]:
    """Take a few of a refit's draws."""
    return np.asarray(draws[np.linspace(0, len(draws) - 1, min(EACH, len(draws))).astype(int)])


def _best_m(answer: Answer, month: Period, rate: Array) -> Array:
    """Depth of the highest mean rate over a month's hours, for each curve."""
    hours = answer.hours
    here = hours.period == month.name
    mean = np.einsum("h,hzd->zd", hours.weight[here], rate[here])
    inside = np.repeat(month.judged & answer.season.judged, hours.depth_m.shape[1])
    return np.asarray(hours.depth_m.ravel()[inside][np.argmax(mean[inside], axis=0)])


def _row(answer: Answer, month: Period, best: Array) -> dict[str, object]:
    """Tell one month's split, ``best`` being (waters, curves)."""
    inside = month.judged & answer.season.judged
    depth_m = answer.hours.depth_m[inside].ravel()
    rates = month.at_depth[inside].reshape(len(depth_m), -1)
    joint = float(np.var(depth_m[np.argmax(rates, axis=0)]))
    water, fish = float(np.var(best.mean(axis=1))), float(np.var(best.mean(axis=0)))
    both = float(np.var(best))
    share = water / (water + fish) if water + fish > 0 else np.nan
    return {
        "period": month.name,
        "depth_sd_m": np.sqrt(joint),
        "water_share": share,
        "water_known_m": np.sqrt(joint * (1 - share)),
        "apart": bool(both > 0 and joint >= TOGETHER * both),
    }
