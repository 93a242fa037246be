"""Fit the catch rate: curves chosen, depth and smoothing uncertainty carried, trips clustered."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.special import erfinv

from analysis.rates.contrast import prior_sd, told_directions, untold_terms
from analysis.rates.exposure import Exposure
from analysis.rates.rods import Rods, rods_of
from analysis.rates.strays import drawn_place, share_at
from analysis.rates.terms import RateModel
from analysis.stats.beside import in_halves
from analysis.stats.conditional import Maximum, Strata, climb, log_likelihoods, seen_from
from analysis.stats.latent_shift import Layers, root
from analysis.stats.marginal_likelihood import (
    CLOSE,
    Block,
    Smoothing,
    choose_smoothing,
    penalty_matrix,
    within_limits,
)
from analysis.stats.stopping import go_on
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

REFITS = 16
DRAWS_PER_REFIT = 25
SETTLED = 0.02
"""Change of a shared error, in standard deviations, of a log rate, or of a chance that needs no
further round."""
TACKLE_SD = 0.07
"""Of log depth, scale of the half-normal prior of what a set errs by beyond what the depth model
says of it (counter, speed, shear and, but for a diver on thin line, turns): the lure's drag, a dial
set by hand, waves (assumed, no source: 0.05 at most in half of all boats, 0.14 in nearly all; a
lure of 0.002 m2 drag area costs a diver 5 to 9 % of its depth, a core more)."""
MOST_MISSING = 0.9
"""Share of the information in any direction that not knowing the layers may take away."""
RIDGE = 1e-9
_ROWS_TO_PART = 20_000
"""Rods down at strikes, by looks and refits, from which a second process does half of them."""


def worth_parting(rods: Rods, refits: float) -> bool:
    """Whether what takes as long as some refits, at one look each, is worth a second process."""
    return len(rods.sets.row) * refits > _ROWS_TO_PART


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A fitted catch-rate model and draws of its coefficients.

    Attributes
    ----------
    model : RateModel
    status : str
        ``fitted``, or why there is no answer (``no strikes``, ``no moment with rods in
        different water``, ``did not converge``).
    coef : (size,) array
        Mean of the draws.
    draws : (draws, size) array
        Draws that carry sampling (clustered by trip), smoothing and depth uncertainty.
    told : (size, size) array
        Projection onto what rods fished together can tell of the coefficients; the rest of them is
        prior. See `analysis.rates.contrast.told_directions`.
    error_draws : (draws, errors) array
        Draws of the shared depth errors, in standard deviations of their prior.
    refit : (draws,) int array
        Which refit (draw of the smoothing) each coefficient draw comes from.
    waters : (refits, ways) array
        Amounts by which the whole water of each refit is moved; see `LatentWater`.
    layers : (trips, refits) array
        Draws of how much deeper the water's layers lay on each trip than the casts put them, in
        standard deviations of that.
    background : (draws,) array
        Rate that strays add in any water, in terms of ``exp`` of the curves of the water; none
        until `analysis.rates.background` draws it.
    smoothing : Smoothing or None
    strikes, moments, trips : int
        Strikes the fit rests on, moments at which rods in different water were down, and trips.
    dispersion : float
        Trip-clustered score variance over what the model says it should be; 1 where strikes fall
        as a Poisson process would have them.
    converged : bool
    strata : str
        What rods are compared with, in words.
    """

    model: RateModel
    status: str
    coef: Array
    draws: Array
    told: Array
    error_draws: Array
    refit: NDArray[np.intp]
    waters: Array
    layers: Array
    background: Array
    smoothing: Smoothing | None
    strikes: int
    trips: int
    dispersion: float
    converged: bool
    strata: str = "given the rods down at the same time"

    @property
    def formula(self) -> str:
        """The model in words of a formula."""
        return f"{self.model.formula}; {self.strata}"

    @property
    def mean_layers(self) -> Array:
        """Mean of the draws of each trip's layers (trips,)."""
        return np.asarray(self.layers.mean(axis=1))


@dataclass(frozen=True, kw_only=True)
class _Settled:
    """Curves, shared depth errors and the heights of the layers, fitted together."""

    maximum: Maximum
    coef: Array
    error: Array
    layers: Layers


