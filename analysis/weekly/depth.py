"""Which depth produced in a week: bands that enough boats fished, rates, and a verdict."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import FEWEST_STRIKES, Answer
from analysis.decision.bands import MOST_ON_SPREAD, NEAR, judge, spread_share
from analysis.decision.caps import Cap
from analysis.rates.effects import BOUNDS
from analysis.weekly.disclosure import Parts, merge_neighbours, stands
from analysis.weekly.figures import Depth, WeekBand

Array = NDArray[np.float64]

WEEK_HOURS = 4.0
"""Rod-hours a band needs in a week to be judged."""
WEEK_STRIKES = 3
"""A week's strikes below which its verdict is ``open``: it says nothing of itself."""
WEEK_STRIKES_FOR_CLEAR = 10
"""A week's strikes below which its verdict is at most ``leaning``: what it adds to the season's
curve is too little to show that the fish did as in other weeks."""
WIDE_BANDS = 3
"""What spans more than so many of the season's bands is too wide to name with certainty."""
WORTH_A_TRY = 0.2
"""A band is worth a rod where the chance that it is as good as the best is at least this."""


def depth_of(
    answer: Answer, slices: pd.DataFrame, draws: Array, least: int, say: Callable[[Cap], str]
) -> tuple[Depth, list[tuple[int, ...]]]:
    """Judge a week's bands.

    Parameters
    ----------
    answer : Answer
        The season's: its curves hold for every week of it.
    slices : DataFrame
        The week's rows of the exposure, with ``boat``; at least ``least`` boats.
    draws : (bands, draws) array
        Rates of the season's bands over the week's boat hours.
    least : int
        Boats that must stand behind the rod-hours of a band.
    say : callable
        Puts in words what keeps the verdict from being clear: the week's file has it in words.

    Returns
    -------
    depth : Depth
    groups : list of tuple of int
        The season's bands whose rod-hours are told as one; -1 is an unknown depth. For the audit
        of what is told, not to be told itself: it says how deep a single boat fished.
    """
    edges = answer.hours.edges_m
    cells, unknown = _hours_by_band(slices, edges)
    fished = np.flatnonzero([bool(parts) for parts in cells])
    first, last = (fished[0], fished[-1]) if len(fished) else (0, -1)
    groups = [
        [first + index for index in group]
        for group in merge_neighbours(cells[first : last + 1], least)
    ]
    cores = [_core(group, cells, least) for group in groups]
    unknown_apart = not unknown or stands(unknown, least)
    hours = np.array([sum(sum(cells[band].values()) for band in group) for group in groups])
    if not unknown_apart and len(groups):
        hours[-1] += sum(unknown.values())
    rates = np.array([_mean_known(draws[core]) for core in cores]).reshape(len(groups), -1)
    strikes = int(slices["strikes"].sum())
    judged = (hours >= WEEK_HOURS) & np.isfinite(rates).all(axis=1)
    # One band alone is no answer to which is best.
    comparable = judged & (judged.sum() > 1) & (answer.fit.strikes >= 1)
    found = judge(rates, comparable)
    near = _near(rates, comparable)
    spans = [len(core) for core, named in zip(cores, found.named, strict=True) if named]
    caps = _caps(answer, strikes)
    if spread_share(slices) > MOST_ON_SPREAD:
        caps += (Cap(code="week-on-spread"),)
    if sum(spans) > WIDE_BANDS or (len(groups) < 2 <= len(fished)):
        caps += (Cap(code="week-of-few-boats"),)
    elif not comparable.any():
        caps += (Cap(code="week-of-few-depths"),)
    alike = bool(comparable.any() and (near[comparable] >= WORTH_A_TRY).all())
    verdict = "leaning" if caps and found.verdict == "clear" else found.verdict
    if alike or answer.fit.strikes < FEWEST_STRIKES or strikes < WEEK_STRIKES:
        verdict = "open"
    quantiles = _quantiles(rates)
    bands = tuple(
        WeekBand(
            low_m=float(edges[core[0]]),
            high_m=float(edges[core[-1] + 1]),
            shallower=bool(core[0] > group[0]),
            deeper=bool(core[-1] < group[-1]),
            depth_unknown=not unknown_apart and at == len(groups) - 1,
            rod_hours=float(hours[at]),
            judged=bool(judged[at]),
            rate=float(quantiles[0, at]),
            rate_low=float(quantiles[1, at]),
            rate_high=float(quantiles[2, at]),
            p_best=float(found.p_best[at]),
            named=bool(found.named[at]),
        )
        for at, (group, core) in enumerate(zip(groups, cores, strict=True))
    )
    named = [band for band in bands if band.named]
    rate, low, high = found.rate(rates)
    audited = [tuple(map(int, group)) for group in groups]
    if unknown and (unknown_apart or not audited):
        audited.append((-1,))
    elif unknown:
        audited[-1] += (-1,)
    depth = Depth(
        bands=bands,
        unknown_hours=float(sum(unknown.values())) if unknown_apart else 0.0,
        verdict=verdict,
        caps=tuple(map(say, caps)),
        p_near=found.p_near,
        named_low_m=named[0].low_m if named else np.nan,
        named_high_m=named[-1].high_m if named else np.nan,
        named_hours=sum(band.rod_hours for band in named),
        rate=float(rate),
        rate_low=float(low),
        rate_high=float(high),
        alike=alike,
        explore=_explore(bands, near),
    )
    return depth, audited


