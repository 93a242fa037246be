"""The answer by the field's other models: strata of trips or hours, gamma effects, or pooled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.errors import FitError
from analysis.rates.exposure import Exposure
from analysis.rates.fit import REFITS, Fit, fit_rods
from analysis.rates.rods import Rods, rods_of
from analysis.rates.shared_shifts import SharedShifts
from analysis.rates.standardised import BoatHours, band_draws
from analysis.rates.terms import RateModel
from analysis.rates.trip_rates import trip_levels
from analysis.stats.cells import DEPTH_SHARE, TEMPERATURE_WIDTH_C, binned, collapse
from analysis.stats.conditional import Strata, group
from analysis.stats.counts import profile_shape
from analysis.stats.marginal_likelihood import Block, choose_smoothing, penalty_matrix
from analysis.stats.risk_sets import RiskSets
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]
Index = NDArray[np.intp]

StrataName = Literal["same time", "trip hour", "trip", "season", "trip hour gamma", "trip gamma"]
COMPARED: tuple[StrataName, ...] = ("same time", "trip hour", "trip", "trip hour gamma", "season")
"""Strata of the comparison, from those that trust the captain's choices least to those that trust
them blindly."""
WORDS: dict[str, str] = {
    "trip hour": "given each trip hour's strikes",
    "trip": "given each trip's strikes",
    "season": "pooled, as if all days and hours were alike",
    "trip hour gamma": "with a gamma effect for each trip hour",
    "trip gamma": "with a gamma effect for each trip",
}
HOUR_US = 3_600_000_000
POOLED_SHAPE = 1e4
"""Gamma effects of trips that differ by 1 %: a pooled Poisson model whose scores sum by trip."""


@dataclass(frozen=True, kw_only=True)
class Slices(Rods):
    """Cells of slices alike, instead of rods at strikes; the last shared error is the constant."""

    log_hours: Array
    shape: float

    @cached_property
    def shifts(self) -> SharedShifts:
        """How depths follow the shared errors, and the constant, which moves no depth."""
        found = self.exposure.shifts.take(self.sets.row)
        return replace(
            found,
            loadings=np.pad(found.loadings, ((0, 0), (0, 1))),
            turn=np.pad(found.turn, ((0, 1), (0, 0))),
        )

    @property
    def layered(self) -> bool:
        """Never: the casts are taken at their word here."""
        return False

    def log_rates(self, coef: Array, error: Array, layers: Array | float) -> tuple[Array, Array]:
        """Log rate by the curves, and by tackle and hours: of these come a cell's strikes."""
        curves, tackle = super().log_rates(coef, error, layers)
        return curves, tackle + self.log_hours[:, None]

    def strata(self, coef: Array, error: Array, layers: Array | float = 0.0) -> Strata:
        """Rows of the fit by trip or hour, with their hours as effort."""
        design, offset = self.linear(coef, error, layers)
        design[:, -1] = 1.0 if self.shape else 0.0
        return group(
            design,
            self.sets.hit,
            offset + self.log_hours,
            self.sets.moment,
            self.cluster,
            shape=self.shape,
        )


def slices_of(exposure: Exposure, model: RateModel, strata: str) -> Slices:
    """Gather all effort by strata, slices of one set alike in depth and temperature as one.

    Depth is binned to a quarter of its own standard deviation, temperature to a tenth of a
    degree; everything else of a set is one value already.

    Parameters
    ----------
    exposure : Exposure
    model : RateModel
    strata : str
        One of ``StrataName`` but ``same time``.

    Returns
    -------
    Slices
        With shape 1 where gamma effects are asked for, 0 where strata are eliminated.
    """
    table = exposure.table
    hours = table["hours"].to_numpy(dtype=float)
    row = np.flatnonzero(exposure.complete(model) & (hours > 0))
    trip = exposure.trip[row]
    stratum = trip.astype(np.int64)
    if strata.startswith("trip hour"):
        hour = exposure.start[row] // HOUR_US
        stratum = collapse(trip, hour - hour.min(initial=0)).cell
    deviation = table["depth_sd_m"].to_numpy(dtype=float)[row]
    usual = float(np.nanmedian(deviation)) if np.isfinite(deviation).any() else 0.0
    cells = collapse(
        stratum,
        trip,
        collapse(table["log_number"].to_numpy()[row], table["set"].to_numpy()[row]).cell,
        binned(exposure.depth_m[row], DEPTH_SHARE * usual),
        binned(table["lure_temp_c"].to_numpy(dtype=float)[row], TEMPERATURE_WIDTH_C),
    )
    first = row[cells.row]
    return Slices(
        exposure=exposure,
        model=model,
        sets=RiskSets(
            row=first,
            moment=stratum[cells.row].astype(np.intp),
            hit=cells.sum(table["strikes"].to_numpy()[row]),
        ),
        cluster=trip[cells.row],
        log_hours=np.log(cells.sum(hours[row])),
        shape=POOLED_SHAPE if strata == "season" else float(strata.endswith("gamma")),
    )


