"""Named checks after a fit: each passes or fails, and a failure says what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis import labels
from analysis.diagnostics.jackknife import Influence, influence
from analysis.diagnostics.residuals import residual_chances
from analysis.rates.exposure import Exposure
from analysis.rates.fit import Fit
from analysis.rates.model_selection import SIMPLE, Choice
from analysis.rates.rods import Rods, rods_of
from analysis.rates.standardised import BoatHours
from analysis.rates.trip_rates import Levels
from analysis.stats.cells import band_of
from analysis.stats.conditional import Strata
from analysis.stats.marginal_likelihood import penalty_matrix
from analysis.stats.pspline import Smooth

Array = NDArray[np.float64]

FEW_STRIKES = 30
MOST_DISPERSION = 1.6
MOST_SHARED = 0.9
LEAST_STEEP = 0.05
"""Standard deviation of a term's part of the log rate below which it is too flat to matter."""
FEW_MOMENTS = 5
RESIDUAL_P = 0.01
MOST_USED = 0.8
FEW_TRIPS = 3
NAMED = 3
"""Trips that a finding names at most."""
WORDS = {
    "depth_m": "depth",
    "lure_temp_c": "water temperature",
    "leader_length_m": "leader length",
    "drift": "depth as it moved through the season",
    "gear_setting": "gear and setting",
    "lure": "the lure",
}
"""Terms as a captain calls them."""
UNTOLD = {
    "depth": "Write gear, setting and line-out with each set.",
    "water temperature": "Take casts on more trips.",
    "time of day": "Log trips at other times of the day too.",
    "day of the season": "Log more trips, over more of the season.",
    "speed": "Log the speed with each set.",
}
"""What lets residuals be judged against each covariate."""
NO_FIT = {
    "no strikes": "Log the strikes with the rod that took them.",
    "no rod-hours": "Log sets, each with the times its line went in and came out.",
    "no strike whose depth and water are known": "Write gear, setting and line-out with each set.",
    "no moment with rods in different water": "Keep a second rod in other water at the same time.",
}


@dataclass(frozen=True, kw_only=True)
class Check:
    """One named check.

    Attributes
    ----------
    name : str
    passed : bool
    finding : str
        What was seen.
    next_step : str
        What to do where it failed; empty where it passed.
    """

    name: str
    passed: bool
    finding: str
    next_step: str = ""


def check_fit(
    exposure: Exposure,
    fit: Fit,
    levels: Levels,
    choice: Choice,
    hours: BoatHours,
    judged: NDArray[np.bool_],
    rng: np.random.Generator,
    *,
    depth_unit: str = "m",
) -> list[Check]:
    """Run every check on a fit.

    Parameters
    ----------
    exposure, fit, levels, choice, hours
        What was fitted.
    judged : (bands,) bool array
        Bands fished enough in the season to be judged.
    rng : numpy.random.Generator
        For the randomised residuals.
    depth_unit : str
        Unit in which findings name bands: ``m`` or ``ft``.

    Returns
    -------
    list of Check
    """
    found = [_strikes(fit), _converged(fit), *_out_of_sample(choice, fit)]
    if fit.smoothing is None:
        return [*found, _not_run(fit)]
    rods = rods_of(exposure, fit.model)
    error = fit.error_draws.mean(axis=0)
    layers = fit.mean_layers[exposure.trip[rods.sets.row]]
    data = rods.strata(fit.coef, error, layers)
    found += [
        _dispersion(fit),
        *_residuals(exposure, levels, rng),
        _single_trips(influence(rods, data, fit, levels, hours, judged), hours.edges_m, depth_unit),
        _concurvity(fit, data),
        _contrast(fit),
        _overlap(rods, hours.edges_m, judged, depth_unit),
        _basis(fit, data),
    ]
    return found


def check_table(checks: Sequence[Check]) -> pd.DataFrame:
    """Return checks as a table ``name, passed, finding, next_step``."""
    return pd.DataFrame(
        [vars(check) for check in checks], columns=["name", "passed", "finding", "next_step"]
    )


