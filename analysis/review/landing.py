"""Owns the way from strike to box: what hook-up and landing depended on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.terms import Effects
from analysis.review.binomial import Covariate, OutcomeFit, fit_outcome
from analysis.review.strikes import HOOKED, KNOWN, LANDED
from analysis.stats.pspline import Smooth
from analysis.units import Units, from_si

Array = NDArray[np.float64]

OUTCOMES = ("term", "level", "hooked", "boated", "boated_rate", "low", "high", "modelled")
HOOKUPS = ("term", "level", "strikes", "hooked", "hookup_rate", "low", "high", "modelled")
FEWEST_OF_LEVEL = 5
"""A class with fewer fish is shown with the others of its kind, as ``others``."""
MOST_UNSEEN = 0.05
"""Where the failures lack a covariate by so much more than the successes, it is only counted: a
fish that was lost is one whose species and length nobody saw."""
MOST_MISSING = 0.3
UNTOLD = 0.75
"""Where so large a share of the failures lack a covariate, its shares would say nothing."""
STEPS = {"ft": 1.0, "m": 0.5, "in": 2.0, "cm": 5.0}
"""Classes begin at whole multiples of this."""
OTHERS = "others"


@dataclass(frozen=True, kw_only=True)
class Landing:
    """Models of hook-up and of landing.

    Attributes
    ----------
    landing, hookup : OutcomeFit
    outcomes, hookups : DataFrame
        ``outcomes`` has ``term, level, hooked, boated, boated_rate, low, high, modelled``;
        ``hookups`` the same of ``strikes`` and ``hooked``. Rates are at the same mix of all else
        where ``modelled``, else the raw share.
    unseen : mapping of str to float
        What is only counted, with the share of the fish lost of which the log does not have it.
    untold : tuple of str
        What the log has of hardly any fish lost, so that nothing is told of it.
    without_outcome : int
        Strikes left out for want of an outcome.
    """

    landing: OutcomeFit
    hookup: OutcomeFit
    outcomes: pd.DataFrame
    hookups: pd.DataFrame
    unseen: Mapping[str, float]
    untold: tuple[str, ...]
    without_outcome: int


def landing(strikes: pd.DataFrame, units: Units, rng: np.random.Generator) -> Landing:
    """Model which strikes were hooked and which hooked fish were landed or released.

    Parameters
    ----------
    strikes : DataFrame
        `analysis.review.strikes.all_strikes`.
    units : Units
        To write classes in.
    rng : numpy.random.Generator

    Returns
    -------
    Landing
        Strikes without a logged outcome are left out.
    """
    hooked = strikes.loc[strikes["outcome"].isin(HOOKED)]
    known = strikes.loc[strikes["outcome"].isin(KNOWN)]
    may_matter = covariates(hooked, units)
    landed, unseen, untold = _fit("landed of hooked", hooked, LANDED, may_matter, rng)
    # Nobody sees a fish that was missed: only what was towed can tell hook-ups.
    towed = covariates(known, units)[:2]
    hooks, *_ = _fit("hooked of strikes", known, HOOKED, towed, rng)
    return Landing(
        landing=landed,
        hookup=hooks,
        outcomes=_named(landed, OUTCOMES),
        hookups=_named(hooks, HOOKUPS),
        unseen=unseen,
        untold=untold,
        without_outcome=len(strikes) - len(known),
    )


def _fit(
    name: str,
    fish: pd.DataFrame,
    successes: tuple[str, ...],
    depends: Sequence[Covariate],
    rng: np.random.Generator,
) -> tuple[OutcomeFit, dict[str, float], tuple[str, ...]]:
    """Fit what the log tells of; return also what it tells of the failures less often, or never."""
    success = fish["outcome"].isin(successes).to_numpy()
    found, unseen_of, untold = [], {}, []
    for covariate in depends:
        missing = covariate.level < 0
        unseen = _share(missing & ~success, ~success) - _share(missing & success, success)
        told = covariate
        if missing.all():
            continue
        if unseen > MOST_UNSEEN or missing.mean() > MOST_MISSING:
            lost = _share(missing & ~success, ~success)
            if lost > UNTOLD:
                untold.append(covariate.name)
                continue
            told = replace(covariate, term=None)
            unseen_of[covariate.name] = lost
        found.append(told)
    fit = fit_outcome(name, success, fish["trip_number"].to_numpy(), found, rng)
    return fit, unseen_of, tuple(untold)


def _share(part: NDArray[np.bool_], whole: NDArray[np.bool_]) -> float:
    return float(part.sum() / max(whole.sum(), 1))


def _named(fit: OutcomeFit, columns: tuple[str, ...]) -> pd.DataFrame:
    names = dict(zip(("term", "level", "trials", "successes", "rate"), columns[:5], strict=True))
    return fit.table.rename(columns=names)[list(columns)]


def covariates(fish: pd.DataFrame, units: Units) -> list[Covariate]:
    """Return what landing and hook-up may depend on: leader, gear and setting, species, size."""
    leader = fish["leader_length_m"].to_numpy(dtype=float)
    length = fish["length_m"].to_numpy(dtype=float)
    return [
        _curve("leader length", "leader_length_m", leader, "length", units, logarithmic=True),
        _effects("gear and setting", "gear_setting", fish["gear_setting"].to_numpy(dtype=object)),
        _effects("species", "species", fish["kind"].to_numpy(dtype=object)),
        _curve("length of the fish", "length_m", length, "fish_length", units, logarithmic=False),
    ]


def _curve(
    name: str, column: str, values: Array, quantity: str, units: Units, *, logarithmic: bool
) -> Covariate:
    """Return a covariate as a smooth curve, shown in classes of about a third of the fish each."""
    known = np.isfinite(values) & (values > 0)
    level = np.full(len(values), -1)
    levels: list[str] = []
    typical: list[float] = []
    term = None
    if known.any():
        unit = units.of(quantity)
        shown = from_si(values, quantity, unit)
        step = STEPS[unit]
        cuts = np.unique(step * np.round(np.quantile(shown[known], (1 / 3, 2 / 3)) / step))
        cuts = cuts[(cuts > shown[known].min()) & (cuts <= shown[known].max())]
        level[known] = np.searchsorted(cuts, shown[known], side="right")
        levels = _class_names(cuts, unit)
        for place in range(len(levels)):
            here = values[level == place]
            typical.append(float(np.median(here)) if len(here) else np.nan)
        weights = np.ones(int(known.sum()))
        found = Smooth.over(column, values[known], weights, wiggles=4, logarithmic=logarithmic)
        term = None if found.is_constant or len(cuts) == 0 else found
    return Covariate(
        name=name,
        levels=tuple(levels),
        level=level,
        term=term,
        given=np.where(known, values, np.nan),
        typical=np.array(typical),
    )


def _class_names(cuts: Array, unit: str) -> list[str]:
    if not len(cuts):
        return ["all"]
    between = [f"{low:g}–{high:g} {unit}" for low, high in pairwise(cuts)]
    return [f"under {cuts[0]:g} {unit}", *between, f"{cuts[-1]:g} {unit} and more"]


def _effects(name: str, column: str, labels: NDArray[np.object_]) -> Covariate:
    """Return a covariate as shrunk effects of its labels, the rare ones together."""
    counts = pd.Series(labels[labels != ""]).value_counts(sort=True)
    rare = set(counts.index[counts < FEWEST_OF_LEVEL])
    merged = np.array([OTHERS if label in rare else label for label in labels], dtype=object)
    levels = [label for label in counts.index if label not in rare]
    levels += [OTHERS] if rare else []
    code = {label: place for place, label in enumerate(levels)}
    level = np.array([code.get(label, -1) for label in merged], dtype=np.intp)
    term = Effects(name=column, levels=tuple(levels)) if len(levels) > 1 else None
    return Covariate(
        name=name,
        levels=tuple(levels),
        level=level,
        term=term,
        given=level,
        typical=np.arange(len(levels)),
    )
