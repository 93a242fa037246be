"""Owns binomial models of what became of strikes: hooked or missed, landed or lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from analysis.diagnostics.checks import Check
from analysis.diagnostics.outcome_checks import (
    FEWEST,
    convergence,
    enough_fish,
    trips_alike,
)
from analysis.rates.effects import BOUNDS
from analysis.rates.fit import clustered_covariance, normal_draws
from analysis.rates.terms import RateModel, Term
from analysis.stats.conditional import Strata, maximise
from analysis.stats.intervals import share_interval
from analysis.stats.marginal_likelihood import (
    Block,
    Smoothing,
    choose_smoothing,
    penalty_matrix,
    within_limits,
)
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

COLUMNS = ("term", "level", "trials", "successes", "rate", "low", "high", "modelled")

REFITS = 16
DRAWS_PER_REFIT = 25
INTERCEPT_SD = 10.0
"""Prior sd of the intercept's log odds: next to no prior."""


@dataclass(frozen=True, kw_only=True)
class Covariate:
    """What an outcome may depend on.

    Attributes
    ----------
    name : str
        Its name in the table.
    levels : tuple of str
        Classes shown in the table, in order.
    level : (fish,) int array
        Class of each fish; -1 where unknown.
    term : Smooth, Effects or None
        What enters the model; None where the covariate is only counted.
    given : (fish,) array
        Values for the term: numbers, or codes of the levels; NaN or -1 where unknown.
    typical : (levels,) array
        The value that stands for each class.
    """

    name: str
    levels: tuple[str, ...]
    level: NDArray[np.intp]
    term: Term | None
    given: NDArray[np.generic]
    typical: NDArray[np.generic]


@dataclass(frozen=True, kw_only=True)
class OutcomeFit:
    """A fitted share of successes, by the interface of a rate's fit.

    Attributes
    ----------
    name : str
        Such as ``landed of hooked``.
    status : str
        ``fitted``, or why there is no model: ``too-few`` of either outcome, ``nothing-varies``
        among the covariates, or ``not-converged``.
    table : DataFrame
        ``term, level, trials, successes, rate, low, high, modelled``: counts of each class, and
        its rate at the same mix of everything else, with a 90 % interval; where not ``modelled``,
        the raw share with an interval by Jeffreys' prior.
    formula : str
    checks : tuple of Check
    coef : (size,) array
        Log odds: intercept first, then the model's columns.
    covariance : (size, size) array
        Clustered by trip, at the chosen smoothing.
    draws : (draws, size) array
        With the doubt about the smoothing.
    trials, successes : int
    """

    name: str
    status: str
    table: pd.DataFrame
    formula: str
    checks: tuple[Check, ...]
    coef: Array
    covariance: Array
    draws: Array
    trials: int
    successes: int