@one_thread
def fit_by(
    exposure: Exposure,
    model: RateModel,
    rng: np.random.Generator,
    *,
    strata: StrataName = "same time",
    refits: int = REFITS,
) -> Fit:
    """Fit a model with days and hours accounted for in one of several ways.

    ``same time`` is :func:`analysis.rates.fit.fit_rate`, the season's own answer: only rods down
    at one moment are compared. ``trip hour`` and ``trip`` eliminate coarser strata exactly (an
    hour is that in which a slice begins). The gamma ones keep what strata tell of each other and
    trust, in return, that effort does not follow good hours; their shape is chosen by likelihood
    and its doubt not carried. ``season`` pools everything. All but the first are biased against a
    hot depth to which rods are moved after a strike: they are here to be compared.

    Parameters
    ----------
    exposure : Exposure
    model : RateModel
    rng : numpy.random.Generator
    strata : str
    refits : int
        Draws of the smoothing that are refitted.

    Returns
    -------
    Fit

    Raises
    ------
    FitError
        Where ``strata`` is none of the names.
    """
    if strata not in get_args(StrataName):
        msg = f"strata {strata!r}: no such strata. Use one of {', '.join(get_args(StrataName))}."
        raise FitError(msg)
    if strata == "same time":
        return fit_rods(rods_of(exposure, model), rng, refits=refits)
    rods = slices_of(exposure, model, strata)
    strikes = rods.sets.hit.sum()
    if rods.shape and strikes > 0:
        level = np.log(strikes) - np.log(np.exp(rods.log_hours).sum())
        rods = replace(rods, log_hours=rods.log_hours + level)
        if strata != "season":
            rods = replace(rods, shape=_shape(rods))
    found = fit_rods(rods, rng, refits=refits)
    words = WORDS[strata]
    if strata.endswith("gamma"):
        words += f" of shape {rods.shape:.2g}"
    return replace(found, error_draws=found.error_draws[:, :-1], strata=words)


def compare_strata(
    exposure: Exposure,
    model: RateModel,
    hours: BoatHours,
    judged: NDArray[np.bool_],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Fit one model by each way to account for days and hours, and set the bands side by side.

    Only the strata differ: curves, smoothing, depth errors and the averaging over the season are
    the same, so what the rows show is what trusting the captain's choices does to the answer.

    Parameters
    ----------
    exposure : Exposure
    model : RateModel
        The fullest of the models the season's answer is averaged from.
    hours : BoatHours
    judged : (bands,) bool array
        Bands fished enough to be judged.
    rng : numpy.random.Generator

    Returns
    -------
    DataFrame
        ``strata, band_low_m, band_high_m, ratio, low, high, p_best, status``: the rate of each
        judged band over the geometric mean of all judged ones, with 90 % bounds, and the chance
        that it is the best. No rows where fewer than two bands are judged.
    """
    band = np.flatnonzero(judged)
    rows = []
    for strata in COMPARED if len(band) > 1 else ():
        fit = fit_by(exposure, model, rng, strata=strata)
        everything = np.ones(len(hours.trip), dtype=bool)
        (draws,) = band_draws(fit, trip_levels(exposure, fit, rng), hours, [everything])
        log_rate = np.log(draws[band])
        relative = np.exp(log_rate - log_rate.mean(axis=0))
        low, middle, high = np.quantile(relative, (0.05, 0.5, 0.95), axis=1)
        best = np.bincount(relative.argmax(axis=0), minlength=len(band)) / relative.shape[1]
        rows.append(
            pd.DataFrame(
                {
                    "strata": strata,
                    "band_low_m": hours.edges_m[band],
                    "band_high_m": hours.edges_m[band + 1],
                    "ratio": middle,
                    "low": low,
                    "high": high,
                    "p_best": best,
                    "status": fit.status,
                }
            )
        )
    columns = ("strata", "band_low_m", "band_high_m", "ratio", "low", "high", "p_best", "status")
    return pd.concat(rows, ignore_index=True) if rows else pd.DataFrame(columns=list(columns))


def _shape(rods: Slices) -> float:
    """Shape of the gamma effects: likeliest at the smoothing that suits it, found by turns."""
    model = rods.model
    size = model.size
    known = Block(name="errors and constant", columns=slice(size, None), scale=1.0)
    data = rods.strata(np.zeros(size), np.zeros(rods.errors))
    log_sd = np.array([np.log(0.5 * block.scale) for block in model.blocks])
    shape = rods.shape
    for _ in range(2):
        penalty = penalty_matrix(model.blocks, log_sd, data.design.shape[1], known=known)
        shape, _, _ = profile_shape(data, penalty)
        if size:
            chosen = choose_smoothing(replace(data, shape=shape), model.blocks, log_sd, known=known)
            log_sd = chosen.log_sd
    return shape