def _settle(
    rods: Rods,
    penalty: Array,
    coef: Array,
    error: Array,
    layers: Layers,
    *,
    information: Array | None,
    most_rounds: int,
) -> _Settled:
    """Fit curves and shared depth errors, linearising anew, and weigh the heights of the layers.

    The layers of a trip lie at one height, the same for all its rods and strikes. The likelihood
    is the mean over that height, made largest by the EM algorithm. ``information`` is of rods like
    these, or of coefficients near these, to begin with.
    """
    size = rods.model.size
    for _ in range(most_rounds):
        data = rods.looks(coef, error, layers)
        start = np.concatenate([coef, error])
        found = climb(data, penalty, start, information=information, tolerance=CLOSE)
        information = found.information
        used, layers = layers, _told(layers, data, found.coef)
        moved = np.max(np.abs(found.coef[size:] - error), initial=0.0)
        moved = max(moved, float(np.max(np.abs(layers.chances - used.chances), initial=0.0)))
        if rods.stray:
            moved = max(moved, float(np.max(np.abs(data.design @ (found.coef - start)))))
        coef, error = found.coef[:size], found.coef[size:]
        if moved < SETTLED:
            break
    return _Settled(
        maximum=_observed(rods, seen_from(data, found), used, penalty),
        coef=coef,
        error=error,
        layers=layers,
    )


def _mean(rods: Rods, layers: Layers) -> Array:
    """Mean height of the layers at each rod."""
    return np.asarray(layers.moments[0][rods.exposure.trip[rods.sets.row]])


def _drawn_strays(
    rods: Rods, there: _Settled, penalty: Array, count: int, rng: np.random.Generator
) -> Array:
    """Draw how many strays there are, each given curves drawn about those that were fitted."""
    size = rods.model.size
    if not rods.model.of_water.any():
        return np.zeros(count)
    covariance, dispersion = clustered_covariance(there.maximum, penalty)
    drawn = normal_draws(there.maximum.coef, covariance, count, rng)
    known = rods.log_rates(drawn[:, :size], drawn[:, size:], _mean(rods, there.layers))
    return share_at(drawn_place(rods.sets, *known, max(dispersion, 1.0), rng))


def _told(layers: Layers, data: Strata, coef: Array) -> Layers:
    """Learn the heights of the layers from the strikes, given the curves."""
    if len(layers.looks) == 1:
        return layers
    log = log_likelihoods(data, coef) / layers.chances.ravel()[data.cluster]
    by_trip = np.bincount(data.cluster, weights=log, minlength=layers.chances.size)
    return layers.told(by_trip.reshape(layers.chances.shape).astype(float))


def _observed(rods: Rods, found: Maximum, layers: Layers, penalty: Array) -> Maximum:
    """Return the maximum with scores by trip, and without the information that is missing.

    At a maximum less than all is missing in every direction. Where nearly all is, the log hardly
    tells the fish from the layers: that is no convergence, and what is left keeps some variance.
    """
    if len(layers.looks) == 1:
        return found
    scores = np.zeros((layers.chances.size, found.scores.shape[1]))
    scores[: len(found.scores)] = found.scores
    scores = scores.reshape(*layers.chances.shape, -1)
    told = np.unique(rods.exposure.trip[rods.sets.row])
    complete = found.information + penalty + RIDGE * np.eye(len(penalty))
    share, turn = eigh(layers.missing(scores), complete)
    back = complete @ turn
    missing = (back * np.minimum(share, MOST_MISSING)) @ back.T
    return replace(
        found,
        scores=scores.sum(axis=1)[told],
        information=found.information - missing,
        # Where no thermometer went below the surface, strikes are meant to tell the layers.
        converged=found.converged
        and (rods.exposure.water_unseen or bool(share[-1] <= MOST_MISSING)),
    )


def fit_rate(exposure: Exposure, model: RateModel, rng: np.random.Generator) -> Fit:
    """Fit a model to the rods down at each strike.

    Errors of depth that all sets of a gear and setting share are unknowns of the fit, with their
    physical prior: a gear that runs deeper than modelled takes its strikes at too shallow a
    modelled depth, and the other rods show it. Drawing them without regard to the strikes would
    blur the curve once more. Each set's own error is averaged over, and so is the height of the
    water's layers on each trip, as far as casts leave it open. Strays add a share of the best rate
    in any water (`analysis.rates.background`), so that strikes where no fish belong flatten no
    curve. Draws of the smoothing, of how far sets err on their own, and of the strays, each given
    curves drawn before, are refitted and coefficients drawn about each refit: the mixture carries
    all of it.

    Parameters
    ----------
    exposure : Exposure
    model : RateModel
    rng : numpy.random.Generator

    Returns
    -------
    Fit
        Always: where nothing can be fitted the draws come from the prior and ``status`` says why.
    """
    return fit_rods(rods_of(exposure, model), rng)


