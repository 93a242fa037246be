"""Owns the pictures of a part of a season, each with its words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.effort.slices import instants
from analysis.errors import UsageError
from analysis.log.wording.spelling import nearest
from analysis.review.course.section import fished_depths, thermometers
from analysis.show.base.html import Fragment
from analysis.show.base.pictures import picture
from analysis.show.course import pictured
from analysis.show.season import alt_text, figures
from analysis.water.table import water_table
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part
from analysis.workbook.parts import hour_counts
from analysis.workbook.spelled import Spelled


@dataclass(frozen=True, repr=False)
class Plots(Spelled):
    """Pictures of a part of a season, in the boat's units; each says its finding in words too.

    Examples
    --------
    >>> import rodhours
    >>> season = rodhours.open(rodhours.example())
    >>> "strikes and rod-hours by hour" in season.plot.by_hour().html.casefold()
    True
    """

    _counted: Counted
    _part: Part
    _bands: Callable[[], pd.DataFrame]
    _areas: Callable[[], pd.DataFrame]

    def __repr__(self) -> str:
        """Name the pictures."""
        return "Pictures: .rate_by_band()  .section()  .by_hour()  .areas()  .trip(id)"

    def rate_by_band(self) -> Fragment:
        """Draw the rate at equal conditions of each band, its interval and its rod-hours.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> "no band was fished enough to be judged" in season.plot.rate_by_band().html
        True
        """
        bands, units = self._bands(), self._counted.units
        words = alt_text.rate_by_band(bands, units, period="season")
        height = max(2.4, 1.2 + 0.32 * len(bands[bands["period"] == "season"]))
        return picture(
            figures.rate_by_band, bands, units, period="season", height_in=height, told=words
        )

    def by_hour(self) -> Fragment:
        """Draw strikes per rod-hour as counted by hour of the day, the rod-hours behind.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> "<figure>" in season.plot.by_hour().html
        True
        """
        hours = hour_counts(self._counted, self._part)
        return pictured.by_hour(hours)

    def section(self) -> Fragment:
        """Draw the water's temperature by date and depth, the rods and every strike in it.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> "<figure>" in season.plot.section().html
        True
        """
        counted, part = self._counted, self._part
        slices, strikes = counted.hourly.table.loc[part.slices], counted.strikes
        placed = strikes.loc[part.strikes & (strikes["row"] >= 0).to_numpy()]
        logs = [season.log for season in counted.seasons]
        waters = [season.water for season in counted.seasons]
        names = np.array([water.name for water in waters], dtype=object)
        deepest_m = float(np.nanmax(counted.exposure.depth_m, initial=0.0))
        return pictured.section(
            fished_depths(slices, counted.seasons),
            placed.assign(water=names[counted.trips["log_number"].to_numpy()[placed["key"]]]),
            water_table(waters, logs, deepest_m),
            thermometers(counted.seasons),
            pd.DataFrame(),  # the season's own answer tells the best water, a part does not
            counted.units,
        )

    def areas(self) -> Fragment:
        """Draw each area's rate at equal conditions against that of the area fished most.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> "there is nothing to compare" in season.plot.areas().html
        True
        """
        return pictured.areas(self._areas())

    def trip(self, trip: str) -> Fragment:
        """Draw one trip as a strip: each rod's depth along the hours, and its strikes.

        Raises
        ------
        UsageError
            For a trip that the season does not have.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> "<figure>" in season.plot.trip("1").html
        True
        >>> season.plot.trip("2")
        Traceback (most recent call last):
        analysis.errors.UsageError: trip '2': it has no rod-hours here. season.trips lists them all.
        """
        table = self._counted.hourly.table
        slices = table[(table["trip"] == trip).to_numpy() & self._part.slices]
        if slices.empty:
            like = nearest(str(trip), self._counted.trips["trip"].astype(str))
            hint = f" Did you mean {like!r}?" if like else ""
            msg = f"trip {trip!r}: it has no rod-hours here.{hint} season.trips lists them all."
            raise UsageError(msg)
        strikes = self._counted.strikes
        strikes = strikes[(strikes["trip"] == trip).to_numpy() & self._part.strikes]
        zone = self._counted.seasons[int(slices["log_number"].iloc[0])].log.boat.time_zone
        water = self._water(slices)
        return pictured.trip_strip(slices, strikes, water, self._counted.units, zone, heading=trip)

    def _water(self, slices: pd.DataFrame) -> pd.DataFrame:
        """Water temperature over a trip's hours, from the surface to below its lures."""
        season = self._counted.seasons[int(slices["log_number"].iloc[0])]
        times = pd.date_range(slices["start"].min(), slices["end"].max(), periods=24)
        depth_m = np.linspace(0.0, 1.1 * float(slices["depth_m"].max()), 30)
        ids = np.full(len(times), slices["trip"].iloc[0], dtype=object)
        wanted = np.broadcast_to(depth_m[:, None], (len(depth_m), len(times)))
        found = season.temperature_at(ids, instants(times), wanted)
        return pd.DataFrame(found, index=depth_m, columns=times)
