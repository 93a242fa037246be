"""Rows alike in every covariate, collapsed to one: exact for counts, and much smaller."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

Array = NDArray[np.float64]
Index = NDArray[np.intp]

DEPTH_SHARE = 0.25
"""Width of a depth bin in standard deviations of a slice's depth. Rounding adds 1/192 to its
variance, half a percent (a uniform error's variance is its width squared over 12)."""
TEMPERATURE_WIDTH_C = 0.1
"""Width of a temperature bin: probes are read to a tenth of a degree at best."""
DENSE = 4
"""Codes that span at most this many numbers a row are counted rather than sorted."""


@dataclass(frozen=True, kw_only=True)
class Cells:
    """Which rows are alike.

    Attributes
    ----------
    row : (cells,) int array
        The first row of each cell, to take covariates from.
    cell : (rows,) int array
        Cell of each row.
    """

    row: Index
    cell: Index

    def sum(self, values: NDArray[np.generic]) -> Array:
        """Sum of some values of the rows of each cell, such as hours or strikes."""
        return np.asarray(np.bincount(self.cell, weights=values, minlength=len(self.row)))


def band_of(depth_m: NDArray[np.floating], edges_m: NDArray[np.floating]) -> Index:
    """Return the depth band that each depth is in: its upper edge is in it, its lower is not.

    Parameters
    ----------
    depth_m : (n,) array
        NaN where unknown.
    edges_m : (bands + 1,) array
        Rising, from the surface down.

    Returns
    -------
    (n,) int array
        -1 for a depth that is unknown or in no band.

    Examples
    --------
    >>> band_of(np.array([0.0, 2.9, 3.0, 9.0, np.nan]), np.array([0.0, 3.0, 6.0, 9.0]))
    array([ 0,  0,  1, -1, -1])
    """
    # A hair of room, so that 40 ft counted as 39.999999 ft is where it reads.
    hair = 1e-9 * (edges_m[-1] - edges_m[0])
    band = np.searchsorted(edges_m - hair, depth_m, side="right") - 1
    inside = np.isfinite(depth_m) & (band < len(edges_m) - 1)
    return np.asarray(np.where(inside, band, -1), dtype=np.intp)


def binned(values: Array, width: float) -> NDArray[np.int64]:
    """Numbers of bins of a width; missing values share a bin of their own.

    Parameters
    ----------
    values : (rows,) array
    width : float
        0 keeps every distinct value apart.

    Returns
    -------
    (rows,) int array
        From 0 on.
    """
    known = np.isfinite(values)
    codes = np.zeros(len(values), dtype=np.int64)
    if not known.any():
        return codes
    if width > 0:
        rounded = np.floor(values[known] / width).astype(np.int64)
        codes[known] = 1 + rounded - rounded.min()
    else:
        codes[known] = 1 + np.unique(values[known], return_inverse=True)[1]
    return codes


def summing(place: Index, places: int, weight: Array | None = None) -> csr_array:
    """Return the matrix that, times an array, sums its rows by their place.

    Parameters
    ----------
    place : (rows,) int array
    places : int
    weight : (rows,) array, optional
        Of each row; 1 if absent.

    Returns
    -------
    (places, rows) sparse array

    Examples
    --------
    >>> summing(np.array([0, 2, 0]), 3) @ np.array([[1.0], [2.0], [3.0]])
    array([[4.],
           [0.],
           [2.]])
    """
    rows = np.arange(len(place))
    each = np.ones(len(place)) if weight is None else weight
    return csr_array((each, (place, rows)), shape=(places, len(place)))


def collapse(*codes: NDArray[np.integer]) -> Cells:
    """Collapse rows that agree in every code.

    A Poisson count with a given log rate an hour depends on a cell's rows only through their
    summed strikes and hours, so collapsing rows of equal covariates and stratum is exact.

    Parameters
    ----------
    *codes : (rows,) int arrays
        Not negative, the stratum among them.

    Returns
    -------
    Cells
        In the order of the codes, the first one varying slowest.

    Examples
    --------
    >>> cells = collapse(np.array([0, 0, 1, 0]), np.array([2, 3, 2, 2]))
    >>> cells.sum(np.array([1.0, 1.0, 1.0, 0.5]))
    array([1.5, 1. , 1. ])
    """
    key = np.zeros(len(codes[0]), dtype=np.int64)
    for code in codes:
        size = int(code.max(initial=0)) + 1
        if size == 1:  # a column that says one thing tells no rows apart
            continue
        # near the end of 64 bits: number what is there anew
        if int(key.max(initial=0)) >= np.iinfo(np.int64).max // size - 1:
            key = np.unique(key, return_inverse=True)[1].astype(np.int64)
        key *= size
        key += code
    if int(key.max(initial=0)) > DENSE * len(key):
        _, row, cell = np.unique(key, return_index=True, return_inverse=True)
        return Cells(row=row.astype(np.intp), cell=cell.astype(np.intp))
    number = np.cumsum(np.bincount(key) > 0) - 1
    cell = number[key]
    row = np.empty(int(cell.max(initial=-1)) + 1, dtype=np.intp)
    row[cell[::-1]] = np.arange(len(key) - 1, -1, -1)
    return Cells(row=row, cell=cell)
