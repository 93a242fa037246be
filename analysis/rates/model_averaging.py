"""Fit several models and mix their draws by weight: doubt about the model is carried too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from analysis.rates.exposure import Exposure
from analysis.rates.fit import (
    DRAWS_PER_REFIT,
    REFITS,
    Centre,
    Fit,
    centre_of,
    refitted,
    worth_parting,
)
from analysis.rates.rods import Rods, rods_of
from analysis.rates.terms import RateModel
from analysis.stats.beside import Errand, share_out
from analysis.stats.threads import one_thread

Array = NDArray[np.float64]

FEWEST_REFITS = 2
"""Of a member, however light: parted by weight alone, a model of one part in thirty had a whole
refit or none, and what is known of fish weighs draws after."""
_REFITS_A_CENTRE = 15
"""Refits, at one look each, that take as long as finding a centre."""


@dataclass(frozen=True, kw_only=True)
class Member:
    """A model and its weight in the mixture."""

    model: RateModel
    weight: float


@one_thread
def fit_average(
    exposure: Exposure,
    full: RateModel,
    members: Mapping[str, Member],
    rng: np.random.Generator,
    *,
    refits: int = REFITS,
    each: int = DRAWS_PER_REFIT,
    centres: dict[RateModel, Centre | None] | None = None,
) -> Fit:
    """Fit every member that gets a refit and gather the draws in the columns of the full model.

    A term that a member lacks is zero in its draws, so the mixture is one `Fit` of the full
    model: what follows needs not know that there were several.

    Parameters
    ----------
    exposure : Exposure
    full : RateModel
        Holds every term of every member.
    members : mapping of str to Member
        Weights add up to 1; the full model is one of them.
    rng : numpy.random.Generator
    refits : int
        Of all members together, parted by weight; a few more where there are light ones.
    each : int
        Draws of each refit; fewer of each of a light member's, so that its draws have its weight.
    centres : dict, optional
        Centres of models found before of this exposure; those found here are put in.

    Returns
    -------
    Fit
        ``smoothing`` is that of the full model, which always gets a refit: the checks are of it.
    """
    rods = rods_of(exposure, full)
    shares = np.array([member.weight for member in members.values()])
    parted = np.maximum(np.rint(shares * refits), min(FEWEST_REFITS, refits)).astype(int)
    count = np.maximum(np.rint(shares * refits * each / parted), 1).astype(int)
    whole = next(at for at, member in enumerate(members.values()) if member.model is full)
    centres = {} if centres is None else centres
    models = [member.model for member in members.values()]
    missing = [model for model in models if model not in centres]
    centres |= zip(missing, _centres(rods, missing), strict=True)
    fits = [
        refitted(
            *(replace(rods, model=model), centres[model], rng),
            refits=int(refits_of_it),
            each=int(draws_of_it),
        )
        for model, refits_of_it, draws_of_it in zip(models, parted, count, strict=True)
    ]
    if len(fits) == 1:
        return fits[0]
    first = np.cumsum([0, *(int(fit.refit.max()) + 1 for fit in fits)])
    draws = np.concatenate([_embedded(fit, full) for fit in fits])
    return replace(
        fits[whole],
        status=next((fit.status for fit in fits if fit.status != "fitted"), "fitted"),
        coef=draws.mean(axis=0),
        draws=draws,
        error_draws=np.concatenate([fit.error_draws for fit in fits]),
        refit=np.concatenate([fit.refit + f for fit, f in zip(fits, first, strict=False)]),
        waters=np.concatenate([fit.waters for fit in fits]),
        layers=np.column_stack([fit.layers for fit in fits]),
        background=np.concatenate([fit.background for fit in fits]),
        dispersion=float(
            np.average([f.dispersion for f in fits], weights=[len(f.draws) for f in fits])
        ),
        converged=all(fit.converged for fit in fits),
    )


def _centres(rods: Rods, models: Sequence[RateModel]) -> list[Centre | None]:
    """Find the centres of some models; the first, the fullest, takes longest."""
    each = [Errand(partial(centre_of, replace(rods, model=model))) for model in models]
    share_out(each, worth=worth_parting(rods, _REFITS_A_CENTRE * (len(models) - 1)))
    return [errand.made for errand in each]


def holding(members: Mapping[str, Member], name: str) -> dict[str, Member]:
    """Members whose model has a term, their weights adding up to 1 again.

    What a term does is asked of these alone. A member without it says that it does exactly
    nothing, and a mixture in which that weighs most has an interval of no width about nothing:
    that tells how well the lighter models are believed, not how large the effect may be.
    """
    own = {key: member for key, member in members.items() if name in member.model.names}
    total = sum(member.weight for member in own.values())
    return {
        key: replace(member, weight=member.weight / total if total else 1.0 / len(own))
        for key, member in own.items()
    }


def _embedded(fit: Fit, full: RateModel) -> Array:
    """Draws of a member in the columns of the full model; its terms' columns come first there."""
    out = np.zeros((len(fit.draws), full.size))
    for term in fit.model.terms:
        here = fit.model.columns_of(term.name)
        place = full.columns_of(term.name).start
        out[:, place : place + here.stop - here.start] = fit.draws[:, here]
    return out
