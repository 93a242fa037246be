"""Owns the parting of a season: by every name of one kind, and a part against all the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.errors import UsageError
from analysis.review.course.clock import FEWEST_HOURS
from analysis.show.workbook import words
from analysis.stats.clustered import CountedRate
from analysis.workbook.comparison import DRAWS
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part, choices, narrowed, nearest_of
from analysis.workbook.parts import part_rate
from analysis.workbook.spelled import Spelled

KINDS = (
    "boat", "month", "week", "weekday", "moon", "area", "species", "outcome", "gear", "setting",
    "lure",
)  # fmt: skip
"""What a season may be parted by."""
FISH = ("species", "outcome")
"""Those that are of a strike: their parts share all rod-hours."""


@dataclass(frozen=True, kw_only=True)
class Breakdown(Spelled):
    """A part of a season by every name of one kind, as counted.

    Attributes
    ----------
    what : str
        The kind, such as ``lure``.
    looked_at : str
        The part that was parted, in words.
    names : tuple of str
    rates : tuple of CountedRate
        One for each name.
    p_most : tuple of float
        Chance that a name has the highest rate of those with enough rod-hours, as counted.

    Examples
    --------
    >>> import rodhours
    >>> rodhours.open(rodhours.example()).each("lure").names
    ('Copper Vole', 'Blue Heel')
    """

    what: str
    looked_at: str
    names: tuple[str, ...]
    rates: tuple[CountedRate, ...]
    p_most: tuple[float, ...]

    @property
    def table(self) -> pd.DataFrame:
        """A row a name: ``strikes, rod_hours, rate, low, high, p_most``."""
        rows = [
            {
                self.what: name,
                "strikes": int(rate.strikes),
                "rod_hours": rate.hours,
                "rate": rate.rate,
                "low": rate.low,
                "high": rate.high,
                "p_most": chance,
            }
            for name, rate, chance in zip(self.names, self.rates, self.p_most, strict=True)
        ]
        columns = [self.what, "strikes", "rod_hours", "rate", "low", "high", "p_most"]
        return pd.DataFrame(rows, columns=columns)

    def __repr__(self) -> str:
        """Say what each name has, in plain text."""
        return words.breakdown(self).text

    def _repr_html_(self) -> str:
        """Return the same for notebooks."""
        return words.breakdown(self).html


def breakdown(counted: Counted, part: Part, what: str, looked_at: str, seed: int) -> Breakdown:
    """Count a part by every name of one kind; see `Breakdown`.

    Raises
    ------
    UsageError
        For a kind that a season is not parted by.
    """
    names, parts = [], []
    for name in names_of(counted, what):
        one = narrowed(counted, part, {what: name})
        if one.slices.any() and (what not in FISH or one.strikes.any()):
            names.append(name)
            parts.append(one)
    rates = tuple(part_rate(counted, one) for one in parts)
    told = [number for number, rate in enumerate(rates) if rate.hours >= FEWEST_HOURS]
    chance = np.full(len(rates), np.nan)
    if len(told) > 1:
        rng = np.random.default_rng([seed, 6])
        most = np.argmax([rates[number].draws(DRAWS, rng) for number in told], axis=0)
        chance[told] = np.bincount(most, minlength=len(told)) / DRAWS
    return Breakdown(
        what=what,
        looked_at=looked_at,
        names=tuple(names),
        rates=rates,
        p_most=tuple(chance.tolist()),
    )


def names_of(counted: Counted, what: str) -> list[str]:
    """Return the names of one kind that a season has; those of rods by rod-hours, most first.

    Raises
    ------
    UsageError
        For a kind that a season is not parted by.
    """
    if what not in KINDS:
        raise UsageError(nearest_of("a season is not parted by", what, KINDS))
    return choices(counted, what)


def part_and_rest(counted: Counted, part: Part, wishes: Mapping[str, Any]) -> tuple[Part, Part]:
    """Part a season in two: what some wishes leave, and all the rest.

    Where rods, days or hours are wished, species and outcome narrow both: the same fish on other
    rods. Species and outcome alone are set against all other strikes of the same rod-hours.
    """
    fish = {name: wish for name, wish in wishes.items() if name in FISH}
    if len(fish) == len(wishes):
        one = narrowed(counted, part, wishes)
        slices = part.slices
    else:
        part = narrowed(counted, part, fish)
        one = narrowed(counted, part, {n: w for n, w in wishes.items() if n not in FISH})
        slices = part.slices & ~one.slices
    return one, Part(slices=slices, strikes=part.strikes & ~one.strikes, said=part.said)
