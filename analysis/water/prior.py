"""Owns what is known of a water before any thermometer: how its layers and surface move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from analysis.water.measured import DAY_US
from analysis.water.profile import BUMP_AT, DENSEST_C

Array = NDArray[np.float64]

MIDSUMMER = 196.0
"""Day of the year about which courses are written down: the middle of the boating season."""
SEA_KG_M3 = 1010.0
"""Water denser than this is salt and has no temperature of greatest density above freezing."""
SHALLOW_M = 15.0
"""A water no deeper than this may be mixed to its bottom all summer (from memory)."""

MISFIT = 0.02
"""Part of surface less deep temperature by which one day's form usually differs from the season's,
one standard deviation in the middle of the fall (assumed: a thickness that changes by a tenth)."""

FORM_SHARE = 0.03
"""Standard deviation of each correction of the form; overlapping, they change the share of the fall
by about 0.07 (assumed: how far published self-similar profiles lie apart)."""


@dataclass(frozen=True, kw_only=True)
class Wander:
    """Sizes of the movements of a course with date, each a standard deviation.

    Attributes
    ----------
    level, slope, bend : float
        Of the usual year: its height, its change in 100 days, and what bends it.
    year_level, year_slope, year_bend : float
        The same for one year against the usual one.
    lasting, passing : float
        Displacements that last some days, and some hours.
    bend_days, lasting_days, passing_days : float
        How long each of these lasts.
    """

    level: float
    slope: float
    bend: float
    year_level: float
    year_slope: float
    year_bend: float
    lasting: float
    passing: float
    bend_days: float
    lasting_days: float
    passing_days: float

    def covariance(self, one: Array, other: Array, scale: float = 1.0) -> Array:
        """Covariance of the course at two sets of days since 1970 (one, other).

        ``scale`` multiplies the displacements that last days and hours.
        """
        year, other_year = season_of(one), season_of(other)
        place, other_place = day_of_year(one) - MIDSUMMER, day_of_year(other) - MIDSUMMER
        trend = np.outer(place, other_place) / 100.0**2
        near = np.exp(-0.5 * ((place[:, None] - other_place) / self.bend_days) ** 2)
        same = year[:, None] == other_year
        gap = np.abs(one[:, None] - other)
        usual = self.level**2 + self.slope**2 * trend + self.bend**2 * near
        own = self.year_level**2 + self.year_slope**2 * trend + self.year_bend**2 * near
        lasting = self.lasting**2 * np.exp(-gap / self.lasting_days)
        passing = self.passing**2 * np.exp(-gap / self.passing_days)
        return np.asarray(usual + same * own + scale**2 * (lasting + passing))


MIDDLE = Wander(
    level=3.0,
    slope=3.0,
    bend=1.0,
    year_level=1.5,
    year_slope=1.5,
    year_bend=1.0,
    lasting=1.8,
    passing=0.6,
    bend_days=35.0,
    lasting_days=3.0,
    passing_days=0.2,
)
"""Depth of the thermocline in metres (from memory: wind tilts a lake for days by 0.5-3 m, internal
waves swing it within hours)."""
SURFACE = Wander(
    level=5.0,
    slope=4.0,
    bend=5.0,
    year_level=1.0,
    year_slope=1.0,
    year_bend=1.0,
    lasting=0.9,
    passing=0.3,
    bend_days=40.0,
    lasting_days=4.0,
    passing_days=0.25,
)
"""Surface temperature in C."""


def day_of_year(day: Array) -> Array:
    """Day of the year, with its fraction, of days since 1970."""
    stamps = np.asarray(np.asarray(day) * DAY_US, dtype="int64").astype("datetime64[us]")
    return np.asarray((stamps - stamps.astype("datetime64[Y]")) / np.timedelta64(1, "D"))


def season_of(day: Array) -> Array:
    """Calendar year of days since 1970."""
    stamps = np.asarray(np.asarray(day) * DAY_US, dtype="int64").astype("datetime64[us]")
    return np.asarray(1970.0 + stamps.astype("datetime64[Y]").astype(float))


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is known of one water before it is measured.

    Attributes
    ----------
    density_kg_m3 : float
    max_depth_m : float or None
    misfit_share : float
        Part of surface less deep temperature by which a day's form differs from the season's.
    """

    density_kg_m3: float = 999.7
    max_depth_m: float | None = None
    misfit_share: float = MISFIT

    @property
    def fresh(self) -> bool:
        """Whether the water has a temperature of greatest density."""
        return self.density_kg_m3 < SEA_KG_M3

    @property
    def shallow(self) -> bool:
        """Whether it may be mixed to its bottom all summer."""
        return self.max_depth_m is not None and self.max_depth_m <= SHALLOW_M

    def middle(self, day: Array) -> Array:
        """Usual depth of the thermocline: it sinks through the season (from memory: 5-10 m in
        June, 12-25 m in October in deep lakes of the middle latitudes).
        """  # noqa: D205
        usual = 12.0 + 0.10 * (day_of_year(day) - MIDSUMMER)
        if self.shallow and self.max_depth_m is not None:
            return np.full(len(day), 0.8 * self.max_depth_m)
        return np.maximum(usual, 4.0)

    def surface(self, day: Array) -> Array:
        """Surface temperature about which readings tell the course: all but nothing is known."""
        return np.full(len(day), 14.0)

    @property
    def terms(self) -> tuple[Array, Array]:
        """Mean and sd of the terms: thickness (log m), its trend, lean, deep (C), its trend.

        Trends are changes in 100 days.
        """
        deep, deep_sd = (DENSEST_C + 0.8, 0.8) if self.fresh else (8.0, 4.0)
        if self.shallow:
            deep, deep_sd = 10.0, 4.0
        mean = np.array([np.log(2.5), 0.15, 0.1, deep, 0.2])
        return mean, np.array([0.35, 0.2, 0.3, deep_sd, 0.3])

    def misfit(self, share: Array, contrast_c: Array) -> Array:
        """Tell the sd in C of what the form leaves out from day to day, where it falls."""
        fall = np.clip(share * (1.0 - share), 0.0, 0.25)
        return np.asarray(self.misfit_share * np.abs(contrast_c) * np.sqrt(4.0 * fall))

    @property
    def bump_covariance(self) -> Array:
        """Covariance of the corrections of the form (places, places): smooth over the places."""
        gap = BUMP_AT[:, None] - BUMP_AT
        return np.asarray(
            FORM_SHARE**2 * np.exp(-0.5 * (gap / 1.5) ** 2) + 1e-6 * np.eye(len(BUMP_AT))
        )

    @property
    def form_covariance(self) -> Array:
        """Covariance of all unknowns of the form: terms, corrections, their change in 100 days."""
        bumps = self.bump_covariance
        return np.asarray(block_diag(np.diag(self.terms[1] ** 2), bumps, 0.5 * bumps))
