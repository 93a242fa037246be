"""Whether a week's tables, put together, give away one boat: the check before they are told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import permutations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Array = NDArray[np.float64]


def gives_away(told: Array, boats: Sequence[str]) -> bool:
    """Tell whether a boat can work out something of one other boat alone.

    Every figure told is a sum over atoms: what one boat did in one band with one kind of gear and
    one lure. A boat knows its own atoms, and is taken to know which atoms of the others are
    nought: who tows what, and how deep, is seen on the water. It can work out something of one
    other boat if some sum of multiples of the figures holds atoms of that boat and of no further
    one. That is so where leaving out that boat's atoms lowers the rank of what is told (linear
    algebra; statistical offices audit linked tables so, from memory).

    Parameters
    ----------
    told : (figures, atoms) array
        1 where an atom is part of a figure, else 0.
    boats : (atoms,) sequence of str

    Returns
    -------
    bool

    Examples
    --------
    >>> total, deep = [1, 1, 1, 1], [1, 1, 1, 0]
    >>> gives_away(np.array([total]), ["A", "B", "C", "D"])
    False
    >>> gives_away(np.array([total, deep]), ["A", "B", "C", "D"])
    True
    """
    of = np.asarray(boats, dtype=object)
    for knows, other in permutations(sorted(set(boats)), 2):
        unknown = of != knows
        if _rank(told[:, unknown]) > _rank(told[:, unknown & (of != other)]):
            return True
    return False


def _rank(matrix: Array) -> int:
    return int(np.linalg.matrix_rank(matrix)) if matrix.size else 0


def parts_told(atoms: pd.DataFrame, tables: dict[str, Iterable[Sequence[object]]]) -> Array:
    """Return which atoms are part of which figure.

    Parameters
    ----------
    atoms : DataFrame
        One row an atom, a column for each table.
    tables : dict
        Column -> its groups of values, each told as one figure. The total is always told.

    Returns
    -------
    (figures, atoms) array
    """
    rows: list[Array] = [np.ones(len(atoms))]
    for column, groups in tables.items():
        rows += [atoms[column].isin(list(group)).to_numpy().astype(float) for group in groups]
    return np.array(rows)