@dataclass(frozen=True, kw_only=True)
class Centre:
    """Where the refits of a model begin: its likeliest smoothing, curves, depth errors and layers.

    No chance is in it: the same rods and model have one centre.

    Attributes
    ----------
    model : RateModel
        With the terms that the rods leave untold.
    stray : float
        The likeliest strays of `Rods`.
    told : (size, size) array
        See `Fit`.
    there : _Settled
    penalty : array
        That it was settled with.
    smoothing : Smoothing
    strikes, trips : int
    """

    model: RateModel
    stray: float
    told: Array
    there: _Settled
    penalty: Array
    smoothing: Smoothing
    strikes: int
    trips: int


def fit_rods(
    rods: Rods, rng: np.random.Generator, *, refits: int = REFITS, each: int = DRAWS_PER_REFIT
) -> Fit:
    """Fit the model of some rods with a number of refits and draws each; see :func:`fit_rate`."""
    return refitted(rods, centre_of(rods), rng, refits=refits, each=each)


def _known_block(model: RateModel) -> Block:
    """Shared depth errors, whose prior is given, as columns of the fit."""
    return Block(name="shared depth errors", columns=slice(model.size, None), scale=1.0)


@one_thread
def centre_of(rods: Rods) -> Centre | None:
    """Find the centre of a model of some rods; None where no strike compares rods."""
    model = rods.model
    errors = rods.errors
    if rods.sets.hit.sum() == 0 or np.bincount(rods.sets.moment).max() < 2 or model.size == 0:
        return None
    fixed = _known_block(model)
    coef, error = np.zeros(model.size), np.zeros(errors)
    told = told_directions(rods.strata(coef, error), model)
    model = replace(model, untold=untold_terms(told, model))
    rods = replace(rods, model=model)
    layers = Layers.untold(rods.exposure.layer_correlation, doubtful=rods.layered)
    rods = rods.with_usual_strays()
    log_sd = None
    for _ in range(4):
        go_on()
        data = rods.looks(coef, error, layers)
        chosen = choose_smoothing(data, model.blocks, log_sd, known=fixed)
        log_sd = chosen.log_sd
        penalty = penalty_matrix(model.blocks, chosen.log_sd, model.size + errors, known=fixed)
        start = chosen.maximum.coef[: model.size]
        near = chosen.maximum.information
        there = _settle(rods, penalty, start, error, layers, information=near, most_rounds=8)
        moved = np.max(np.abs(there.error - error), initial=0.0)
        moved = max(moved, float(np.max(np.abs(there.layers.chances - layers.chances))))
        coef, error, layers = there.coef, there.error, there.layers
        before, rods = rods, rods.with_strays(coef, error, _mean(rods, layers))
        if rods.stray:
            moved = max(moved, abs(np.log(rods.stray / before.stray)))
        if moved < 0.1:
            break
    data = rods.looks(coef, error, layers)
    return Centre(
        model=model,
        stray=rods.stray,
        told=told,
        there=there,
        penalty=penalty,
        smoothing=choose_smoothing(data, model.blocks, log_sd, known=fixed),
        strikes=int(np.round(data.count.sum())),
        trips=len(np.unique(data.cluster // len(layers.looks))),
    )


@one_thread
def refitted(
    rods: Rods,
    centre: Centre | None,
    rng: np.random.Generator,
    *,
    refits: int = REFITS,
    each: int = DRAWS_PER_REFIT,
) -> Fit:
    """Fit a model of some rods from its centre, with a number of refits and draws each."""
    if centre is None:
        return _prior_only(rods, rng, refits, each)
    model, there, chosen = centre.model, centre.there, centre.smoothing
    rods, fixed = replace(rods, model=model, stray=centre.stray), _known_block(model)
    size = model.size + rods.errors
    layers, near = there.layers, chosen.maximum.information
    spread = root(chosen.covariance)
    aside, of_strays = rng.spawn(2)  # so that a trip without a strike changes no curve
    strays = _drawn_strays(rods, there, centre.penalty, refits, of_strays)
    # No log tells how far sets err on their own, and curves are steeper the more is taken off:
    # each refit takes another size, at even steps of its prior.
    tackle = TACKLE_SD * np.sqrt(2.0) * erfinv((np.arange(refits) + 0.5) / refits)
    waters = rods.exposure.latent.drawn(refits, warm=model.warm)
    penalties, normals = [], []
    for _ in range(refits):
        log_sd = chosen.log_sd + spread @ rng.standard_normal(len(spread))
        log_sd = within_limits(model.blocks, log_sd)
        penalties.append(penalty_matrix(model.blocks, log_sd, size, known=fixed))
        normals.append(rng.standard_normal((each, size)))

    def settled(some: range) -> list[_Settled]:
        found = []
        for refit in some:
            go_on()
            moved = rods.in_water(waters[refit]).blurred(tackle[refit])
            moved = replace(moved, stray=float(strays[refit]))
            started = penalties[refit], there.coef, there.error, layers
            found.append(_settle(moved, *started, information=near, most_rounds=3))
        return found

    worth = worth_parting(rods, refits // 2 * len(layers.looks))
    first, rest = in_halves(settled, refits, worth=worth)
    ones = [*first, *rest]
    draws, dispersions = [], []
    for one, penalty, normal in zip(ones, penalties, normals, strict=True):
        covariance, dispersion = clustered_covariance(one.maximum, penalty)
        draws.append(one.maximum.coef + normal @ root(covariance))
        dispersions.append(dispersion)
    heights = [one.layers.draw(aside) for one in ones]
    converged = there.maximum.converged and all(one.maximum.converged for one in ones)
    stacked = np.concatenate(draws)
    return Fit(
        model=model,
        status="fitted" if converged else "did not converge",
        coef=stacked[:, : model.size].mean(axis=0),
        draws=stacked[:, : model.size],
        told=centre.told,
        error_draws=stacked[:, model.size :],
        refit=np.repeat(np.arange(refits), each),
        waters=waters,
        layers=np.column_stack(heights),
        background=np.zeros(len(stacked)),
        smoothing=chosen,
        strikes=centre.strikes,
        trips=centre.trips,
        dispersion=float(np.mean(dispersions)),
        converged=converged,
    )


def clustered_covariance(found: Maximum, penalty: Array) -> tuple[Array, float]:
    """Covariance of the coefficients, and the dispersion that trips show.

    ``A^-1 (d H + P) A^-1`` with ``H`` the information, ``P`` the penalty, ``A = H + P``: the
    Bayesian covariance ``A^-1`` of a penalised fit (Wood 2006, *Generalized Additive Models*,
    sec. 4.8, from memory), which covers its own smoothing bias, with the information scaled by
    ``d``: the clustered outer product of scores over the information, averaged over directions by
    its trace, small-sample corrected, and never below 1. A season has few trips with fish; one
    number stands on all of them where a whole sandwich would be mostly noise.
    """
    inverse = np.linalg.inv(found.information + penalty)
    clusters = len(found.scores)
    used = float(np.trace(inverse @ found.information))
    correction = clusters / max(clusters - used, 0.5 * clusters, 1.0)
    meat = correction * found.scores.T @ found.scores
    dispersion = float(np.trace(inverse @ meat)) / max(used, 1e-9)
    inner = max(1.0, dispersion) * found.information
    covariance = inverse @ (inner + penalty) @ inverse
    return covariance, dispersion


def normal_draws(mean: Array, covariance: Array, count: int, rng: np.random.Generator) -> Array:
    """Draw from a normal distribution; directions without variance stay put."""
    return np.asarray(mean + rng.standard_normal((count, len(mean))) @ root(covariance))


def _prior_only(rods: Rods, rng: np.random.Generator, refits: int, each: int) -> Fit:
    """Draws from the prior: what is known where no strike compares two rods."""
    model = replace(rods.model, untold=frozenset(rods.model.names))
    errors = rods.errors
    count = each * refits
    layers = Layers.untold(rods.exposure.layer_correlation, doubtful=False)
    status = "no moment with rods in different water"
    if not len(rods.exposure.table):
        status = "no rod-hours"
    elif rods.sets.hit.sum() == 0:
        known = len(rods.exposure.strike_row) == 0
        status = "no strikes" if known else "no strike whose depth and water are known"
    return Fit(
        model=model,
        status=status,
        coef=np.zeros(model.size),
        draws=prior_sd(model) * rng.standard_normal((count, model.size)),
        told=np.zeros((model.size, model.size)),
        error_draws=rng.standard_normal((count, errors)),
        refit=np.repeat(np.arange(refits), each),
        waters=rods.exposure.latent.drawn(refits, warm=model.warm),
        layers=np.column_stack([layers.draw(rng) for _ in range(refits)]),
        background=np.zeros(count),
        smoothing=None,
        strikes=0,
        trips=0,
        dispersion=1.0,
        converged=True,
    )
