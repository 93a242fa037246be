"""Where nearly every depth will do: the widest run of bands of which none gives up much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.decision.answer import Period
from analysis.decision.bands import SURE

MOST_LOST = 0.2
"""Share of the best band's rate that a band may give up and still do nearly as well."""
FEWEST_BANDS = 3
LEAST_SHARE = 0.5
"""Share of the judged bands that the run must hold: less is no freedom worth telling."""


@dataclass(frozen=True, kw_only=True)
class WideChoice:
    """A run of neighbouring bands that all do nearly as well as the best one.

    Attributes
    ----------
    first, last : int
        Its bands, both included.
    chance : float
        That none of them gives up more than `MOST_LOST`.
    """

    first: int
    last: int
    chance: float


def most_lost(period: Period) -> float:
    """Return what the worst judged band gave up of the best one's rate, at most: nine in ten.

    Parameters
    ----------
    period : Period
        At least one of its bands is judged.

    Returns
    -------
    float
        Share that is exceeded in one of ten draws.
    """
    rates = period.draws[period.judged]
    return float(np.quantile(1.0 - rates.min(axis=0) / rates.max(axis=0), SURE))


def wide_choice(period: Period) -> WideChoice | None:
    """Return the run of bands about the named ones in which any depth does nearly as well.

    It grows, from the named bands on, by the neighbour that leaves the chance higher, as long as
    this stays at least `SURE`: all of its bands at once keep at least ``1 - MOST_LOST`` of the
    best judged band's rate in so many draws.

    Parameters
    ----------
    period : Period

    Returns
    -------
    WideChoice or None
        None where it holds fewer than `FEWEST_BANDS`, or less than `LEAST_SHARE` of those judged:
        then the depth matters.
    """
    judged, named = period.judged, np.flatnonzero(period.judgement.named)
    if not len(named) or period.judgement.verdict == "open":
        return None
    top = period.draws[judged].max(axis=0)
    good = period.draws >= (1.0 - MOST_LOST) * top
    first, last = int(named[0]), int(named[-1])
    all_good = good[first : last + 1].all(axis=0)
    while True:
        beside = [
            band
            for band in (first - 1, last + 1)
            if 0 <= band < len(judged) and judged[band] and np.mean(all_good & good[band]) >= SURE
        ]
        if not beside:
            break
        band = max(beside, key=lambda one: float(np.mean(all_good & good[one])))
        all_good &= good[band]
        first, last = min(first, band), max(last, band)
    bands = last - first + 1
    if bands < FEWEST_BANDS or bands < LEAST_SHARE * judged.sum():
        return None
    return WideChoice(first=first, last=last, chance=float(np.mean(all_good)))
