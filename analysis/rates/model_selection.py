"""Which models are believed, and how much: by how well each predicts trips it has not seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis import labels
from analysis.rates.exposure import Exposure
from analysis.rates.fit import worth_parting
from analysis.rates.model_averaging import Member
from analysis.rates.rods import Rods, rods_of
from analysis.rates.terms import Drift, Effects, RateModel, Term
from analysis.stats.beside import Errand, share_out
from analysis.stats.conditional import Strata, climb, log_likelihoods
from analysis.stats.marginal_likelihood import choose_smoothing, penalty_matrix
from analysis.stats.pspline import Smooth
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

FOLDS = 8
ROUNDS = 3
"""Choices of the smoothing, of which the later ones know the strays by the curves before."""
CONSTANT = "constant rate"
TACKLE = "gear and leader alone"
SIMPLE = {CONSTANT: "a constant rate", TACKLE: "gear and leader alone"}
"""Models without depth and water, as a captain would call them."""
_REFITS_A_SCORE = 3
"""Refits, at one look each, that take as long as scoring a candidate."""
ENOUGH_TEMPERATURE = 0.5
"""Share of rod-hours whose lure temperature must be known for the model to use it."""
RULE = (
    "Models are averaged; the weight of each is the chance, over resampled trips, that it predicts "
    "trips left out of its fit best. A depth is told only where they gain more than a standard "
    "error over a constant rate, and over gear and leader alone."
)
UNSEEN_RULE = (
    "No thermometer was below the surface, so that the strikes tell the water too, and temperature "
    "predicts them too well: models with it weigh together only as much as it is likely that fish "
    "follow one, by one plain peak of either and over all waters that may have been."
)
AVERAGED = (
    ("depth and temperature", "one plain peak in each", "temperature alone", "depth alone"),
    ("depth drifting with the season", "depth alone"),
)
"""Models that are averaged where lure temperatures are known, and where they are not. The first
of each holds every term of the others."""
RESAMPLES = 500
LEAST_WEIGHT = 0.02
"""A lighter model is left out, but for the fullest, which the checks look at."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The models averaged and how all candidates predicted.

    Attributes
    ----------
    model : RateModel
        The fullest, which holds the terms of all members.
    members : dict of str to Member
        Models averaged, their weights adding up to 1.
    name : str
        The heaviest member.
    why : str
    table : DataFrame
        ``model, formula, score, score_se, behind, behind_se, weight, chosen``: gain in log
        probability of which rod took the strike, per 100 strikes of trips left out, over the
        constant rate; how far behind the fullest model; the weight; and which is heaviest.
    gains : dict of str to (float, float)
        What the averaged models, weighted, gain over each model without depth and water, per 100
        strikes of trips left out, and its standard error (NaN where one trip has all strikes).
    """

    model: RateModel
    members: dict[str, Member]
    name: str
    why: str
    table: pd.DataFrame
    gains: dict[str, tuple[float, float]]

    @property
    def not_beaten(self) -> tuple[str, ...]:
        """Models without depth and water that predict unseen trips as well, within one s.e."""
        return tuple(name for name, (gain, se) in self.gains.items() if not gain > se)

    @property
    def used(self) -> str:
        """What the answer rests on: a model, or several with their weights.

        The formula beside it is the fullest's, which holds the terms of all.
        """
        if len(self.members) < 2:
            return self.name
        parts = [
            f"{name} ({labels.percent(member.weight)})" for name, member in self.members.items()
        ]
        return f"average of {labels.listing(parts)}"

    @property
    def as_good(self) -> str:
        """The simplest model that is not beaten, as a captain would call it; empty for none."""
        return next((SIMPLE[name] for name in self.not_beaten), "")

    @property
    def tells_depth(self) -> bool:
        """Whether depth and water help to predict unseen trips, by more than the luck of a few.

        A gain above zero is not enough: of simulated seasons in which depth did not matter some
        had one by luck. Nor is a gain over the constant rate: gear and leader can give it.
        """
        return not self.not_beaten


def candidates(exposure: Exposure, *, lures: bool = False) -> dict[str, RateModel]:
    """Models a season allows, the fullest first, the constant rate last.

    Parameters
    ----------
    exposure : Exposure
    lures : bool
        Whether each lure has an effect of its own, shrunk as those of gears are.

    Returns
    -------
    dict
        Name to model. Terms that hardly vary or are hardly logged are in none.
    """
    table = exposure.table
    hours = table["hours"].to_numpy()

    def smooth(name: str, wiggles: int, *, logarithmic: bool = False) -> Smooth | None:
        values = table[name].to_numpy(dtype=float)
        known = np.isfinite(values)
        if hours[known].sum() <= ENOUGH_TEMPERATURE * hours.sum():
            return None
        found = Smooth.over(
            name, values[known], hours[known], wiggles=wiggles, logarithmic=logarithmic
        )
        return None if found.is_constant else found

    depth = smooth("depth_m", 9)
    water = smooth("lure_temp_c", 9)
    leader = smooth("leader_length_m", 4, logarithmic=True)
    gear = _effects(table, "gear_setting")
    lure = _effects(table, "lure") if lures else None
    tackle: tuple[Term, ...] = tuple(term for term in (leader, gear, lure) if term is not None)
    found: dict[str, RateModel] = {}
    days = table["day"].to_numpy()
    half = max((days.max() - days.min()) / 2, 1.0) if len(days) else 1.0
    if depth is not None:
        drift = Drift(smooth=depth, middle=float(days.min() + half), half=half)
        if water is not None:
            found["depth and temperature"] = RateModel(terms=(depth, water, *tackle))
            parabolas = (replace(depth, wiggles=0), replace(water, wiggles=0))
            found["one plain peak in each"] = RateModel(terms=(*parabolas, *tackle))
            found["temperature alone"] = RateModel(terms=(water, *tackle))
        found["depth drifting with the season"] = RateModel(terms=(depth, drift, *tackle))
        found["depth alone"] = RateModel(terms=(depth, *tackle))
        straight = replace(depth, order=1, wiggles=0)
        found["a straight line in depth"] = RateModel(terms=(straight, *tackle))
    if tackle:
        found[TACKLE] = RateModel(terms=tackle)
    found[CONSTANT] = RateModel(terms=())
    return found


def _effects(table: pd.DataFrame, name: str) -> Effects | None:
    """Return an effect for each level of a column; none where all rods had the same."""
    levels = tuple(str(level) for level in table[name].cat.categories)
    return Effects(name=name, levels=levels) if len(levels) > 1 else None


@one_thread
def choose_model(exposure: Exposure, *, lures: bool = False) -> Choice:
    """Score every candidate on trips left out, and weigh those that are averaged.

    Trips are left out whole, in folds; a strike is scored by the log probability that the model
    gave to the rod that took it, among the rods down. Each candidate's smoothing is chosen once,
    on all trips; its coefficients are refitted in each fold. Weights are pseudo-Bayesian model
    averaging with a Bayesian bootstrap of the trips (Yao, Vehtari, Simpson & Gelman 2018,
    *Bayesian Analysis* 13(3), 917-1007, from memory): no model is believed on the luck of a few
    trips, and none is dropped for it.

    Parameters
    ----------
    exposure : Exposure
    lures : bool
        Whether each lure has an effect of its own.

    Returns
    -------
    Choice
    """
    models = candidates(exposure, lures=lures)
    fullest = next(iter(models))
    rods = rods_of(exposure, models[fullest])
    scores = _all_scores(rods, models)
    members = _members(models, scores, exposure)
    strikes = max(int(rods.sets.hit.sum()), 1)
    rows = []
    for name, model in models.items():
        score, score_se = _difference(scores[name], scores[CONSTANT], strikes)
        behind, behind_se = _difference(scores[fullest], scores[name], strikes)
        rows.append(
            {
                "model": name,
                "formula": model.formula,
                "score": score,
                "score_se": score_se,
                "behind": behind,
                "behind_se": behind_se,
                "weight": members[name].weight if name in members else 0.0,
            }
        )
    table = pd.DataFrame(rows)
    name = max(members, key=lambda member: members[member].weight)
    table["chosen"] = table["model"] == name
    parts = [f"'{part}' {member.weight:.0%}" for part, member in members.items()]
    weighted = np.sum([m.weight * scores[part] for part, m in members.items()], axis=0)
    sure = labels.chance(_chance_of_gain(weighted - scores[CONSTANT]))
    why = (
        f"weights by prediction of trips left out: {', '.join(parts)}; chance that these predict "
        f"better than a constant rate: {sure}"
    )
    if exposure.water_unseen:
        follow = labels.chance(exposure.latent.followed)
        why += f"; chance that fish follow a temperature rather than keep to a depth: {follow}"
    return Choice(
        model=models[fullest],
        members=members,
        name=name,
        why=why,
        table=table,
        gains={
            plain: _difference(weighted, scores[plain], strikes)
            for plain in SIMPLE
            if plain in scores
        },
    )


def _members(
    models: dict[str, RateModel], scores: dict[str, Array], exposure: Exposure
) -> dict[str, Member]:
    """Weigh the models that are averaged; the fullest alone where none of them is there."""
    fullest = next(iter(models))
    names = next((names for names in AVERAGED if names[0] == fullest), (fullest,))
    by_trip = np.array([scores[name] for name in names])
    trips = by_trip.shape[1]
    weights = np.ones(len(names)) / len(names)
    if trips:
        resampled = by_trip @ _resampled(trips)
        chance = np.exp(resampled - resampled.max(axis=0))
        weights = (chance / chance.sum(axis=0)).mean(axis=1)
    warm = np.array([models[name].warm for name in names])
    if exposure.water_unseen and warm.any() and not warm.all():
        weights = _parted(weights, warm, exposure.latent.followed)
    weights[1:][weights[1:] < LEAST_WEIGHT] = 0.0
    weights /= weights.sum()
    return {
        name: Member(model=models[name], weight=float(weight))
        for name, weight in zip(names, weights, strict=True)
        if weight > 0.0 or name == fullest
    }


def _parted(weights: Array, warm: NDArray[np.bool_], followed: float) -> Array:
    """Part the weights between models with the temperature and those without (models,).

    A water that the strikes themselves tell lets models with the temperature predict the same
    strikes too well: of the two kinds the marginal likelihood judges, within each the prediction.
    """
    out = weights.copy()
    for kind, share in ((warm, followed), (~warm, 1.0 - followed)):
        own = np.maximum(weights[kind], np.finfo(float).tiny)
        out[kind] = share * own / own.sum()
    return out


def _resampled(trips: int) -> Array:
    """Weights of the trips in each Bayesian bootstrap of them (trips, resamples)."""
    rng = np.random.default_rng(0)  # of the resampling only, so that a log has one answer
    return np.asarray(trips * rng.dirichlet(np.ones(trips), RESAMPLES).T)


def _chance_of_gain(by_trip: Array) -> float:
    """Chance that a gain, known by trip, is one: the share of resampled sums above zero."""
    trips = len(by_trip)
    return float(np.mean(by_trip @ _resampled(trips) > 0.0)) if trips > 1 else float("nan")


def _difference(one: Array, other: Array, strikes: int) -> tuple[float, float]:
    """Difference of two scores per 100 strikes, and its standard error over trips."""
    difference = one - other
    scale = 100.0 / strikes
    trips = len(difference)
    se = float(np.std(difference, ddof=1) * np.sqrt(trips)) if trips > 1 else float("nan")
    return float(difference.sum() * scale), se * scale


def _all_scores(rods: Rods, models: Mapping[str, RateModel]) -> dict[str, Array]:
    """Score every candidate."""
    each = {
        name: Errand(partial(_scores, replace(rods, model=own))) for name, own in models.items()
    }
    share_out(list(each.values()), worth=worth_parting(rods, _REFITS_A_SCORE * (len(each) // 2)))
    return {name: errand.made for name, errand in each.items()}


def _scores(rods: Rods) -> Array:
    """Log probability of the strikes of each trip by a model that did not see the trip."""
    trips = int(rods.cluster.max(initial=-1)) + 1
    size = rods.model.size
    out = np.zeros(trips)
    if trips == 0:
        return out
    start, error = np.zeros(size), np.zeros(rods.errors)

    def rows() -> Strata:
        everything = rods.strata(start, error)
        return everything.with_design(everything.design[:, :size])

    penalty, log_sd, near = None, None, None
    data = untold = rows()
    for _ in range(ROUNDS if size else 0):
        chosen = choose_smoothing(data, rods.model.blocks, log_sd)
        log_sd, start, near = chosen.log_sd, chosen.maximum.coef, chosen.maximum.information
        penalty = penalty_matrix(rods.model.blocks, log_sd, size)
        rods = rods.with_strays(start, error, 0.0) if rods.stray else rods.with_usual_strays()
        data = rows()
    for fold in range(min(FOLDS, trips)):
        held = data.cluster % min(FOLDS, trips) == fold
        log = log_likelihoods(untold, np.zeros(size))
        if penalty is not None and not held.all():
            top = climb(_part(data, ~held), penalty, start, information=near)
            log = log_likelihoods(data, top.coef)
        out += np.bincount(data.cluster, weights=np.where(held, log, 0.0), minlength=trips)
    return out


def _part(data: Strata, strata: NDArray[np.bool_]) -> Strata:
    """Return some of the strata."""
    rows = np.repeat(strata, data.size)
    size = data.size[strata]
    return Strata(
        design=data.design[rows],
        count=data.count[rows],
        log_effort=data.log_effort[rows],
        start=np.cumsum(size) - size,
        cluster=data.cluster[strata],
        shape=data.shape,
    )
