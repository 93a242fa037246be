"""Owns the comparison with the season before: the same calculation, each change with interval."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from analysis.decision.answer import Answer
from analysis.rates.effects import BOUNDS
from analysis.rates.exposure import Exposure
from analysis.result_schema import RESULTS

Array = NDArray[np.float64]

OVERALL = "all strikes per rod-hour"
BAND = "rate of the band"
SHARE = "rate of the band against the mean of the bands"


def before_table(now: Answer, before: Answer | None) -> pd.DataFrame:
    """Compare a season with the one before.

    Parameters
    ----------
    now : Answer
    before : Answer or None
        The season before by the same calculation; both have bands of one height.

    Returns
    -------
    DataFrame
        ``what`` (`OVERALL`: strikes over rod-hours as counted, its interval by trips; `BAND`:
        standardised rate; `SHARE`: the same over the mean of the bands compared, which leaves out
        that one year had more fish), ``band_low_m, band_high_m, rate_before, rate_now, ratio, low,
        high`` (90 % interval). Bands judged in both seasons only; empty without a
        season before.
    """
    if before is None:
        return pd.DataFrame(columns=RESULTS["before"].unworded)
    rows = [_overall(now.exposure, before.exposure)]
    common = min(len(now.season.judged), len(before.season.judged))
    both = np.flatnonzero(now.season.judged[:common] & before.season.judged[:common])
    if len(both) and now.fit.strikes and before.fit.strikes:
        count = min(now.season.draws.shape[1], before.season.draws.shape[1])
        new, old = now.season.draws[both, :count], before.season.draws[both, :count]
        rows += _bands(BAND, new, old, both, now.hours.edges_m)
        if len(both) > 1:
            shape = (np.log(rates) - np.log(rates).mean(axis=0) for rates in (new, old))
            new, old = (np.exp(log) for log in shape)
            rows += _bands(SHARE, new, old, both, now.hours.edges_m)
    return pd.DataFrame(rows, columns=RESULTS["before"].unworded)


def _overall(now: Exposure, before: Exposure) -> dict[str, object]:
    """Ratio of strikes per rod-hour; trips vary as a whole, so they give the interval."""
    (new, new_sd), (old, old_sd) = (_counted(season) for season in (now, before))
    ratio, low, high = np.nan, np.nan, np.nan
    if new > 0 and old > 0:
        ratio = new / old
        width = ndtri(BOUNDS[1]) * np.hypot(new_sd, old_sd)
        low, high = ratio * np.exp(-width), ratio * np.exp(width)
    return {
        "what": OVERALL,
        "band_low_m": np.nan,
        "band_high_m": np.nan,
        "rate_before": old,
        "rate_now": new,
        "ratio": ratio,
        "low": low,
        "high": high,
    }


def _counted(exposure: Exposure) -> tuple[float, float]:
    """Strikes per rod-hour, and the standard error of its logarithm by trips.

    Ratio of totals with trips as clusters (Cochran, *Sampling Techniques*, 3rd ed. 1977, sec.
    6.4, from memory).
    """
    hours = np.bincount(exposure.trip, weights=exposure.table["hours"])
    struck = np.bincount(exposure.trip, weights=exposure.table["strikes"])
    fished = hours > 0
    hours, struck = hours[fished], struck[fished]
    if struck.sum() == 0:
        return 0.0, np.inf
    rate = struck.sum() / hours.sum()
    trips = len(hours)
    off = np.sum((struck - rate * hours) ** 2) * trips / max(trips - 1, 1)
    return float(rate), float(np.sqrt(off) / struck.sum()) if trips > 1 else np.inf


def _bands(
    what: str, new: Array, old: Array, bands: NDArray[np.intp], edges_m: Array
) -> list[dict[str, object]]:
    rows = []
    for place, band in enumerate(bands):
        ratio, low, high = np.quantile(new[place] / old[place], (0.5, *BOUNDS))
        rows.append(
            {
                "what": what,
                "band_low_m": edges_m[band],
                "band_high_m": edges_m[band + 1],
                "rate_before": float(np.median(old[place])),
                "rate_now": float(np.median(new[place])),
                "ratio": ratio,
                "low": low,
                "high": high,
            }
        )
    return rows
