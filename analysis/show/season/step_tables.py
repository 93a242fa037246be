"""Owns the table of steps: what a little more of one thing did to the catch rate, and where."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis import labels
from analysis.result_rows import Effect, Step, records
from analysis.show.base.html import Fragment, paragraph
from analysis.show.base.tables import Table, from_rows
from analysis.units import Units, from_si

_MORE = {
    "depth_m": "deeper",
    "speed_mps": "faster",
    "lure_temp_c": "warmer at the lure",
    "surface_temp_c": "warmer at the surface",
    "leader_length_m": "more leader",
}
"""What one step more of each term is called."""

_DIGITS = {"speed": 1, "length": 1}
"""Decimals of the place a step starts from; none for the others."""


def steps(effects: pd.DataFrame, units: Units) -> Table:
    """Return the catch-rate ratio of one step more of each term that says something.

    Three places of a term's curve: its reference, and the points of its grid nearest to a quarter
    and to three quarters of its range. Terms of which the log tells nothing are left out, as
    `silent` says.

    Parameters
    ----------
    effects : pandas.DataFrame
        The result table ``effects``.
    units : Units
        Units to write steps and places in.
    """
    rows = []
    said = _terms_that_tell(effects)
    everything = records(Step, effects)
    for term, more in _MORE.items():
        curve = [row for row in everything if row.term == term and term in said]
        quantity = labels.TERM_QUANTITY[term]
        for row in _places(curve):
            step = f"{step_amount(row.step, quantity, units)} {more}"
            place = labels.amount(row.at, quantity, units, _DIGITS.get(quantity, 0))
            usual = ", the reference" if row.at == row.reference else ""
            bounds = labels.interval(row.step_low, row.step_high, labels.ratio)
            rows.append((step, f"{place}{usual}", f"{labels.ratio(row.step_ratio)} times", bounds))
    headings = ("One step more", "From", "Catch rate", "90 % interval")
    return from_rows(
        "What one step more did to strikes per rod-hour, other things equal; an interval that "
        "holds 1.00 leaves open whether it did anything",
        headings,
        rows,
        numbers=headings[2:],
        nothing="This log tells the effect of none of them.",
    )


def telling(effects: pd.DataFrame) -> pd.DataFrame:
    """Return the curves that say something: somewhere the 90 % interval leaves 1 out.

    Parameters
    ----------
    effects : pandas.DataFrame
        The result table ``effects``.
    """
    return effects[effects["term"].isin(_terms_that_tell(effects))]


def silent(effects: pd.DataFrame) -> Fragment:
    """Say of which terms the log tells nothing; they are not drawn."""
    quiet = {row.term for row in records(Effect, effects)} - _terms_that_tell(effects)
    if not quiet:
        return Fragment()
    words = [word for term, word in labels.TERM_WORDS.items() if term in quiet]
    return paragraph(
        f"Whether {labels.listing(words)} mattered the log cannot tell: no change at all would "
        "fit it as well."
    )


def step_amount(step: float, quantity: str, units: Units) -> str:
    """Write a difference, given in SI, in the boat's unit to two figures.

    Examples
    --------
    >>> metres = Units(length="m", depth="m", speed="km/h", temperature="F", fish_length="cm",
    ...                fish_weight="kg")
    >>> [step_amount(1.524, "depth", metres), step_amount(0.044704, "speed", metres)]
    ['1.5 m', '0.16 km/h']
    >>> step_amount(1.0, "temperature", metres)
    '1.8 °F'
    """
    ends = from_si([0.0, step], quantity, units.of(quantity))
    return f"{float(ends[1] - ends[0]):.2g} {labels.unit_of(quantity, units)}"


def _terms_that_tell(effects: pd.DataFrame) -> set[str]:
    return {row.term for row in records(Effect, effects) if not row.low <= 1.0 <= row.high}


def _places(curve: Sequence[Step]) -> list[Step]:
    """Return the rows of a curve nearest to a quarter of its range, its reference, and so on."""
    if not curve:
        return []
    at = np.array([row.at for row in curve])
    wanted = [*np.quantile([at.min(), at.max()], (0.25, 0.75)), curve[0].reference]
    nearest = {int(np.argmin(np.abs(at - place))) for place in wanted}
    return sorted((curve[place] for place in nearest), key=lambda row: row.at)
