"""Owns what poor water cost: strikes as fished against the same rod-hours in the named bands.

Every rod whose gear reaches it spends all its hours in the band, or the two neighbours by turns,
that the month's answer names; other rods stay where they were. Day, hour, speed, leader and gear
stay as they were.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer, Period
from analysis.rates.boat_levels import TRIP_SHAPE
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import BOUNDS
from analysis.rates.exposure import trip_spans
from analysis.rates.slice_rates import mean_shift, rate_of_water, refits, water_values
from analysis.rates.standardised import SEASON, curves_of_refit
from analysis.result_schema import RESULTS
from analysis.spread.line_outs import usual_speed
from analysis.stats.cells import summing

Array = NDArray[np.float64]

WIDER = 2.0
"""Times by which an interval is wider about its median than the draws make it, where fish follow a
temperature: what the rods' own depths erred by, how good an hour of a trip was, and that a band is
named because it looks best are in no draw. Chosen on sixteen simulated seasons and measured on
sixteen others (tests/benchmarks/season_cost.md)."""


def deepest_m(answer: Answer, seasons: Sequence[BoatSeason]) -> Array:
    """Return how deep the gear of each slice reaches, (slices,) in metres.

    A gear reaches where the most line that its log ever had out on it runs, at the season's usual
    speed; a setting's own longest line would make a reach of what was only a habit.
    """
    table = answer.exposure.table
    out = np.full(len(table), np.nan)
    speed = usual_speed(answer, SEASON)
    line_out = table["line_out_m"].to_numpy(dtype=float)
    for key, rows in table.groupby(["log_number", "gear", "setting"], dropna=False):
        log, gear, setting = cast("tuple[int, str, float]", key)
        season = seasons[log]
        same = (table["log_number"] == log).to_numpy() & (table["gear"] == gear).to_numpy()
        found = season.belief(gear).locate(
            setting=setting,
            line_out_m=np.nanmax(line_out[same], initial=0.0),
            speed_mps=speed,
            tip_height_m=season.tip_height_m,
        )
        out[rows.index] = found.depth_m
    return out


def cost_table(
    answer: Answer, seasons: Sequence[BoatSeason], rng: np.random.Generator
) -> pd.DataFrame:
    """Set the strikes fished against those of the best allowed spread.

    A trip's strikes, and a little of its month's, tell how well fish bit on it (a gamma level
    about the month's mean, as `analysis.rates.boat_levels` has it about the season's); the curves
    tell how much more, or less, its moved rods would have met in the named bands at that hour.
    Slices without a known depth, or water temperature where the model needs it, count as fished;
    so do months that name no band.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason
    rng : numpy.random.Generator

    Returns
    -------
    DataFrame
        ``period`` (``season``, the sum of its months, first), ``rod_hours``, ``moved_hours``
        (rod-hours whose rod could reach the named bands), ``strikes_fished`` (counted),
        ``strikes_best`` with ``low`` and ``high``, and the difference ``more`` with ``more_low``
        and ``more_high``; 90 % intervals. Empty where no month names a band among two or more, or
        where depth and water do not help to predict unseen trips.
    """
    exposure = answer.exposure
    table = exposure.table
    months = answer.periods[1:]
    if not answer.choice.tells_depth or not any(map(_names, months)):
        return pd.DataFrame(columns=RESULTS["cost"].unworded)
    trips = int(exposure.trip.max()) + 1
    row = np.flatnonzero(exposure.complete(answer.fit.model))
    period_of = table["period"].to_numpy(dtype=object)[row]
    hour = _hour_of(answer, row)
    of_trip = np.full(trips, "", dtype=object)
    of_trip[exposure.trip] = table["period"].to_numpy(dtype=object)
    moved = np.zeros(len(row), dtype=bool)
    reach = deepest_m(answer, seasons)[row]
    edges = answer.hours.edges_m
    inside: dict[str, NDArray[np.intp]] = {}
    for period in months:
        if not _names(period):
            continue
        named = np.flatnonzero(period.judgement.named)
        here = np.flatnonzero(period_of == period.name)
        moved[here] = reach[here] >= (edges[named[-1]] + edges[named[-1] + 1]) / 2
        if answer.fit.model.warm:
            known = np.asarray(np.isfinite(answer.hours.temp_c[:, named]).all(axis=(1, 2)))
            moved[here] &= known[hour[here]]
        inside[period.name] = named
    struck = np.bincount(exposure.trip[row], table["strikes"].to_numpy()[row], minlength=trips)
    gain = np.zeros((trips, len(answer.fit.draws)))
    hours = table["hours"].to_numpy()[row]
    design, towed = exposure.tackle(answer.fit.model, row)
    by_trip = summing(exposure.trip[row], trips)
    for draws in refits(answer.fit):
        coef = answer.fit.draws[draws][:, ~answer.fit.model.of_water]
        base = np.exp(design @ coef.T)[towed] * hours[:, None]
        shift = mean_shift(exposure, answer.fit, row, draws)
        water = water_values(exposure, answer.fit, row, draws, shift)
        exposed = base * rate_of_water(answer.fit, draws, water, len(row))
        before = by_trip @ exposed
        rates = _band_rates(answer, draws)
        for name, named in inside.items():
            here = np.flatnonzero(moved & (period_of == name))
            exposed[here] = base[here] * rates[:, named].mean(axis=1)[hour[here]]
        after = by_trip @ exposed
        for period in months:
            here = np.flatnonzero(of_trip == period.name)
            total = before[here].sum(axis=0)
            usual = np.maximum(struck[here].sum(), 0.5) / np.where(total > 0, total, np.inf)
            rate = before[here] + TRIP_SHAPE / np.maximum(usual, 1e-12)
            level = rng.gamma(struck[here, None] + TRIP_SHAPE, 1.0 / rate)
            gain[np.ix_(here, draws)] = level * (after[here] - before[here])
    wider = WIDER if answer.fit.model.warm else 1.0
    rows = [_row(SEASON, table, hours[moved].sum(), gain.sum(axis=0), wider)]
    for period in months:
        hours_there = hours[moved & (period_of == period.name)].sum()
        of_period = gain[of_trip == period.name].sum(axis=0)
        rows.append(_row(period.name, table, hours_there, of_period, wider))
    return pd.DataFrame(rows, columns=RESULTS["cost"].unworded)


def _names(period: Period) -> bool:
    """Whether a period names a band, and had another to choose from."""
    return bool(period.judgement.named.any() and period.judged.sum() > 1)


def _hour_of(answer: Answer, row: NDArray[np.intp]) -> NDArray[np.intp]:
    """Find each slice's boat hour: the row of ``answer.hours`` its middle falls in."""
    exposure = answer.exposure
    first, last = trip_spans(exposure.trip, exposure.start, exposure.end)
    count = np.bincount(answer.hours.trip, minlength=len(first))
    begins = np.cumsum(count) - count
    trip = exposure.trip[row]
    middle = (exposure.start[row] + exposure.end[row]) / 2
    share = (middle - first[trip]) / np.maximum(last[trip] - first[trip], 1)
    place = np.clip((share * count[trip]).astype(np.intp), 0, count[trip] - 1)
    return np.asarray(begins[trip] + place)


def _band_rates(answer: Answer, draws: NDArray[np.intp]) -> Array:
    """Mean rate ratio over the depths of each band at each boat hour: (hours, bands, draws)."""
    fit = answer.fit
    rate = curves_of_refit(fit, answer.hours, fit.refit[draws[0]]).rates(fit.draws[draws])
    return np.asarray((rate + fit.background[draws]).mean(axis=2))


def _row(
    name: str, table: pd.DataFrame, moved: float, gain: Array, wider: float
) -> dict[str, object]:
    here = table if name == SEASON else table.loc[table["period"] == name]
    fished = int(here["strikes"].sum())
    more, *bounds = np.quantile(gain, (0.5, *BOUNDS))
    low, high = (max(more + wider * (bound - more), -fished) for bound in bounds)
    return {
        "period": name,
        "rod_hours": here["hours"].sum(),
        "moved_hours": moved,
        "strikes_fished": fished,
        "strikes_best": fished + more,
        "low": fished + low,
        "high": fished + high,
        "more": more,
        "more_low": low,
        "more_high": high,
    }
