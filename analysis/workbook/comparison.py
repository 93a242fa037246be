"""Owns the comparison of two parts: side by side where both fished at once, else by their days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.errors import UsageError
from analysis.rates.exposure import Exposure
from analysis.show.workbook import words
from analysis.stats.clustered import BOUNDS, CountedRate
from analysis.stats.risk_sets import rods_at_strikes
from analysis.stats.side_by_side import Ratio, side_by_side
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part
from analysis.workbook.parts import part_rate
from analysis.workbook.spelled import Spelled

FEWEST_SHARED = 10
"""Strikes while both were fishing below which their days are compared instead."""
DRAWS = 4000


@dataclass(frozen=True, kw_only=True)
class Comparison(Spelled):
    """Two parts of a season, or of two seasons, and how many times one's rate is the other's.

    Attributes
    ----------
    names : (2,) tuple of str
    rates : (2,) tuple of CountedRate
        Strikes per rod-hour as counted, whatever the days were like.
    ratio : Ratio
        Of the first to the second.
    together : bool
        Whether the ratio is from moments at which both were fishing; else it compares days.

    Examples
    --------
    >>> import rodhours
    >>> season = rodhours.open(rodhours.example())
    >>> compared = season.where(gear="rigger").compare(season.where(gear="diver"))
    >>> compared.table[["what", "strikes"]]
         what  strikes
    0  rigger      0.0
    1   diver      1.0
    2   ratio      NaN
    """

    names: tuple[str, str]
    rates: tuple[CountedRate, CountedRate]
    ratio: Ratio
    together: bool

    @property
    def table(self) -> pd.DataFrame:
        """The figures of both, a row each, and the ratio."""
        rows = [
            {
                "what": name,
                "strikes": int(rate.strikes),
                "rod_hours": rate.hours,
                "rate": rate.rate,
                "low": rate.low,
                "high": rate.high,
            }
            for name, rate in zip(self.names, self.rates, strict=True)
        ]
        ratio = self.ratio
        told = {"what": "ratio", "rate": ratio.ratio, "low": ratio.low, "high": ratio.high}
        return pd.DataFrame([*rows, told])

    def __repr__(self) -> str:
        """Say what the comparison tells, in plain text."""
        return words.comparison(self).text

    def _repr_html_(self) -> str:
        """Return the same for notebooks."""
        return words.comparison(self).html


def compare_parts(
    first: tuple[str, Counted, Part], second: tuple[str, Counted, Part], seed: int
) -> Comparison:
    """Compare the rates of two parts; see `Comparison`.

    Raises
    ------
    UsageError
        Where one of them has no rod-hours, or a rod-hour is in both.
    """
    names = (first[0], second[0])
    rates = (part_rate(*first[1:]), part_rate(*second[1:]))
    for name, rate in zip(names, rates, strict=True):
        if rate.hours <= 0:
            msg = f"{name}: there are no rod-hours to compare. Remedy: ask for less at once."
            raise UsageError(msg)
    rng = np.random.default_rng([seed, 4])
    if first[1] is second[1]:
        both = (first[2].slices & second[2].slices).any()
        if both and np.array_equal(first[2].slices, second[2].slices):
            return _same_hours(names, rates, first, second)
        if both:
            msg = (
                f"{names[0]} and {names[1]} share rod-hours. Remedy: compare parts that have none "
                "in common, such as two lures, two gears, mornings and evenings."
            )
            raise UsageError(msg)
        ratio = _shared_moments(first[1].hourly, first[1], first[2], second[2])
        if sum(ratio.strikes) >= FEWEST_SHARED:
            return Comparison(names=names, rates=rates, ratio=ratio, together=True)
    draws = rates[0].draws(DRAWS, rng) / rates[1].draws(DRAWS, rng)
    low, middle, high = np.quantile(draws, (BOUNDS[0], 0.5, BOUNDS[1]))
    ratio = Ratio(
        ratio=float(middle),
        low=float(low),
        high=float(high),
        p_more=float(np.mean(draws > 1)),
        strikes=(int(rates[0].strikes), int(rates[1].strikes)),
        trips=0,
    )
    return Comparison(names=names, rates=rates, ratio=ratio, together=False)


def _same_hours(
    names: tuple[str, str],
    rates: tuple[CountedRate, CountedRate],
    first: tuple[str, Counted, Part],
    second: tuple[str, Counted, Part],
) -> Comparison:
    """Compare two kinds of strikes in the same rod-hours, such as two species."""
    strikes = first[1].strikes
    placed = strikes["row"].to_numpy() >= 0
    one, two = (part.strikes & placed for part in (first[2], second[2]))
    if (one & two).any():
        msg = f"{names[0]} and {names[1]} share strikes. Remedy: compare two that share none."
        raise UsageError(msg)
    either = one | two
    rods = np.ones(int(either.sum()))
    ratio = side_by_side(
        one[either].astype(float), rods, rods, strikes["key"].to_numpy()[either].astype(float)
    )
    return Comparison(names=names, rates=rates, ratio=ratio, together=True)


def _shared_moments(exposure: Exposure, counted: Counted, one: Part, two: Part) -> Ratio:
    """Find the strikes that came while rods of both parts were down, and compare at them."""
    placed = counted.strikes["row"].to_numpy() >= 0
    strikes = (one.strikes | two.strikes)[placed]
    either = one.slices | two.slices
    chosen = exposure.with_strikes(strikes & either[exposure.strike_row]).of_trips(either)
    sets = rods_at_strikes(
        chosen.trip, chosen.start, chosen.end, chosen.strike_row, chosen.strike_time
    )
    in_first = one.slices[either][sets.row]
    count = len(chosen.strike_row)
    rods_one = np.bincount(sets.moment[in_first], minlength=count)
    rods_two = np.bincount(sets.moment[~in_first], minlength=count)
    took = np.bincount(sets.moment, sets.hit * in_first, minlength=count).astype(float)
    shared = (rods_one > 0) & (rods_two > 0)
    trip = chosen.trip[chosen.strike_row].astype(float)
    one_down, two_down = (number[shared].astype(float) for number in (rods_one, rods_two))
    return side_by_side(took[shared], one_down, two_down, trip[shared])
