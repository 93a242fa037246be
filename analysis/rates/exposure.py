"""What every model is fitted to: slices with depth, temperature, strikes and their doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.linalg import block_diag

from analysis.errors import FitError
from analysis.rates.latent_water import LatentWater, MovingWaters
from analysis.rates.shared_shifts import SharedShifts
from analysis.rates.terms import RateModel
from analysis.stats.cells import binned, collapse

Array = NDArray[np.float64]
Index = NDArray[np.intp]

NUMBERS = ("hours", "strikes", "depth_m", "lure_temp_c", "leader_length_m", "speed_mps", "day")
"""Columns of the table that must hold numbers."""
SHIFTS = np.linspace(-0.6, 0.6, 13)
"""Shifts of log depth at which the temperature of each slice is laid down."""

HOUR_US = 3.6e9
LEAST_DEPTH_SHARE = 0.5
"""Share of a lure's depth from which layers that lie deeper may bring its water at the most."""


@dataclass(frozen=True, kw_only=True)
class SharedErrors:
    """Which of the fit's shared depth errors are one gear's, and what of that gear they are.

    The gear's own errors, one for each of its uncertain parameters, are more than matter where its
    rods ran; only their main modes are unknowns of a fit.

    Attributes
    ----------
    first : int
        Column of its first mode among the exposure's ``loadings``.
    turn : (modes, errors) array
        Orthonormal rows: a mode is ``turn`` times the gear's own errors.
    """

    first: int
    turn: Array

    def own(self, modes: Array, rng: np.random.Generator) -> Array:
        """Draw the gear's own errors (draws, errors) given draws of all shared ones.

        What the kept modes leave open is as it was before any strike.
        """
        count, errors = self.turn.shape
        free = rng.standard_normal((len(modes), errors))
        mine = modes[:, self.first : self.first + count]
        return np.asarray(free + (mine - free @ self.turn.T) @ self.turn)