def _strikes(fit: Fit) -> Check:
    finding = (
        f"rods fishing at the same time are compared by {labels.count(fit.strikes, 'strike')} on "
        f"{labels.count(fit.trips, 'trip')}"
    )
    return Check(
        name="enough strikes",
        passed=fit.strikes >= FEW_STRIKES,
        finding=finding,
        next_step=""
        if fit.strikes >= FEW_STRIKES
        else "Read the answer as a first guess; log sets for every trip, and keep rods in "
        "different water at the same time.",
    )


def _converged(fit: Fit) -> Check:
    return Check(
        name="convergence",
        passed=fit.converged and fit.status == "fitted",
        finding=fit.status,
        next_step=""
        if fit.converged and fit.status == "fitted"
        else NO_FIT.get(
            fit.status, "Do not use the rates; report the log so the fit can be mended."
        ),
    )


def _not_run(fit: Fit) -> Check:
    return Check(
        name="further checks",
        passed=False,
        finding="dispersion, residuals, single trips and curves were not looked at: nothing was "
        f"fitted ({fit.status})",
        next_step="None of its own: they follow once there is a fit.",
    )


def _out_of_sample(choice: Choice, fit: Fit) -> list[Check]:
    """Whether the averaged models foretell trips better than each model without depth does."""
    found = []
    for simple, (gain, se) in choice.gains.items():
        name = f"predicts better than {SIMPLE[simple]}"
        if fit.trips < 2:
            check = Check(
                name=name,
                passed=False,
                finding="cannot be told: strikes that compare rods are of "
                f"{labels.count(fit.trips, 'trip')}, so none can be left out and foretold",
                next_step="Do not choose a depth by this log yet; log more trips.",
            )
        else:
            passed = simple not in choice.not_beaten
            check = Check(
                name=name,
                passed=passed,
                finding=f"on trips left out, the models by their weights gain {gain:.1f} "
                f"(standard error {se:.1f}) log units per 100 strikes over {SIMPLE[simple]}",
                next_step=""
                if passed
                else "Do not choose a depth by this log yet: the gain must be more than its "
                "standard error, or it may be the luck of a few trips.",
            )
        found.append(check)
    return found


def _dispersion(fit: Fit) -> Check:
    if fit.trips < FEW_TRIPS:
        return Check(
            name="dispersion",
            passed=False,
            finding="cannot be told: strikes that compare rods are of "
            f"{labels.count(fit.trips, 'trip')}",
            next_step="Log more trips: how they differ is what the intervals stand on.",
        )
    passed = fit.dispersion <= MOST_DISPERSION
    return Check(
        name="dispersion",
        passed=passed,
        finding=f"strikes vary {fit.dispersion:.2f} times as much from trip to trip as the model "
        "says; the intervals are widened by it where it is above 1",
        next_step=""
        if passed
        else "On whole trips other rods took the strikes than the curves say: look for a lure, a "
        "rod position or a kind of day that is not in the model.",
    )


def _residuals(exposure: Exposure, levels: Levels, rng: np.random.Generator) -> list[Check]:
    return [
        Check(
            name=f"residuals against {name}",
            passed=p_value >= RESIDUAL_P,
            finding=f"means of the residuals by tenth of {name}: p = {p_value:.2g}"
            if np.isfinite(p_value)
            else f"cannot be told: {name} is known on too few trips, or hardly varied",
            next_step=""
            if p_value >= RESIDUAL_P
            else f"The model misses something that goes with {name}: trust the answer less, "
            f"and compare the raw rates at low and high {name} with the modelled ones."
            if p_value < RESIDUAL_P
            else UNTOLD[name],
        )
        for name, p_value in residual_chances(exposure, levels, rng).items()
    ]


def _single_trips(found: Influence, edges_m: Array, unit: str) -> Check:
    name = "no single trip decides"
    if found.only is not None:
        return Check(
            name=name,
            passed=False,
            finding=f"all strikes are of trip {found.only}",
            next_step="Read the answer as that trip's; only more trips make it the season's.",
        )
    if not found.movers:
        return Check(
            name=name,
            passed=True,
            finding="leaving out any one trip moves the best band by one band at most",
        )
    named = [f"{trip} ({_band(edges_m, at, unit)})" for trip, at in found.movers[:NAMED]]
    more = f" and {len(found.movers) - NAMED} more" if len(found.movers) > NAMED else ""
    return Check(
        name=name,
        passed=False,
        finding=f"the best band, {_band(edges_m, found.best, unit)} with every trip, would be "
        f"more than one band away without any one of these: {', '.join(named)}{more}",
        next_step="Look whether their sets and strikes are right; more trips will settle it.",
    )


