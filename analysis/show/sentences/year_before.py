"""The comparison with the season before in plain words."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis import labels
from analysis.decision.answer import Answer
from analysis.result_rows import Before, records
from analysis.review.year_on_year import OVERALL, SHARE
from analysis.units import Units


def worded(table: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Return the result table ``before`` with each of its rows in a sentence, ``wording``."""
    words = []
    for row in records(Before, table):
        what = "Strikes per rod-hour as counted"
        if row.what != OVERALL:
            what = labels.band(row.band_low_m, row.band_high_m, units)
        against = " against the other bands" if row.what == SHARE else ""
        words.append(_wording(f"{what}{against}", row.ratio, row.low, row.high))
    return table.assign(wording=pd.Series(words, index=table.index, dtype=object))


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
