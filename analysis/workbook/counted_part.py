"""Owns what a season or a part of it holds as counted: its tables, its names, and how it parts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from analysis.errors import UsageError
from analysis.show.workbook import words
from analysis.show.workbook.cards import Card
from analysis.units import Units
from analysis.workbook.comparison import Comparison, compare_parts
from analysis.workbook.contrasts import Breakdown, breakdown, names_of, part_and_rest
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part, narrowed
from analysis.workbook.parts import part_rate
from analysis.workbook.source import Source
from analysis.workbook.spelled import Spelled


class CountedPart(Spelled):
    """A season or a part of one, as counted; `analysis.workbook.Season` judges it, too."""

    def __init__(self, source: Source, part: Part | None = None):
        self._source = source
        self._part = Part.whole(source.counted) if part is None else part

    @property
    def units(self) -> Units:
        """The first boat's units, in which all is told; tables are in SI."""
        return self._source.counted.units

    @property
    def boats(self) -> list[str]:
        """Names of the boats."""
        return self._source.counted.boats

    @property
    def year(self) -> int:
        """The season's year."""
        return self._source.counted.year

    @property
    def name(self) -> str:
        """The boats, the year and the part that is looked at."""
        return words.subject(self.boats, self.year, self._part.said)

    @property
    def looked_at(self) -> str:
        """The part that is looked at, in words."""
        return words.looked_at(self._part.said)

    @property
    def table(self) -> pd.DataFrame:
        """Rod x time slices, cut at every full hour: what was fished, how deep, how long."""
        counted = self._source.counted
        table = counted.hourly.table
        row = counted.strikes["row"].to_numpy()
        struck = row[self._part.strikes & (row >= 0)]
        landed = (counted.strikes["outcome"] == "landed").to_numpy()
        boxed = row[self._part.strikes & (row >= 0) & landed]
        found = (
            table.assign(
                strikes=np.bincount(struck, minlength=len(table)),
                landed=np.bincount(boxed, minlength=len(table)),
            )
            .loc[self._part.slices]
            .drop(columns=["key"])
        )
        return found.reset_index(drop=True)

    @property
    def strikes(self) -> pd.DataFrame:
        """Every strike with area, hour, species, depth and temperature, and file and line."""
        found = self._source.counted.strikes.loc[self._part.strikes]
        return found.drop(columns=["row", "key"]).reset_index(drop=True)

    @property
    def trips(self) -> pd.DataFrame:
        """The season's trips, a row each, with weekday, moon and any columns of `join`."""
        return self._source.counted.trips.drop(columns="log_number")

    def names(self, what: str) -> list[str]:
        """Return the names of one kind that `where` takes, those with most rod-hours first.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).names("gear")
        ['rigger', 'diver']
        """
        return names_of(self._source.counted, what)

    def each(self, what: str) -> Breakdown:
        """Count the part by every name of one kind, such as every lure or day of the week.

        Parameters
        ----------
        what : str
            ``boat``, ``month``, ``week``, ``weekday``, ``moon``, ``area``, ``species``,
            ``outcome``, ``gear``, ``setting`` or ``lure``.

        Returns
        -------
        Breakdown

        Raises
        ------
        UsageError
            For any other kind.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).each("gear").table[["gear", "strikes"]]
             gear  strikes
        0  rigger        0
        1   diver        1
        """
        source = self._source
        return breakdown(source.counted, self._part, what, self.looked_at, source.options.seed)

    def against_rest(self, **wishes: Any) -> Comparison | Card:
        """Compare a part with all the rest, such as Saturdays with the other days.

        Where both fished at the same time they are compared at those moments, as in `compare`.

        Parameters
        ----------
        **wishes
            As in `where`. Beside rods, days or hours, ``species`` and ``outcome`` narrow both.

        Returns
        -------
        Comparison or Card
            A card that says why where one side was not fished.

        Raises
        ------
        UsageError
            For a wish that the season cannot grant.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).against_rest(weekday="Sunday")
        Sundays against the rest
          The log cannot tell: no rod fished in this part: Sundays.
        """
        if all(wish is None for wish in wishes.values()):
            msg = 'against_rest() compares nothing. Remedy: say what, as in weekday="Saturday".'
            raise UsageError(msg)
        one, rest = part_and_rest(self._source.counted, self._part, wishes)
        name = words.looked_at({k: v for k, v in one.said.items() if k in wishes})
        return self._compared(
            (name, self._source.counted, one), (words.REST, self._source.counted, rest)
        )

    def versus(
        self, what: str, first: str | None = None, second: str | None = None
    ) -> Comparison | Card:
        """Compare two names of one kind, such as two lures.

        Parameters
        ----------
        what : str
            A kind, as in `each`.
        first, second : str, optional
            By default those with most rod-hours in this part; species by strikes.

        Returns
        -------
        Comparison or Card
            A card that says why where there are not two of them.

        Raises
        ------
        UsageError
            For a kind or a name that the season does not have.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).versus("gear").names
        ('rigger', 'diver')
        """
        found = self.each(what)
        by_weight = found.table.sort_values(
            ["rod_hours", "strikes"], ascending=False, kind="stable"
        )
        chosen = [name for name in (first, second) if name is not None]
        chosen += [name for name in by_weight[what] if name not in chosen][: 2 - len(chosen)]
        if len(chosen) < 2:
            return words.cannot_compare(f"{self.looked_at}, by {what}", words.NOT_TWO)
        counted = self._source.counted
        parts = [narrowed(counted, self._part, {what: name}) for name in chosen]
        one, two = ((str(part.said[what]), counted, part) for part in parts)
        return self._compared(one, two)

    def _compared(
        self, first: tuple[str, Counted, Part], second: tuple[str, Counted, Part]
    ) -> Comparison | Card:
        """Compare two parts, or say which of them was not fished."""
        for name, counted, part in (first, second):
            if part_rate(counted, part).hours <= 0:
                return words.cannot_compare(
                    f"{first[0]} against {second[0]}", words.not_fished(name)
                )
        return compare_parts(first, second, self._source.options.seed)