@dataclass(frozen=True, kw_only=True)
class Exposure:
    """Rod x time slices with depth, temperature and strikes, and what is uncertain of the depth.

    Attributes
    ----------
    table : DataFrame
        One row a slice: the columns of ``exposure.parquet`` and some more (see ``join``).
    trip : (slices,) int array
        Trip of each slice, unique over boats.
    start, end : (slices,) int arrays
        Microseconds since 1970, UTC.
    strike_row, strike_time : (strikes,) int arrays
        Slice and moment of each placed strike.
    loadings : (slices, errors) array
        Slope of log depth to one standard deviation of each error that the sets of a gear and
        setting share.
    bends : (slices, own errors) array
        Its second difference to each of the gears' own errors, in the order of ``shared``.
    set_error_sd : (slices,) array
        Standard deviation of log depth that is each set's own.
    layer_doubt : (slices,) array
        Standard deviation of the height of the water's layers, as a share of the lure's depth:
        the temperature there is that of as much deeper or shallower water.
    layer_blocks : tuple of square arrays
        Correlation of that height's error between trips, in blocks along the diagonal: trips of
        two blocks share none of it.
    temperature_c : (slices, shifts) array
        Water temperature at the modelled depth times ``exp(SHIFTS)``; NaN in a whole row where
        the temperature at the modelled depth is unknown.
    shared : mapping of (int, str) to SharedErrors
        By number of the season folder and gear: whose errors the ``loadings`` are.
    latent : LatentWater
        Main ways in which the whole water may differ from the likeliest; ``temperature_c`` is of
        the water moved by ``latent.mean``. ``layer_doubt`` is of what these ways leave open.
    water_unseen : bool
        Whether some boat's water was measured at its surface alone.
    """

    table: pd.DataFrame
    trip: Index
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    strike_row: Index
    strike_time: NDArray[np.int64]
    loadings: Array
    bends: Array
    set_error_sd: Array
    layer_doubt: Array
    layer_blocks: tuple[Array, ...]
    temperature_c: Array
    shared: Mapping[tuple[int, str], SharedErrors] = field(default_factory=dict)
    latent: LatentWater = field(default_factory=LatentWater)
    water_unseen: bool = False

    def __post_init__(self) -> None:
        """Refuse what no fit can use: text for numbers, and hours that are none or without end.

        Raises
        ------
        FitError
            Naming the column or row and the remedy.
        """
        for name in NUMBERS:
            if name in self.table and not pd.api.types.is_numeric_dtype(self.table[name]):
                msg = f"column {name!r} holds text. Set rows aside whose {name} is not a number."
                raise FitError(msg)
        hours = self.table["hours"].to_numpy(dtype=float)
        bad = np.flatnonzero(~(np.isfinite(hours) & (hours > 0)))
        if len(bad):
            row = int(bad[0])
            msg = (
                f"row {row} of the exposure has {hours[row]:g} rod-hours, where only a positive "
                "finite number can be. Set the row aside, or correct its times."
            )
            raise FitError(msg)

    @property
    def layer_correlation(self) -> Array:
        """Correlation of the layers' height's error between all trips (trips, trips)."""
        return np.asarray(block_diag(np.zeros((0, 0)), *self.layer_blocks))  # of no trip, too

    @cached_property
    def depth_m(self) -> Array:
        """Modelled depth of each slice (slices,)."""
        return self.table["depth_m"].to_numpy(dtype=float)

    @cached_property
    def shifts(self) -> SharedShifts:
        """How the depth of each slice follows the shared errors."""
        turn = np.zeros((self.loadings.shape[1], self.bends.shape[1]))
        column = 0
        for errors in self.shared.values():
            modes, own = errors.turn.shape
            turn[errors.first : errors.first + modes, column : column + own] = errors.turn
            column += own
        return SharedShifts(loadings=self.loadings, bends=self.bends, turn=turn)

    def values(
        self,
        model: RateModel,
        row: Index,
        log_shift: Array | float = 0.0,
        layers: Array | float = 0.0,
        amount: Array | None = None,
    ) -> dict[str, NDArray[np.generic]]:
        """Values of every term of a model for some slices, their log depth shifted.

        ``layers`` is how much deeper the water's layers lay than the casts put them, in standard
        deviations of that: the water at a lure is then that of a shallower depth. ``amount`` moves
        the whole water as :meth:`in_water` does, with less work where it is asked but once.
        """
        found: dict[str, NDArray[np.generic]] = {}
        for name in model.names:
            if name == "depth_m":
                found[name] = self.depth_m[row] * np.exp(log_shift)
            elif name == "lure_temp_c":
                share = np.maximum(1.0 - layers * self.layer_doubt[row], LEAST_DEPTH_SHARE)
                shallower = np.log(share)
                found[name] = self._shifted_temperature(row, log_shift + shallower, amount)
            elif name == "drift":
                depth = self.depth_m[row] * np.exp(log_shift)
                found[name] = np.column_stack([depth, self.table["day"].to_numpy()[row]])
            elif isinstance(self.table[name].dtype, pd.CategoricalDtype):
                found[name] = self.table[name].cat.codes.to_numpy()[row]
            else:
                found[name] = self.table[name].to_numpy()[row]
        return found

    def tackle(self, model: RateModel, row: Index) -> tuple[Array, Index]:
        """Return the design of each tackle that some slices tow, and which of them each tows.

        Parameters
        ----------
        model : RateModel
        row : (rows,) int array

        Returns
        -------
        design : (tackles, columns) array
            Columns of ``model.tackle``.
        towed : (rows,) int array
        """
        values = self.values(model.tackle, row)
        codes = [binned(value.astype(float), 0.0) for value in values.values()]
        cells = collapse(np.zeros(len(row), dtype=np.int64), *codes)
        once = {name: value[cells.row] for name, value in values.items()}
        return model.tackle.design(once, len(cells.row)), cells.cell

    def _shifted_temperature(
        self, row: Index, log_shift: Array | float, amount: Array | None
    ) -> Array:
        """Interpolate the temperatures laid down along each slice's depth."""
        step = SHIFTS[1] - SHIFTS[0]
        place = np.clip((np.asarray(log_shift) - SHIFTS[0]) / step, 0.0, len(SHIFTS) - 1.001)
        place = np.broadcast_to(place, row.shape)
        below = place.astype(int)
        share = place - below
        above, beneath = self.temperature_c[row, below], self.temperature_c[row, below + 1]
        if amount is not None and self.latent.count:
            depth = self.depth_m[row] * np.exp(SHIFTS)[np.stack([below, below + 1])]
            settled_c = np.stack([above, beneath])
            above, beneath = self.moving_water.take(row).temp_c(depth, amount, settled_c)
        return np.asarray((1 - share) * above + share * beneath)

    def in_water(self, amount: Array, row: Index | None = None) -> Exposure:
        """Return the slices in the water moved by some amounts (ways,) of ``latent``.

        Where ``row`` is given, only these slices' temperatures are told anew.
        """
        if not self.latent.count:
            return self
        told = np.isfinite(self.temperature_c[:, 0])
        if row is not None:
            wanted = np.zeros(len(told), dtype=bool)
            wanted[row] = True
            told &= wanted
        here = np.flatnonzero(told)
        depth = self.depth_m[here] * np.exp(SHIFTS)[:, None]
        temperature = self.temperature_c.copy()
        settled_c = temperature[here].T
        temperature[here] = self.moving_water.take(here).temp_c(depth, amount, settled_c).T
        return replace(self, temperature_c=temperature)

    @cached_property
    def moving_water(self) -> MovingWaters:
        """The waters at every slice's time."""
        log = self.table["log_number"].to_numpy()
        return self.latent.at(log, (self.start + self.end) // 2)

    def complete(self, model: RateModel) -> NDArray[np.bool_]:
        """Slices for which every covariate of a model is known."""
        known = np.isfinite(self.depth_m)
        if model.warm:
            known = known & np.isfinite(self.temperature_c[:, 0])
        return np.asarray(known)

    def with_strikes(self, chosen: NDArray[np.bool_]) -> Exposure:
        """Return the same effort with some of the strikes, such as those of one species."""
        row = self.strike_row[chosen]
        counted = np.bincount(row, minlength=len(self.table))
        return replace(
            self,
            table=self.table.assign(strikes=counted),
            strike_row=row,
            strike_time=self.strike_time[chosen],
        )

    def of_trips(self, chosen: NDArray[np.bool_]) -> Exposure:
        """Only the slices, and their strikes, of some trips (one flag a slice)."""
        place = np.cumsum(chosen) - 1
        struck = chosen[self.strike_row]
        return Exposure(
            table=self.table.loc[chosen].reset_index(drop=True),
            trip=self.trip[chosen],
            start=self.start[chosen],
            end=self.end[chosen],
            strike_row=place[self.strike_row[struck]],
            strike_time=self.strike_time[struck],
            loadings=self.loadings[chosen],
            bends=self.bends[chosen],
            set_error_sd=self.set_error_sd[chosen],
            layer_doubt=self.layer_doubt[chosen],
            layer_blocks=self.layer_blocks,
            temperature_c=self.temperature_c[chosen],
            shared=self.shared,
            latent=self.latent,
            water_unseen=self.water_unseen,
        )


def trip_spans(
    trip: Index, start: NDArray[np.int64], end: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the first start and the last end of each trip's slices, (trips,) each."""
    trips = int(trip.max(initial=-1)) + 1
    first = np.full(trips, np.iinfo(np.int64).max)
    last = np.full(trips, np.iinfo(np.int64).min)
    np.minimum.at(first, trip, start)
    np.maximum.at(last, trip, end)
    return first, last


def hours_of(first: NDArray[np.int64], last: NDArray[np.int64]) -> Index:
    """Return how many equal parts of about an hour each trip has, from its first to its last."""
    return np.maximum(np.round((last - first) / HOUR_US), 1).astype(np.intp)


def covered(
    trip: Index, start: NDArray[np.int64], end: NDArray[np.int64], trips: int
) -> NDArray[np.int64]:
    """Return how long each trip had at least one of some slices (trips,), in their unit of time.

    Examples
    --------
    Of three slices two overlap by 3, and the third begins 4 later:

    >>> start, end = np.array([0, 2, 9]), np.array([5, 5, 12])
    >>> covered(np.zeros(3, dtype=int), start, end, 1)
    array([8])
    """
    order = np.lexsort((start, trip))
    trip, start, end = trip[order], start[order], end[order]
    span = int(end.max(initial=0) - start.min(initial=0)) + 1
    reached = np.maximum.accumulate(end + trip * span) - trip * span  # a trip at a time
    before = np.where(np.diff(trip, prepend=-1) != 0, start, np.roll(reached, 1))
    found = np.zeros(trips, dtype=np.int64)
    np.add.at(found, trip, np.maximum(reached - np.maximum(start, before), 0))
    return found