def _band(edges_m: Array, at: int, unit: str) -> str:
    """Name a band in the boat's unit, such as ``20–30 ft``."""
    return labels.band_in(edges_m[at], edges_m[at + 1], unit)


def _concurvity(fit: Fit, data: Strata) -> Check:
    """How much of each fitted curve the other terms could imitate, among rods at one time."""
    size = fit.model.size
    mean = np.add.reduceat(data.design[:, :size], data.start, axis=0) / data.size[:, None]
    centred = data.design[:, :size] - np.repeat(mean, data.size, axis=0)
    worst, worst_share = "", 0.0
    for term in fit.model.terms:
        columns = fit.model.columns_of(term.name)
        curve = centred[:, columns] @ fit.coef[columns]
        others = np.delete(centred, np.arange(size)[columns], axis=1)
        if others.shape[1] == 0 or curve.std() < LEAST_STEEP:
            continue
        fitted, *_ = np.linalg.lstsq(others, curve, rcond=None)
        share = 1.0 - float(np.sum((curve - others @ fitted) ** 2) / np.sum(curve**2))
        if share > worst_share:
            worst, worst_share = term.name, share
    passed = worst_share <= MOST_SHARED
    return Check(
        name="curves told apart",
        passed=passed,
        finding=f"the others could imitate {worst_share:.0%} of what {WORDS[worst]} does"
        if worst
        else "nothing matters enough to be taken for another",
        next_step=""
        if passed
        else "They moved together: fish the same depth with two gears, each with the same lures "
        "and leaders, and take casts when the thermocline moves.",
    )


def _contrast(fit: Fit) -> Check:
    """Whether rods that fished together differed in each of the model's terms."""
    alike = [WORDS[name] for name in fit.model.names if name in fit.model.untold]
    return Check(
        name="rods fished together differ",
        passed=not alike,
        finding="rods down at the same time differed in all that the model looks at"
        if not alike
        else f"rods down at the same time hardly differed in {', '.join(alike)}: no strike tells "
        "what that does, and nothing is read into it",
        next_step=""
        if not alike
        else "To learn it, let rods that are down at the same time differ in it.",
    )


def _overlap(rods: Rods, edges_m: Array, judged: NDArray[np.bool_], unit: str) -> Check:
    """Count the strikes at which neighbouring judged bands were fished at the same time."""
    depth = rods.exposure.depth_m[rods.sets.row]
    band = band_of(depth, edges_m)
    moments = int(rods.sets.moment.max()) + 1
    there = np.zeros((moments, len(edges_m)), dtype=bool)
    there[rods.sets.moment, band] = True  # -1, no band, marks the last column, which is no band
    thin = [
        f"{_band(edges_m, b, unit)} with {_band(edges_m, b + 1, unit)}"
        for b in range(len(judged) - 1)
        if judged[b] and judged[b + 1] and np.sum(there[:, b] & there[:, b + 1]) < FEW_MOMENTS
    ]
    return Check(
        name="bands fished at the same time",
        passed=not thin,
        finding="neighbouring bands were fished together often enough to compare"
        if not thin
        else f"hardly ever down together at a strike: {'; '.join(thin)}",
        next_step="" if not thin else "Keep one rod in each of these bands at the same time.",
    )


def _basis(fit: Fit, data: Strata) -> Check:
    """Whether a curve uses nearly all the bends its basis allows."""
    assert fit.smoothing is not None
    size = fit.model.size
    information = fit.smoothing.maximum.information[:size, :size]
    penalty = penalty_matrix(fit.model.blocks, fit.smoothing.log_sd, size)
    used = np.diag(np.linalg.solve(information + penalty, information))
    full = [
        term.name
        for term in fit.model.terms
        if isinstance(term, Smooth)
        and term.wiggles
        and used[fit.model.columns_of(term.name)].mean() > MOST_USED
    ]
    return Check(
        name="curves free enough",
        passed=not full,
        finding="no curve uses all the bends it may"
        if not full
        else f"the curve of {', '.join(WORDS[name] for name in full)} uses nearly all its bends",
        next_step=""
        if not full
        else "It may hide a second peak: look whether the raw rates of its bands show one.",
    )