def _hours_by_band(slices: pd.DataFrame, edges_m: Array) -> tuple[list[Parts], Parts]:
    """Rod-hours of each boat in each band, and those of unknown depth."""
    band = band_of(slices, edges_m)
    cells: list[dict[str, float]] = [{} for _ in range(len(edges_m) - 1)]
    unknown: dict[str, float] = {}
    hours = slices["hours"].to_numpy(dtype=float)
    for place, boat, part in zip(band, slices["boat"], hours, strict=True):
        cell = unknown if place < 0 else cells[place]
        if part > 0:
            cell[str(boat)] = cell.get(str(boat), 0.0) + float(part)
    return list(cells), unknown


def band_of(slices: pd.DataFrame, edges_m: Array) -> NDArray[np.intp]:
    """Return the band each slice was fished in; -1 for an unknown depth."""
    depth = slices["depth_m"].to_numpy(dtype=float)
    return np.where(np.isfinite(depth), np.digitize(depth, edges_m) - 1, -1)


def _core(group: Sequence[int], cells: Sequence[Parts], least: int) -> list[int]:
    """Return the bands of a group whose depth and rate are told.

    They begin where the last of enough boats fished shallowest, and end where the last of enough
    went deepest: neither how far beyond a single boat fished nor what the model learnt there from
    that boat alone is told.
    """
    deepest: dict[str, int] = {}
    for band, parts in enumerate(cells):
        deepest |= dict.fromkeys(parts, band)
    shallowest = {boat: band for band, parts in reversed([*enumerate(cells)]) for boat in parts}
    last = min(least, len(deepest)) - 1
    ends = sorted((sorted(shallowest.values())[last], sorted(deepest.values())[-1 - last]))
    return [band for band in group if ends[0] <= band <= ends[1]]


def _mean_known(draws: Array) -> Array:
    """Mean of the bands whose rate is known; NaN unless that is half of them."""
    known = np.isfinite(draws).all(axis=1)
    if known.mean() < 0.5:
        return np.full(draws.shape[1], np.nan)
    return np.asarray(draws[known].mean(axis=0))


def _quantiles(rates: Array) -> Array:
    """Median and bounds of each row, NaN where a row is unknown."""
    found = np.full((3, len(rates)), np.nan)
    known = np.isfinite(rates).all(axis=1)
    found[:, known] = np.quantile(rates[known], (0.5, *BOUNDS), axis=1)
    return found


def _caps(answer: Answer, strikes: int) -> tuple[Cap, ...]:
    """Return what keeps a week's verdict from being clear."""
    # whose log it is about is not the club's to know
    found = [replace(cap, boat="") for cap in answer.caps_of_less]
    if strikes < WEEK_STRIKES_FOR_CLEAR:
        found.append(Cap(code="week-of-few-strikes"))
    return tuple(found)


def _near(rates: Array, judged: NDArray[np.bool_]) -> Array:
    """Chance that each band is within a tenth of the best judged one; 0 where not known."""
    among = rates[judged]
    if not len(among):
        return np.zeros(len(rates))
    return np.asarray((np.nan_to_num(rates) >= NEAR * among.max(axis=0)).mean(axis=1))


def _explore(bands: Sequence[WeekBand], near: Array) -> WeekBand | None:
    """Return the least fished band, not named, that may be as good as the best."""
    worth = [
        band
        for band, chance in zip(bands, near, strict=True)
        if not band.named and chance >= WORTH_A_TRY
    ]
    return min(worth, key=lambda band: band.rod_hours, default=None)
