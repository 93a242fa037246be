"""Owns what the fish followed, and how many more strikes would tell: numbers, no words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.decision.bands import CLEAR

if TYPE_CHECKING:
    from analysis.decision.answer import Answer, Period


def more_strikes(answer: Answer, period: Period) -> int:
    """Strikes that would halve the doubt between the two leading bands, to the nearest ten.

    The doubt's standard deviation falls with the square root of the strikes; what is needed
    follows from how many standard deviations now separate the leaders (1.3 for 90 % one-sided).
    """
    judged = np.flatnonzero(period.judged)
    logs = np.log(period.draws[judged])
    order = np.argsort(logs.mean(axis=1))[::-1]
    difference = logs[order[0]] - logs[order[1]] if len(order) > 1 else np.array([0.0, 1.0])
    apart = max(float(difference.mean() / max(difference.std(), 1e-9)), 0.3)
    now = max(float(period.strikes.sum()), 10.0)
    needed = now * max((1.3 / apart) ** 2 - 1.0, 0.5)
    return int(min(max(10, round(needed, -1)), 1000))


def what_they_follow(answer: Answer) -> str:
    """``temperature``, ``depth``, or ``unknown``: which alone predicts unseen trips better.

    The difference must exceed its standard error. Where strikes told the water, temperature
    predicts them too well: then it is told by how likely each is over all waters.
    """
    scores = answer.choice.table.set_index("model")
    if "temperature alone" not in scores.index:
        return "unknown"
    if answer.exposure.water_unseen:
        followed = answer.exposure.latent.followed
        if max(followed, 1.0 - followed) < CLEAR:
            return "unknown"
        return "temperature" if followed >= CLEAR else "depth"
    water, depth = scores.loc["temperature alone"], scores.loc["depth drifting with the season"]
    depth = max((depth, scores.loc["depth alone"]), key=lambda row: row["score"])
    apart = water["score"] - depth["score"]
    doubt = float(np.hypot(water["behind_se"], depth["behind_se"]))
    if not abs(apart) > doubt:
        return "unknown"
    return "temperature" if apart > 0 else "depth"
