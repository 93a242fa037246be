"""Who may be told what: the fewest boats behind a figure, and cells merged until it holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from analysis.errors import RodhoursError
from analysis.log.boat import Boat
from analysis.log.wording.spelling import same_name

FEWEST_BOATS = 3
"""Boats behind any figure of a club's report. With two, each of them subtracts its own."""
SMALL_SHARE = 0.05
"""A boat that adds less than this share of what the biggest adds to a cell does not count as one
behind it: the others would know each other's part almost to the digit. Our own choice."""
P_PERCENT = 10.0
"""A cell is not told where the second biggest boat, by subtracting its own, would know the
biggest's part to within this many per cent: the p % rule (Hundepool, Domingo-Ferrer, Franconi,
Giessing, Schulte Nordholt, Spicer and de Wolf, Statistical Disclosure Control, Wiley 2012,
section 4.2). The rule is theirs, the 10 our choice; chapter and value are written from memory."""

CLUB = "club"
PAIR = "pair"
ONE_BOAT = "boat"

Parts = Mapping[str, float]
"""Boat -> what it adds to one cell."""


class SharingError(RodhoursError):
    """Logs whose report would give away what a boat did."""


@dataclass(frozen=True, kw_only=True)
class Audience:
    """For whom a report is.

    Attributes
    ----------
    kind : str
        `CLUB`, `PAIR` (two boats that both allow it) or `ONE_BOAT` (the boat's own).
    least : int
        Boats that must stand behind each figure.
    """

    kind: str
    least: int


def audience_of(boats: Iterable[Boat]) -> Audience:
    """Say for whom a report of some boats' logs is.

    ``name_boat`` is the only leave that boat.toml gives. It is read as leave to name the boat,
    not its figures; but where a club is two boats, each knows the other's figures by subtracting
    its own from the sum, so there both must have given it.

    Parameters
    ----------
    boats : iterable of Boat
        One for each season folder; folders of one boat count once.

    Returns
    -------
    Audience

    Raises
    ------
    SharingError
        For two boats of which one does not allow to be named.
    """
    allows: dict[str, bool] = {}
    for boat in boats:
        key = same_name(boat.name)
        allows[key] = allows.get(key, True) and boat.name_boat
    if len(allows) == 1:
        return Audience(kind=ONE_BOAT, least=1)
    if len(allows) == 2:
        if not all(allows.values()):
            msg = (
                "these logs are of two boats: each could tell the other's figures by subtracting "
                "its own, and not both allow it. Remedy: add the log of a third boat, or give the "
                "logs of one boat for its own report, or let both boats write name_boat = true "
                "under [sharing] in boat.toml."
            )
            raise SharingError(msg)
        return Audience(kind=PAIR, least=2)
    return Audience(kind=CLUB, least=FEWEST_BOATS)


def stands(parts: Parts, least: int) -> bool:
    """Tell whether enough boats stand behind a cell, none of them nearly alone.

    Enough boats add to it, each at least `SMALL_SHARE` of what the biggest adds; and what all but
    the two biggest add is at least `P_PERCENT` of the biggest, so that the second biggest cannot
    tell the biggest's part. Where fewer than three boats are enough, they have allowed it.

    Examples
    --------
    >>> stands({"A": 20.0, "B": 9.0, "C": 3.0}, 3)
    True
    >>> stands({"A": 20.0, "B": 9.0, "C": 0.5}, 3), stands({"A": 20.0, "B": 9.0, "C": 1.5}, 3)
    (False, False)
    """
    sizes = sorted((part for part in parts.values() if part > 0), reverse=True)
    biggest = max(sizes, default=0.0)
    if sum(size >= SMALL_SHARE * biggest for size in sizes) < least:
        return False
    return least < FEWEST_BOATS or sum(sizes[2:]) >= P_PERCENT / 100.0 * biggest


def safe(parts: Parts, least: int) -> bool:
    """Tell whether a figure may be told: enough boats stand behind it, or it is nought."""
    return not any(parts.values()) or stands(parts, least)


def parts_of(rows: pd.DataFrame, weight: str | None = None) -> dict[str, float]:
    """Add up rows boat by boat.

    Parameters
    ----------
    rows : DataFrame
        With ``boat``.
    weight : str or None
        Column that says how much each row adds; each adds one by default.
    """
    sums = rows["boat"].value_counts() if weight is None else rows.groupby("boat")[weight].sum()
    return {str(boat): float(part) for boat, part in sums.items()}


def together(cells: Iterable[Parts]) -> dict[str, float]:
    """Add up cells, boat by boat."""
    total: dict[str, float] = {}
    for parts in cells:
        for boat, part in parts.items():
            total[boat] = total.get(boat, 0.0) + part
    return total


def merge_neighbours(cells: Sequence[Parts], least: int) -> list[list[int]]:
    """Merge neighbouring cells so that enough boats stand behind each, in as many as can be.

    Of groupings with equally many groups the most even one is taken. The groups hold every cell
    exactly once: whatever is added to or subtracted from what, each figure left is of enough
    boats.

    Parameters
    ----------
    cells : sequence of Parts
        In their order.
    least : int
        Boats that must stand behind each.

    Returns
    -------
    list of list of int
        Indices of the cells in each group; one group of all where no other way will do.

    Examples
    --------
    >>> both, one = {"A": 2.0, "B": 3.0}, {"A": 5.0}
    >>> merge_neighbours([both, one, both, one], 2)
    [[0, 1], [2, 3]]
    """
    # Dynamic programming: most[end] is the best way to group the cells before ``end``.
    most: list[tuple[int, float, list[list[int]]] | None] = [(0, 0.0, [])]
    for end in range(1, len(cells) + 1):
        found = []
        for start in range(end):
            before = most[start]
            parts = together(cells[start:end])
            if before is not None and stands(parts, least):
                uneven = before[1] - sum(parts.values()) ** 2
                found.append((before[0] + 1, uneven, [*before[2], list(range(start, end))]))
        most.append(max(found, key=lambda way: way[:2], default=None))
    best = most[-1]
    return [list(range(len(cells)))] if best is None else best[2]


def merge_small(cells: Mapping[str, Parts], least: int) -> tuple[list[str], list[str]]:
    """Tell apart the cells with enough boats behind them; the others become one.

    Where the others together are of too few boats, the smallest of those told apart joins them,
    until they are not: else they would follow from the total by subtraction.

    Parameters
    ----------
    cells : mapping of str to Parts
        Without order, such as species.
    least : int
        Boats that must stand behind each.

    Returns
    -------
    told, merged : lists of str
        Names of the cells told apart, the biggest first, and of those that are one.

    Examples
    --------
    >>> cells = {"trout": {"A": 3, "B": 2}, "char": {"A": 1, "B": 1}, "pike": {"B": 7}}
    >>> merge_small(cells, 2)
    (['trout'], ['char', 'pike'])
    """
    filled = {name: parts for name, parts in cells.items() if any(parts.values())}
    order = sorted(filled, key=lambda name: (-sum(filled[name].values()), name))
    told = [name for name in order if stands(filled[name], least)]
    merged = [name for name in order if name not in told]
    while merged and told and not stands(together(filled[name] for name in merged), least):
        merged.insert(0, told.pop())
    return told, merged
