"""Owns the way from the raw count to the rate at equal conditions, band by band, step by step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.rates.effects import BOUNDS
from analysis.rates.rods import rods_of
from analysis.stats.cells import band_of, summing

Array = NDArray[np.float64]

SHARES = (
    *("period", "band_low_m", "band_high_m", "strike_share", "hour_share"),
    *("raw_rate", "rate", "rate_low", "rate_high"),
)
INFLUENCE = (
    *("term", "band_low_m", "band_high_m", "against_low_m", "against_high_m"),
    *("ratio", "ratio_low", "ratio_high", "headline"),
)
THIN = 4
"""Every so many draws are used: a hundred tell an interval's ends well enough."""

CHANCE = "chance"
TIMES = "days and hours"


def shares_table(bands: pd.DataFrame) -> pd.DataFrame:
    """Set side by side what four ways of counting say of each band.

    Parameters
    ----------
    bands : DataFrame
        The result table ``bands``.

    Returns
    -------
    DataFrame
        ``period, band_low_m, band_high_m, strike_share, hour_share, raw_rate, rate, rate_low,
        rate_high``; the shares of a period add up to 1 (NaN where it has no strike).
    """
    total = bands.groupby("period")[["strikes", "rod_hours"]].transform("sum")
    share = bands[["strikes", "rod_hours"]] / total.where(total > 0)
    table = bands.assign(strike_share=share["strikes"], hour_share=share["rod_hours"])
    return table[list(SHARES)].reset_index(drop=True)


@dataclass(frozen=True, kw_only=True)
class Steps:
    """Rates of the season's bands as one influence after another is taken out.

    Attributes
    ----------
    names : tuple of str
        The influence taken out from one step to the next, such as `CHANCE` or a term.
    rates : (steps + 1, bands, draws) array
        From the raw count to the rate at equal conditions, each up to a factor that all bands
        share; NaN for a band without rod-hours.
    judged : (bands,) bool array
    """

    names: tuple[str, ...]
    rates: Array
    judged: NDArray[np.bool_]

    def ratios(self, band: int, against: int) -> Array:
        """How much each influence changes a band's rate against another's: (steps, draws)."""
        log = np.log(self.rates[:, band]) - np.log(self.rates[:, against])
        return np.asarray(np.exp(log[:-1] - log[1:]))


def steps_of(answer: Answer) -> Steps:
    """Go from the raw rates of the season's bands to the standardised ones in steps.

    Each step takes one thing out, and the ratio of the rates before and after is its influence,
    in the sense of the step plots and influence plots of Bentley et al. 2012, *ICES J. Mar. Sci.*
    69(1), 84-88 (from memory), with bands in the place of years:

    1. the strikes counted give way to those that the model expects given when strikes came
       (each strike shared out among the rods down at that moment): what is left is chance;
    2. strikes come at a constant pace: good days, good hours and moves after a strike are out;
    3. speed (its curve is fitted within trips), 4. leaders, 5. gears at the season's mix;
    6. the rod is held in the band through all boat hours: the water found there at other times.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    Steps
        Influences that the model does not have are left out.
    """
    exposure, fit = answer.exposure, answer.fit
    table = exposure.table
    row = np.flatnonzero(exposure.complete(fit.model))
    edges = answer.hours.edges_m
    count = len(edges) - 1
    band = band_of(exposure.depth_m, edges)
    hours = table["hours"].to_numpy()
    draws = fit.draws[::THIN]
    error = fit.error_draws.mean(axis=0)
    parts = _parts(answer, row, error, draws)
    by_band = summing(band[row], count)
    fished = np.bincount(band[row], weights=hours[row], minlength=count).astype(float)

    counted, expected = _given_moments(answer, band, draws, count)
    rates = [np.repeat(counted[:, None], len(draws), axis=1) / _or_nan(fished)[:, None]]
    rates.append(expected / _or_nan(fished)[:, None])
    names = [CHANCE, TIMES]
    left = [name for name in ("speed_mps", "leader_length_m", "gear") if name in parts]
    # Expected strikes of each band at a constant pace, by the water alone, then with each of these.
    met = parts["water"] * hours[row, None]
    paces = [by_band @ met]
    for name in reversed(left):
        met *= parts[name]
        paces.append(by_band @ met)
    rates += [np.asarray(pace) / _or_nan(fished)[:, None] for pace in reversed(paces)]
    names += left
    names.append("water" if fit.model.warm else "depth_m")
    rates.append(answer.season.draws[:, ::THIN])
    return Steps(names=tuple(names), rates=np.array(rates), judged=answer.season.judged)


def _or_nan(hours: Array) -> Array:
    return np.where(hours > 0, hours, np.nan)


