"""Owns the unknown amounts by which the waters of some boats differ from the likeliest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from analysis.water.ways import Moving, Ways

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Times = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class LatentWater:
    """Amounts of the main ways of all waters that some boats fished, in one vector.

    Before any strike they are independent and standard normal.

    Attributes
    ----------
    waters : tuple of Ways
        Each water once.
    of_log : tuple of (int or None)
        Water of each season folder, by its number; None where its temperature is not known.
    mean : (ways,) array
        Likeliest amounts.
    draws : (draws, ways) array
        Amounts that strikes and thermometers leave likely where fish follow a temperature, in no
        order; none before strikes.
    usual : (draws, ways) array
        Amounts that thermometers alone leave likely: all that is known where fish keep to a depth.
    followed : float
        Chance that fish follow a temperature rather than keep to a depth.
    """

    waters: tuple[Ways, ...] = ()
    of_log: tuple[int | None, ...] = (None,)
    mean: Array = field(default_factory=lambda: np.zeros(0))
    draws: Array = field(default_factory=lambda: np.zeros((0, 0)))
    usual: Array = field(default_factory=lambda: np.zeros((0, 0)))
    followed: float = 1.0

    @classmethod
    def of(cls, ways: Ways | None) -> LatentWater:
        """Return that of one season folder."""
        if ways is None or not ways.count:
            return cls()
        return cls(waters=(ways,), of_log=(0,), mean=np.zeros(ways.count))

    @classmethod
    def joined(cls, parts: Sequence[LatentWater]) -> LatentWater:
        """Put those of several boats together before any strike; a shared water counts once."""
        waters = tuple(dict.fromkeys(ways for part in parts for ways in part.waters))
        place = {ways: number for number, ways in enumerate(waters)}
        of_log = [
            None if own is None else place[part.waters[own]]
            for part in parts
            for own in part.of_log
        ]
        return cls(
            waters=waters,
            of_log=tuple(of_log),
            mean=np.zeros(sum(ways.count for ways in waters)),
        )

    @property
    def count(self) -> int:
        """Number of ways of all waters together."""
        return len(self.mean)

    @property
    def settled(self) -> bool:
        """Whether the strikes have been asked, or there is nothing to ask of them."""
        return not self.count or len(self.draws) > 0

    def told(self, mean: Array, draws: Array, usual: Array, followed: float) -> LatentWater:
        """Return what is known after the strikes."""
        return replace(self, mean=mean, draws=draws, usual=usual, followed=followed)

    def drawn(self, count: int, *, warm: bool) -> Array:
        """Amounts for some refits (count, ways): the likeliest for all where none are drawn.

        ``warm`` is whether the model that is fitted has the temperature: by one that has not,
        strikes tell nothing of the water.
        """
        draws = self.draws if warm else self.usual
        if not len(draws):
            return np.tile(self.mean, (count, 1))
        return draws[np.arange(count) % len(draws)]

    def ways_of(self, log: int) -> tuple[Ways, slice] | None:
        """Return the ways of a season folder's water, and their place among the amounts."""
        number = self.of_log[log]
        return None if number is None else (self.waters[number], self._own(number))

    def _own(self, number: int) -> slice:
        """Place of a water's amounts."""
        first = sum(ways.count for ways in self.waters[:number])
        return slice(first, first + self.waters[number].count)

    def at(self, log: NDArray[np.integer], time: Times) -> MovingWaters:
        """Look at the waters of some season folders at some times (n,)."""
        water = np.array([-1 if own is None else own for own in self.of_log])[log]
        parts = []
        for number, ways in enumerate(self.waters):
            rows = np.flatnonzero(water == number)
            parts.append((rows, self._own(number), ways.at(time[rows])))
        return MovingWaters(parts=tuple(parts), rows=len(time), ways=self.count)


@dataclass(frozen=True, kw_only=True)
class MovingWaters:
    """The waters of some entries at their times, to be moved.

    Attributes
    ----------
    parts : tuple
        Of each water: the entries in it, its place among the amounts, and the water.
    rows, ways : int
        Number of entries, and of amounts.
    """

    parts: tuple[tuple[Index, slice, Moving], ...]
    rows: int
    ways: int

    def take(self, chosen: Index) -> MovingWaters:
        """Return those of some entries, each as often as it is chosen."""
        parts = []
        for rows, own, moving in self.parts:
            place = np.full(self.rows, -1)
            place[rows] = np.arange(len(rows))
            here = place[chosen]
            kept = np.flatnonzero(here >= 0)
            parts.append((kept, own, replace(moving, index=moving.index[here[kept]])))
        return replace(self, parts=tuple(parts), rows=len(chosen))

    def temp_c(self, depth_m: Array, amount: Array, settled_c: Array) -> Array:
        """Temperature at some depths (..., entries).

        A boat whose thermometers settle its water has no ways to move it: there the temperature is
        ``settled_c`` (..., entries), as it was told.
        """
        out = settled_c.copy()
        for rows, own, moving in self.parts:
            out[..., rows] = moving.temp_c(depth_m[..., rows], amount[own])
        return out

    def slopes(self, depth_m: Array, amount: Array, settled_c: Array) -> tuple[Array, Array]:
        """Temperature (entries,), as `temp_c` has it, and its change with each amount.

        The second array is (entries, ways).
        """
        temp, slope = settled_c.copy(), np.zeros((self.rows, self.ways))
        for rows, own, moving in self.parts:
            temp[rows], slope[rows, own] = moving.slopes(depth_m[rows], amount[own])
        return temp, slope
