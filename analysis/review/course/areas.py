"""Owns areas at equal conditions: how trips to each differed beyond depth, month, hour and boat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import stdtrit

from analysis.decision.answer import Answer
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import BOUNDS
from analysis.rates.terms import EFFECT_SCALE
from analysis.rates.within_trip import fit_within_trips
from analysis.result_schema import RESULTS
from analysis.review.course.clock import FEWEST_HOURS, by_the_hour
from analysis.stats.counts import CountFit, fit_counts

Array = NDArray[np.float64]

AREAS = RESULTS["areas"].names
FEWEST_TRIPS = 3
"""Trips with a strike below which an area's trips do not tell how much they differ."""
_AREA = "area "
TOO_THIN, TIED = "thin", "tied"
"""Reasons for no ratio: too few trips, or trips that cannot be told from their months or boats."""


def areas_table(
    answer: Answer, seasons: Sequence[BoatSeason], rng: np.random.Generator
) -> pd.DataFrame:
    """Compare areas by their trips, at equal depth, temperature, gear, month and hour of the day.

    The fitted curves weigh each rod-hour by the strikes to expect of it where and when it was,
    hours of the day by how the trips' own hours differ; what a trip's strikes are beyond that is
    its boat's, its month's and its area's, and its own luck.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason
        In the order of the answer's exposure.
    rng : numpy.random.Generator

    Returns
    -------
    DataFrame
        The table ``areas``, most rod-hours first; see `area_ratios`.
    """
    trips = _trips(answer, seasons, rng)
    return area_ratios(trips) if len(trips) else pd.DataFrame(columns=list(AREAS))


def area_ratios(trips: pd.DataFrame) -> pd.DataFrame:
    """Fit each area's catch rate against that of the area fished most.

    Strikes of a trip are negative binomial about its weighted rod-hours times the effects of
    area, month and boat, so that the scatter of trips is in the interval. Areas are drawn toward
    each other as gears are.

    Parameters
    ----------
    trips : DataFrame
        ``area, month, boat, rod_hours, weight, strikes``, a row a trip.

    Returns
    -------
    DataFrame
        The table ``areas``. An area of fewer than `FEWEST_TRIPS` trips with a strike, or whose
        trips cannot be told apart from their months or boats, has no ratio but a ``reason``.
    """
    table = trips.groupby("area", as_index=False).agg(
        trips=("area", "size"), rod_hours=("rod_hours", "sum"), strikes=("strikes", "sum")
    )
    table = table.sort_values("rod_hours", ascending=False, ignore_index=True)
    struck = trips.loc[(trips["strikes"] > 0) & (trips["weight"] > 0)].groupby("area").size()
    enough = (table["area"].map(struck).fillna(0) >= FEWEST_TRIPS) & (
        table["rod_hours"] >= FEWEST_HOURS
    )
    told = table.loc[enough, "area"].tolist()
    table = table.assign(ratio=np.nan, low=np.nan, high=np.nan, reference="")
    table["reason"] = np.where(enough, "", TOO_THIN)
    if len(told) > 1:
        _fill(table, _fitted(trips, told), told)
    return table[list(AREAS)]


def _fitted(trips: pd.DataFrame, told: list[str]) -> tuple[CountFit, int] | None:
    """Fit strikes of trips to the areas told; None where areas and months cannot be parted."""
    used = trips.loc[trips["area"].isin(told) & (trips["weight"] > 0)]
    for name in ("month", "boat"):  # one without a strike tells nothing of areas
        used = used.loc[used.groupby(name)["strikes"].transform("sum") > 0]
    columns = pd.concat(
        [
            pd.DataFrame({f"{_AREA}{name}": used["area"] == name for name in told[1:]}),
            pd.get_dummies(used["month"], prefix="month", drop_first=True),
            pd.get_dummies(used["boat"], prefix="boat", drop_first=True),
        ],
        axis=1,
    ).astype(float)
    columns = columns.loc[:, columns.max() > columns.min()]
    left = len(used) - columns.shape[1] - 1
    design = np.column_stack([np.ones(len(used)), columns])
    named = {f"{_AREA}{name}" for name in told[1:]}
    if left < 1 or not named <= set(columns) or np.linalg.matrix_rank(design) < design.shape[1]:
        return None
    strikes, log_effort = used["strikes"].to_numpy(dtype=float), np.log(used["weight"].to_numpy())
    fit = fit_counts(columns, strikes, log_effort, shape=None)
    if fit.status != "fitted":  # trips may differ no more than chance makes them
        fit = fit_counts(columns, strikes, log_effort, shape=0.0)
    if fit.status != "fitted":
        return None
    return replace(fit, covariance=fit.covariance * _spread(fit, strikes, left)), left


