"""What the log can tell of each term: how much rods that fished together differed in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.rates.terms import RateModel
from analysis.stats.conditional import Strata, information_at

Array = NDArray[np.float64]

LEAST_TOLD = 1.0
"""Information about an effect, in that of its prior, below which the log is said not to tell it:
strikes then say less than what was thought before."""


def told_directions(data: Strata, model: RateModel) -> Array:
    """Projection (size, size) of coefficients onto what rods fished together can tell.

    Strikes tell of a term only as far as rods that were down at the same time differed in it. A
    leader that is tied for the day, or a gear that is never down beside another, has no such
    contrast however many strikes there are: the likelihood is the same whatever its effect. The
    measure is the information of each term's own columns where all effects are nothing, against
    that of their prior; a direction in them (long against short leaders, one gear against
    another) is told where its strikes say at least as much as the prior does.

    Parameters
    ----------
    data : Strata
        Rows by moment; columns past those of the model are left alone.
    model : RateModel

    Returns
    -------
    (size, size) array
        Idempotent, a block for each term: the identity where all of it is told, zeros where
        nothing is.
    """
    information = information_at(data, np.zeros(data.design.shape[1]))
    told = np.zeros((model.size, model.size))
    for term in model.terms:
        here = model.columns_of(term.name)
        sd = prior_sd(model)[here]
        values, turn = np.linalg.eigh(sd[:, None] * information[here, here] * sd)
        kept = turn[:, values >= LEAST_TOLD]
        told[here, here] = sd[:, None] * (kept @ kept.T) / sd
    return told


def prior_sd(model: RateModel) -> Array:
    """Prior standard deviation (size,) of the log rate's coefficients where nothing is told."""
    sd = np.empty(model.size)
    everything = replace(model, untold=frozenset(model.names))
    for block in everything.blocks:
        sd[block.columns] = block.scale
    return sd


def untold_terms(told: Array, model: RateModel) -> frozenset[str]:
    """Names of the terms of which no direction is told; see `told_directions`."""
    return frozenset(name for name in model.names if not told[model.columns_of(name)].any())
