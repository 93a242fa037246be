"""Which depth band produced: rates, the chance that each is best, and a verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.effects import BOUNDS

Array = NDArray[np.float64]

SEASON_HOURS = 20.0
"""Rod-hours a band needs in a season of several months to be judged."""
MONTH_HOURS = 8.0
"""Rod-hours a band needs in a month to be judged."""
NEAR = 0.9
"""A band is as good as the best where its rate is at least this share of it."""
SURE = 0.9
"""Chance from which something is told as so: that depth matters, that several bands do nearly as
well."""
CLEAR = 0.92
"""Chance that the named bands hold one as good as the best, for a clear verdict. From 0.9 on, one
season whose gear runs far from its book can make a twentieth of a row of clear months wrong
(tests/benchmarks/coverage_study.md)."""
CLEAR_UNSEEN = 0.97
"""The same where no thermometer went below the surface: the form of the water's layers is assumed
then, and the chance is believed less (tests/benchmarks/unseen_water_study.md)."""
LEANING = 0.6
TIE = 0.2
"""A neighbour is named too where the chance that it beats the best-looking band is above this."""
MOST_ON_SPREAD = 1 / 3
"""Share of a period's rod-hours resting on a spread alone above which no verdict is `clear`:
nobody wrote down what those rods fished after the start (a rule of the log's format)."""


def spread_share(slices: pd.DataFrame) -> float:
    """Return the share of some slices' rod-hours that rest on a trip's spread alone."""
    hours = slices["hours"].to_numpy(dtype=float)
    if "source" not in slices or not hours.sum() > 0:
        return 0.0
    return float(hours @ (slices["source"] == "spread").to_numpy() / hours.sum())


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """What a period's bands say.

    Attributes
    ----------
    p_best : (bands,) array
        Chance that each judged band has the highest rate; NaN for the others.
    named : (bands,) bool array
        The band, or two neighbours, that the answer names.
    p_named : float
        Chance that the best band is among the named; NaN where none is.
    p_near : float
        Chance that a named band is within a tenth of the best.
    p_matters : float
        Chance that some judged band is worse than the best by more than a tenth: that the choice
        of a band matters at all.
    verdict : str
        ``clear``, ``leaning`` or ``open``.
    first : int
        The named band whose expected share of the best is highest; -1 where none is named.
    """

    p_best: Array
    named: NDArray[np.bool_]
    p_named: float
    p_near: float
    p_matters: float
    verdict: str
    first: int

    @property
    def rather(self) -> int | None:
        """Of two named neighbours the likelier: two are named only where one alone is not sure."""
        return self.first if self.named.sum() > 1 else None

    def beyond(self, judged: NDArray[np.bool_]) -> tuple[str, ...]:
        """Sides of the named bands, ``shallower`` or ``deeper``, on which no band was judged.

        What lies there may be better still: the best of the bands judged is at their edge.

        Parameters
        ----------
        judged : (bands,) bool array
            Bands that were fished enough.
        """
        if not self.named.any():
            return ()
        named, known = np.flatnonzero(self.named), np.flatnonzero(judged)
        shallower = ("shallower",) if 0 < named[0] <= known[0] else ()
        return (*shallower, *(("deeper",) if named[-1] >= known[-1] else ()))

    def rate(self, draws: Array) -> Array:
        """Median and 90 % bounds (3,) of the named bands' rate; NaN where none is named.

        One band's own, or that of a rod that parts its hours equally between two neighbours. From
        their joint draws: what makes both good or both bad stays in the interval.
        """
        if not self.named.any():
            return np.full(3, np.nan)
        return np.asarray(np.quantile(draws[self.named].mean(axis=0), (0.5, *BOUNDS)))

    def as_open(self) -> Judgement:
        """Return the same figures with the verdict ``open``: too little to stand on."""
        return replace(self, verdict="open")


def judge(
    draws: Array,
    judged: NDArray[np.bool_],
    *,
    may_be_clear: bool = True,
    clear: float = CLEAR,
) -> Judgement:
    """Name the band, or the two neighbours, that gave up least, and say how sure that is.

    The band named is the one whose expected share of the best band's rate is highest: a band that
    is never bad beats one that is often best and sometimes poor. Its neighbour is named with it
    where the log cannot tell them apart.

    Parameters
    ----------
    draws : (bands, draws) array
        Rates of all bands.
    judged : (bands,) bool array
        Bands fished enough to be judged.
    may_be_clear : bool
        False where something known caps the verdict at ``leaning`` (no temperatures, few
        strikes).
    clear : float
        Chance that the named bands hold one as good as the best, from which they are clear.

    Returns
    -------
    Judgement
        ``open`` where fewer than two bands can be judged, or where it may be that no judged band
        is worse than any other by a tenth: then every choice of depth is as good.
    """
    bands = len(judged)
    p_best = np.full(bands, np.nan)
    named = np.zeros(bands, dtype=bool)
    judged = judged & np.isfinite(draws).all(axis=1)
    place = np.flatnonzero(judged)
    if len(place) == 0:
        return Judgement(
            p_best=p_best,
            named=named,
            p_named=np.nan,
            p_near=np.nan,
            p_matters=np.nan,
            verdict="open",
            first=-1,
        )
    among = draws[place]
    top = among.max(axis=0)
    wins = np.bincount(among.argmax(axis=0), minlength=len(place)) / among.shape[1]
    p_best[place] = wins
    first = int(np.argmax((among / top).mean(axis=1)))
    named[place[first]] = True
    beats = {
        other: float(np.mean(among[other] > among[first]))
        for other in (first - 1, first + 1)
        if 0 <= other < len(place) and abs(place[other] - place[first]) == 1
    }
    alone = float(np.mean(among[first] >= NEAR * top))
    if beats:
        other = max(beats, key=lambda neighbour: beats[neighbour])
        if beats[other] > TIE and alone < clear:
            named[place[other]] = True
    chosen = draws[named].max(axis=0)
    p_near = float(np.mean(chosen >= NEAR * top))
    p_named = float(p_best[named].sum())
    p_matters = float(np.mean(among.min(axis=0) < NEAR * top))
    if len(place) < 2 or p_matters < SURE:
        verdict = "open"
    elif p_near >= clear:
        verdict = "clear" if may_be_clear else "leaning"
    else:
        verdict = "leaning" if p_near >= LEANING else "open"
    return Judgement(
        p_best=p_best,
        named=named,
        p_named=p_named,
        p_near=p_near,
        p_matters=p_matters,
        verdict=verdict,
        first=int(place[first]),
    )