@one_thread
def fit_outcome(
    name: str,
    success: NDArray[np.bool_],
    trip: NDArray[np.integer],
    covariates: Sequence[Covariate],
    rng: np.random.Generator,
) -> OutcomeFit:
    """Fit the share of successes by a penalised logistic regression clustered by trip.

    A fish is a stratum of two rows, one for either outcome: its own covariates where it succeeded
    and zeros where not. The conditional likelihood of `analysis.stats.conditional` is then that of
    a logistic regression, so curves are smoothed, effects shrunk and trips clustered exactly as for
    rates.

    Parameters
    ----------
    name : str
    success : (fish,) bool array
    trip : (fish,) int array
    covariates : sequence of Covariate
        Those that vary enter the model; a fish whose value is unknown has the reference's.
    rng : numpy.random.Generator

    Returns
    -------
    OutcomeFit
        Always; ``status`` says why where there is no model.
    """
    model = RateModel(terms=tuple(c.term for c in covariates if c.term is not None))
    trials, successes = len(success), int(success.sum())
    few = min(successes, trials - successes) < FEWEST
    if few or not model.terms:
        return OutcomeFit(
            name=name,
            status="too-few" if few else "nothing-varies",
            table=_table(covariates, success, {}),
            formula="log odds = constant",
            checks=(enough_fish(name, successes, trials),),
            coef=np.zeros(0),
            covariance=np.zeros((0, 0)),
            draws=np.zeros((0, 0)),
            trials=trials,
            successes=successes,
        )
    values = {c.term.name: c.given for c in covariates if c.term is not None}
    design = np.column_stack([np.ones(trials), model.design(values, trials)])
    data = logistic_strata(design, success, trip)
    blocks = tuple(
        replace(block, columns=slice(block.columns.start + 1, block.columns.stop + 1))
        for block in model.blocks
    )
    known = Block(name="intercept", columns=slice(0, 1), scale=INTERCEPT_SD)
    chosen = choose_smoothing(data, blocks, known=known)
    penalty = penalty_matrix(blocks, chosen.log_sd, design.shape[1], known=known)
    covariance, dispersion = clustered_covariance(chosen.maximum, penalty)
    draws = _draws(data, blocks, known, chosen, rng)
    shares = {}
    for covariate in covariates:
        if covariate.term is None:
            continue
        columns = model.columns_of(covariate.term.name)
        columns = slice(columns.start + 1, columns.stop + 1)
        rest = design.copy()
        rest[:, columns] = 0.0
        others = rest @ draws.T
        at = covariate.term.design(covariate.typical) @ draws[:, columns].T  # type: ignore[arg-type]
        shares[covariate.name] = np.array([expit(others + log).mean(axis=0) for log in at])
    return OutcomeFit(
        name=name,
        status="fitted" if chosen.converged else "not-converged",
        table=_table(covariates, success, shares),
        formula=f"log odds = constant + {model.formula.split(' = ', 1)[1]}",
        checks=(
            enough_fish(name, successes, trials),
            convergence(name, converged=chosen.converged),
            trips_alike(name, dispersion),
        ),
        coef=chosen.maximum.coef,
        covariance=covariance,
        draws=draws,
        trials=trials,
        successes=successes,
    )


def _table(
    covariates: Sequence[Covariate], success: NDArray[np.bool_], shares: Mapping[str, Array]
) -> pd.DataFrame:
    """Count each class and give its rate, by the model where there is one, else the raw share."""
    rows = []
    for covariate in covariates:
        for place, level in enumerate(covariate.levels):
            here = covariate.level == place
            trials, successes = int(here.sum()), int(success[here].sum())
            if not trials:
                continue
            if covariate.name in shares:
                rate, low, high = np.quantile(shares[covariate.name][place], (0.5, *BOUNDS))
            else:
                rate = successes / trials
                low, high = share_interval(successes, trials)
            modelled = covariate.name in shares
            rows.append((covariate.name, level, trials, successes, rate, low, high, modelled))
    return pd.DataFrame(rows, columns=list(COLUMNS))


def logistic_strata(design: Array, success: NDArray[np.bool_], trip: NDArray[np.integer]) -> Strata:
    """Rows of a logistic regression as strata of two: with the covariates, and without.

    Parameters
    ----------
    design : (fish, terms) array
        With a column of ones where an intercept is wanted.
    success : (fish,) bool array
    trip : (fish,) int array

    Returns
    -------
    Strata
    """
    fish, terms = design.shape
    rows = np.zeros((2 * fish, terms))
    rows[0::2] = design
    count = np.zeros(2 * fish)
    count[0::2] = success
    count[1::2] = ~success
    return Strata(
        design=rows,
        count=count,
        log_effort=np.zeros(2 * fish),
        start=np.arange(0, 2 * fish, 2),
        cluster=np.unique(trip, return_inverse=True)[1].astype(np.intp),
    )


def _draws(
    data: Strata,
    blocks: tuple[Block, ...],
    known: Block,
    chosen: Smoothing,
    rng: np.random.Generator,
) -> Array:
    """Draw coefficients about refits at drawn smoothings, as for rates."""
    values, vectors = np.linalg.eigh(chosen.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    found = []
    for _ in range(REFITS):
        drawn = chosen.log_sd + root @ rng.standard_normal(len(values))
        log_sd = within_limits(blocks, drawn)
        penalty = penalty_matrix(blocks, log_sd, data.design.shape[1], known=known)
        refit = maximise(data, penalty, chosen.maximum.coef)
        covariance, _ = clustered_covariance(refit, penalty)
        found.append(normal_draws(refit.coef, covariance, DRAWS_PER_REFIT, rng))
    return np.concatenate(found)
