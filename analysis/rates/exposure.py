"""Slices joined with depth and temperature: the exposure every model is fitted to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.model import RateModel

Array = NDArray[np.float64]
Index = NDArray[np.intp]


Temperatures = Callable[[Index, Array], Array]


@dataclass(frozen=True, kw_only=True)
class Exposure:
    """Rod x time slices with depth, temperature and strikes, and what is uncertain of the depth.

    Attributes
    ----------
    table : DataFrame
        One row a slice: the columns of ``exposure.parquet``, and ``day`` of the season.
    trip : (slices,) int array
        Trip of each slice, unique over boats and seasons.
    start, end : (slices,) int arrays
        Microseconds since 1970, UTC.
    strike_row, strike_time : (strikes,) int arrays
        Slice and moment of each placed strike.
    loadings : (slices, errors) array
        Change of log depth for one standard deviation of each error that the sets of a gear and
        setting share.
    set_error_sd : (slices,) array
        Standard deviation of log depth that is each set's own.
    temperature : callable
        ``temperature(rows, depth_m)``: water temperature of slices at depths, NaN where unknown.
    """

    table: pd.DataFrame
    trip: Index
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    strike_row: Index
    strike_time: NDArray[np.int64]
    loadings: Array
    set_error_sd: Array
    temperature: Temperatures

    def values(
        self, model: RateModel, row: Index, log_shift: Array | float = 0.0
    ) -> dict[str, NDArray[np.generic]]:
        """Values of every term of a model for some slices, their log depth shifted."""
        depth = self.table["depth_m"].to_numpy()[row] * np.exp(log_shift)
        found: dict[str, NDArray[np.generic]] = {}
        for name in model.names:
            if name == "depth_m":
                found[name] = depth
            elif name == "lure_temp_c":
                found[name] = self.temperature(row, depth)
            elif name == "drift":
                found[name] = np.column_stack([depth, self.table["day"].to_numpy()[row]])
            else:
                found[name] = self.table[name].to_numpy()[row]
        return found

    def complete(self, model: RateModel) -> NDArray[np.bool_]:
        """Slices for which every covariate of a model is known."""
        known = np.isfinite(self.table["depth_m"].to_numpy())
        if "lure_temp_c" in model.names:
            known = known & np.isfinite(self.table["lure_temp_c"].to_numpy())
        return known
