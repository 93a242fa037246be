"""Owns the comparison with the season before: the same calculation, each change with interval."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from analysis import labels
from analysis.decision.answer import Answer
from analysis.rates.effects import BOUNDS
from analysis.rates.exposure import Exposure
from analysis.units import Units

Array = NDArray[np.float64]

COLUMNS = (
    *("what", "band_low_m", "band_high_m", "rate_before", "rate_now", "ratio", "low", "high"),
    *("wording",),
)
OVERALL = "all strikes per rod-hour"
BAND = "rate of the band"
SHARE = "rate of the band against the mean of the bands"


def before_table(now: Answer, before: Answer | None, units: Units) -> pd.DataFrame:
    """Compare a season with the one before.

    Parameters
    ----------
    now : Answer
    before : Answer or None
        The season before by the same calculation; both have bands of one height.
    units : Units

    Returns
    -------
    DataFrame
        ``what`` (`OVERALL`: strikes over rod-hours as counted, its interval by trips; `BAND`:
        standardised rate; `SHARE`: the same over the mean of the bands compared, which leaves out
        that one year had more fish), ``band_low_m, band_high_m, rate_before, rate_now, ratio, low,
        high`` (90 % interval) and ``wording``. Bands judged in both seasons only; empty without a
        season before.
    """
    if before is None:
        return pd.DataFrame(columns=list(COLUMNS))
    rows = [_overall(now.exposure, before.exposure)]
    common = min(len(now.season.judged), len(before.season.judged))
    both = np.flatnonzero(now.season.judged[:common] & before.season.judged[:common])
    if len(both) and now.fit.strikes and before.fit.strikes:
        count = min(now.season.draws.shape[1], before.season.draws.shape[1])
        new, old = now.season.draws[both, :count], before.season.draws[both, :count]
        rows += _bands(BAND, new, old, both, now.hours.edges_m, units)
        if len(both) > 1:
            shape = (np.log(rates) - np.log(rates).mean(axis=0) for rates in (new, old))
            new, old = (np.exp(log) for log in shape)
            rows += _bands(SHARE, new, old, both, now.hours.edges_m, units)
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _overall(now: Exposure, before: Exposure) -> dict[str, object]:
    """Ratio of strikes per rod-hour; trips vary as a whole, so they give the interval."""
    (new, new_sd), (old, old_sd) = (_counted(season) for season in (now, before))
    ratio, low, high = np.nan, np.nan, np.nan
    if new > 0 and old > 0:
        ratio = new / old
        width = stats.norm.ppf(BOUNDS[1]) * np.hypot(new_sd, old_sd)
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
        "wording": _wording("Strikes per rod-hour as counted", ratio, low, high),
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
    what: str, new: Array, old: Array, bands: NDArray[np.intp], edges_m: Array, units: Units
) -> list[dict[str, object]]:
    rows = []
    for place, band in enumerate(bands):
        ratio, low, high = np.quantile(new[place] / old[place], (0.5, *BOUNDS))
        label = labels.band(edges_m[band], edges_m[band + 1], units)
        against = " against the other bands" if what == SHARE else ""
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
                "wording": _wording(f"{label}{against}", ratio, low, high),
            }
        )
    return rows


def _wording(what: str, ratio: float, low: float, high: float) -> str:
    if not np.isfinite(ratio):
        return f"{what}: a season without strikes cannot be compared."
    bounds = labels.interval(low, high, labels.ratio)
    interval = f"{labels.ratio(ratio)} times the season before ({bounds})"
    if low > 1.0:
        return f"{what}: up, {interval}."
    if high < 1.0:
        return f"{what}: down, {interval}."
    return f"{what}: no change that can be told, {interval}."


def before_sentences(
    table: pd.DataFrame, now: Answer, before: Answer | None, units: Units
) -> list[str]:
    """Say in two or three sentences how the season compares with the one before."""
    if before is None:
        return ["No log of the season before was given, so there is nothing to compare with."]
    lines = [str(table.iloc[0]["wording"])]
    shares = table.loc[table["what"] == SHARE]
    if not shares.empty:
        lines.append(_moved(shares, units))
    named = [
        labels.band(*answer.named_m(answer.season), units)
        for answer in (before, now)
        if answer.season.judgement.named.any()
    ]
    if len(named) == 2:
        lines.append(
            f"The season's answer was {named[0]} then and is {named[1]} now."
            if named[0] != named[1]
            else f"Both seasons' answer is {named[0]}."
        )
    return lines


def _moved(shares: pd.DataFrame, units: Units) -> str:
    """Say which bands changed against the others beyond their intervals."""
    parts = []
    for way, rows in (
        ("better", shares.loc[shares["low"] > 1.0]),
        ("worse", shares.loc[shares["high"] < 1.0]),
    ):
        bands = [
            labels.band(low, high, units)
            for low, high in zip(rows["band_low_m"], rows["band_high_m"], strict=True)
        ]
        if bands:
            parts.append(f"{labels.listing(bands)} fished {way}")
    if not parts:
        return "Against the other bands none changed beyond its interval."
    return f"Against the other bands, {', '.join(parts)} than the season before."
