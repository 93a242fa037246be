"""Which figures of catch are told, so that none, nor what is left of a total, is of few boats."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from analysis.weekly.disclosure import Parts, safe, together

Outcomes = Mapping[str, Parts]
"""Outcome -> boat -> strikes; the outcomes are ``landed``, ``released`` and ``neither``."""

_COLUMNS = (("landed", "released"), ("landed",))
"""What may be told of outcomes, the most first."""

_Cell = TypeVar("_Cell")


def hide(
    rows: Sequence[_Cell],
    fine: Callable[[Sequence[_Cell]], bool],
    size: Callable[[_Cell], float],
) -> list[bool]:
    """Say which rows of a table with a known total are told.

    What follows from the total for the hidden rows together must be fine as well; until it is,
    the smallest row that says something is hidden, too (secondary suppression: Hundepool et al.,
    Statistical Disclosure Control, Wiley 2012, chapter 4).

    Parameters
    ----------
    rows : sequence
        They add up to the total.
    fine : callable
        Whether the sum of some rows may be known.
    size : callable
        How much a row adds.

    Returns
    -------
    list of bool

    Examples
    --------
    >>> hide([9, 1, 4], lambda some: sum(some) >= 3, lambda row: row)
    [True, False, False]
    """
    told = [fine([row]) for row in rows]
    while any(told) and not all(told):
        if fine([row for row, apart in zip(rows, told, strict=True) if not apart]):
            break
        left = [at for at, apart in enumerate(told) if apart]
        told[min(left, key=lambda at: (size(rows[at]) == 0, size(rows[at])))] = False
    return told


def strikes_told(rows: Sequence[Parts], least: int) -> list[bool]:
    """Say which rows' strikes are told beside their total."""
    return hide(
        rows, lambda some: safe(together(some), least), lambda parts: float(sum(parts.values()))
    )


def outcomes_told(rows: Sequence[Outcomes], least: int) -> tuple[tuple[str, ...], list[bool]]:
    """Say which outcomes are told of a week, and of which of its rows.

    Of a row whose strikes are told, an outcome tells how many had none of those told, too.

    Parameters
    ----------
    rows : sequence of Outcomes
        They add up to the week's strikes.
    least : int
        Boats that must stand behind a figure.

    Returns
    -------
    columns : tuple of str
        The outcomes told, of the week and of rows.
    told : list of bool
        The rows of which they are told.
    """
    for columns in _COLUMNS:

        def fine(some: Sequence[Outcomes], columns: Sequence[str] = columns) -> bool:
            apart = [together(row[name] for row in some) for name in columns]
            rest = together(
                parts for row in some for name, parts in row.items() if name not in columns
            )
            return all(safe(parts, least) for parts in (*apart, rest))

        if fine(rows):
            return columns, hide(rows, fine, _size)
    return (), [False] * len(rows)


def _size(row: Outcomes) -> float:
    return float(sum(sum(parts.values()) for parts in row.values()))