def _parts(answer: Answer, row: NDArray[np.intp], error: Array, draws: Array) -> dict[str, Array]:
    """Rate of each slice by the water, speed, leader and gear: (slices, draws) each."""
    exposure, model = answer.exposure, answer.fit.model
    layers = answer.fit.mean_layers[exposure.trip[row]]
    values = exposure.values(model, row, exposure.shifts.log_shift(error)[row], layers)
    water = model.water.design(values, len(row)) @ draws[:, model.of_water].T
    parts = {"water": np.exp(water, out=water)}
    for term in model.tackle.terms:
        name = "leader_length_m" if term.name == "leader_length_m" else "gear"
        towed, place = np.unique(values[term.name], return_inverse=True)  # few, on many slices
        log = term.design(towed) @ draws[:, model.columns_of(term.name)].T
        parts[name] = parts.get(name, 1.0) * np.exp(log)[place]
    if answer.speed is not None:
        speed = exposure.table["speed_mps"].to_numpy(dtype=float)[row]
        known = np.isfinite(speed)
        slow, place = np.unique(speed[known], return_inverse=True)
        curve = answer.speed.log_rate(slow)[:, ::THIN]
        parts["speed_mps"] = np.ones((len(row), len(draws)))
        parts["speed_mps"][known] = np.exp(curve - curve[place].mean(axis=0))[place]
    return parts


def _given_moments(
    answer: Answer, band: NDArray[np.intp], draws: Array, count: int
) -> tuple[Array, Array]:
    """Strikes of each band as counted, and as expected among the rods down at each strike."""
    rods = rods_of(answer.exposure, answer.fit.model)
    sets = rods.sets
    error = answer.fit.error_draws.mean(axis=0)
    layers = answer.fit.mean_layers[answer.exposure.trip[sets.row]]
    log = np.zeros((0, len(draws)))
    if len(sets.row):
        log = rods.design(rods.shifts.log_shift(error), layers) @ draws.T
    moments, place = np.unique(sets.moment, return_inverse=True)
    weight = np.exp(log)
    total = summing(place, len(moments)) @ weight
    expected = summing(band[sets.row], count) @ (weight / total[place])
    counted = np.bincount(band[sets.row], weights=sets.hit, minlength=count)
    return counted.astype(float), expected


def headline(steps: Steps, answer: Answer) -> tuple[int, int] | None:
    """Return the band whose raw count misleads most, and the band it is compared with.

    That is the judged band with the highest raw rate, against the one that the model puts first;
    where both are one, the next highest. None where fewer than two bands can be compared.
    """
    usable = steps.judged & np.isfinite(np.log(np.maximum(steps.rates, 1e-300))).all(axis=(0, 2))
    usable &= (steps.rates[0] > 0).all(axis=1)
    if usable.sum() < 2 or answer.fit.strikes == 0:
        return None
    middle = np.where(usable, np.median(steps.rates[-1], axis=1), -np.inf)
    named = usable & answer.season.judgement.named
    best = int(np.argmax(np.where(named, middle, -np.inf))) if named.any() else int(middle.argmax())
    raw = np.where(usable, steps.rates[0, :, 0], -np.inf)
    raw[best] = -np.inf
    return int(raw.argmax()), best


def influence_table(steps: Steps, answer: Answer) -> pd.DataFrame:
    """Return how much each influence changes each judged band's raw rate against the best band's.

    Parameters
    ----------
    steps : Steps
    answer : Answer

    Returns
    -------
    DataFrame
        ``term, band_low_m, band_high_m, against_low_m, against_high_m, ratio, ratio_low,
        ratio_high, headline``; the ratios of a band multiply to its raw over its
        standardised rate, both against the best band's. ``headline`` marks the band of
        `headline`. ``term`` is one of `Steps.names`.
    """
    pair = headline(steps, answer)
    if pair is None:
        return pd.DataFrame(columns=list(INFLUENCE))
    first, best = pair
    edges = answer.hours.edges_m
    rows = []
    others = steps.judged & (steps.rates[0, :, 0] > 0)
    for band in np.flatnonzero(others):
        if band == best:
            continue
        bounds = np.quantile(steps.ratios(int(band), best), (0.5, *BOUNDS), axis=1)
        for name, (middle, low, high) in zip(steps.names, bounds.T, strict=True):
            rows.append(
                {
                    "term": name,
                    "band_low_m": edges[band],
                    "band_high_m": edges[band + 1],
                    "against_low_m": edges[best],
                    "against_high_m": edges[best + 1],
                    "ratio": middle,
                    "ratio_low": low,
                    "ratio_high": high,
                    "headline": band == first,
                }
            )
    return pd.DataFrame(rows, columns=list(INFLUENCE))