def _spread(fit: CountFit, strikes: Array, left: int) -> float:
    """By how much trips scatter more than the fit has it: its shape is found from few trips."""
    variance = fit.expected + (fit.expected**2 / fit.shape if fit.shape > 0 else 0.0)
    return max(1.0, float(np.sum((strikes - fit.expected) ** 2 / variance) / left))


def _fill(table: pd.DataFrame, found: tuple[CountFit, int] | None, told: list[str]) -> None:
    """Put ratios and bounds, by Student's t with the trips left over, in the rows told."""
    here = table["area"].isin(told)
    if found is None:
        table.loc[here, "reason"] = TIED
        return
    fit, left = found
    table.loc[here, "reference"] = told[0]
    table.loc[table["area"] == told[0], ["ratio", "low", "high"]] = 1.0
    names, log_ratio, se = _shrunk(fit)
    half = float(stdtrit(left, BOUNDS[1]))
    for name, middle, sd in zip(names, log_ratio, se, strict=True):
        row = table["area"] == name
        bounds = np.exp([middle, middle - half * sd, middle + half * sd])
        table.loc[row, ["ratio", "low", "high"]] = bounds


def _shrunk(fit: CountFit) -> tuple[list[str], Array, Array]:
    """Draw fitted log ratios toward 'no difference': areas, each as gears, are alike to 0.3.

    The fit's own normal likelihood times the prior: each area's level is normal about the same
    mean with sd `EFFECT_SCALE`, so the ratios to one of them share that one's. Posterior of a
    normal mean with known covariances (Gelman et al. 2013, Bayesian Data Analysis, 3rd ed.,
    section 3.5, from memory).
    """
    of_area = [at for at, name in enumerate(fit.names) if name.startswith(_AREA)]
    found, covariance = fit.coef[of_area], fit.covariance[np.ix_(of_area, of_area)]
    prior = EFFECT_SCALE**2 * (np.eye(len(found)) + 1.0)
    weight = np.linalg.solve(prior + covariance, prior).T
    after = prior - weight @ prior
    names = [fit.names[at].removeprefix(_AREA) for at in of_area]
    return names, weight @ found, np.sqrt(np.diag(after))


def _trips(answer: Answer, seasons: Sequence[BoatSeason], rng: np.random.Generator) -> pd.DataFrame:
    """Return every trip with rod-hours: its area, and its rod-hours weighed by what they met."""
    exposure = answer.exposure
    hours = exposure.table["hours"].to_numpy(dtype=float)
    with_curve = exposure.table.assign(curve=answer.levels.weight / hours)
    zones = [season.log.boat.time_zone for season in seasons]
    cut = by_the_hour(replace(exposure, table=with_curve), zones)
    hour = cut.table["hour"].to_numpy(dtype=float)
    cut = replace(cut, table=cut.table.assign(hour=hour))
    weight = (cut.table["curve"] * cut.table["hours"]).to_numpy(dtype=float)
    by_hour = fit_within_trips(cut, answer.fit, weight, "hour", rng)
    if by_hour is not None:
        weight = weight * np.exp(by_hour.smooth.log_rate(hour, by_hour.draws.mean(axis=0)))
    rows = cut.table.assign(trip_number=cut.trip, weight=weight)
    found = rows.groupby("trip_number").agg(
        log_number=("log_number", "first"),
        trip=("trip", "first"),
        boat=("boat", "first"),
        month=("period", "first"),
        rod_hours=("hours", "sum"),
        weight=("weight", "sum"),
        strikes=("strikes", "sum"),
    )
    every = [season.log.trips.set_index("trip")["area"] for season in seasons]
    areas = pd.concat(dict(enumerate(every))).fillna("").astype(str).str.strip()
    of_trip = areas.reindex(pd.MultiIndex.from_frame(found[["log_number", "trip"]])).to_numpy()
    return found.assign(area=of_trip).loc[lambda trips: trips["area"] != ""]
