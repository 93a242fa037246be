"""Owns the water temperature at a lure: casts, probes and surface readings, in depth and time."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.effort.slices import Instants, instants, ordered_key
from analysis.log import SeasonLog

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_DAY_US = 86_400_000_000
_SURFACE_M = 0.5
"""A cast's values down to this depth give way to the boat's own surface reading, where there is
one: the skin of the lake follows the hour, not the day."""

USUAL_WANDER_M = 2.0
"""Wander of the layers about their season's course before any cast tells (from memory: 0.5-3 m;
the upper part of it, since what nobody measured must widen the answer)."""
LASTING_DAYS = 3.0
"""How long a displacement of the layers lasts: its correlation falls by e in so many days (from
memory: wind tilts a lake for days, and internal waves follow it)."""
_LAYERED = 1.0
"""Least sum of squared gradient over depth (C^2/m) at which a cast tells a shift."""

_LEAST_OPEN = 1e-6
"""Added to the share of the wander that is open, so that a trip at a cast is no division by 0."""

KNOWN = ""
NO_CAST = "the log has no temperature casts"
CAST_TOO_FAR = "no cast near enough in time"
TOO_DEEP = "deeper than the casts reach"
TOO_SHALLOW = "shallower than the casts begin"
NO_DEPTH = "the depth is not known"
_REASONS = (KNOWN, NO_CAST, CAST_TOO_FAR, TOO_DEEP, TOO_SHALLOW, NO_DEPTH)
_CODE = {reason: code for code, reason in enumerate(_REASONS)}


@dataclass(frozen=True, kw_only=True)
class Reach:
    """How far a measured temperature is trusted (common sense, no source).

    Parameters
    ----------
    between_days : float
        Between two casts no further apart than this the temperature is interpolated in time.
    hold_days : float
        A single cast holds this long before and after it.
    below_m : float
        The deepest value of a cast holds this much deeper.
    above_m : float
        The shallowest value of a cast holds this much shallower, where no surface reading tells.
    apart_h : float
        Casts at least this far apart tell how the layers wander from day to day.
    probe_h : float
        A probe's reading counts this long after it, or until the next one.
    probe_m : float
        A probe's difference from the casts fades to nothing over this distance in depth; without
        casts its reading holds over half of it.
    """

    between_days: float = 21.0
    hold_days: float = 7.0
    below_m: float = 6.0
    above_m: float = 6.0
    apart_h: float = 12.0
    probe_h: float = 1.0
    probe_m: float = 4.0


def _lasting(gap_us: Any) -> Floats:
    """Correlation of the layers' displacement at two times so far apart."""
    return np.asarray(np.exp(-np.abs(gap_us) / (_DAY_US * LASTING_DAYS)))


def _left_open(when: Any, before: Any, after: Any, share: Any) -> Floats:
    """Variance that interpolation between two casts leaves open, as a share of the wander's."""
    first, second, ends = _lasting(when - before), _lasting(when - after), _lasting(after - before)
    found = 1.0 + (1.0 - share) ** 2 + share**2 + 2.0 * share * (1.0 - share) * ends
    return np.asarray(np.maximum(found - 2.0 * ((1.0 - share) * first + share * second), 0.0))


@dataclass(frozen=True)
class _Held:
    """Readings of many trips, each holding from its time on: values by (trip, time)."""

    trips: pd.Index
    group: npt.NDArray[np.int64]
    time: Instants
    values: Floats

    @classmethod
    def of(cls, readings: pd.DataFrame | None, columns: list[str]) -> "_Held":
        """Keep the readings that have all the columns; those of one time are averaged."""
        if readings is None:
            nothing = np.empty(0, dtype=np.int64)
            return cls(pd.Index([], dtype="str"), nothing, nothing, np.empty((0, len(columns))))
        told = readings.dropna(subset=columns)
        told = told.groupby(["trip", "time"], as_index=False)[columns].mean()
        trips = pd.Index(told["trip"].unique())
        group = np.asarray(trips.get_indexer(told["trip"]), dtype=np.int64)
        return cls(trips, group, instants(told["time"]), told[columns].to_numpy(dtype=float))

    def at(self, trip: npt.NDArray[Any], time: Instants) -> tuple[Floats, npt.NDArray[np.int64]]:
        """Return values holding at (trip, time) and their age; the first one also holds before.

        Values are NaN and the age is the largest integer where the trip has no reading.
        """
        values = np.full((len(time), self.values.shape[1]), np.nan)
        age = np.full(len(time), np.iinfo(np.int64).max)
        of = np.asarray(self.trips.get_indexer(pd.Index(trip)), dtype=np.int64)
        here = of >= 0
        if not here.any():
            return values, age
        both = np.concatenate([self.time, time])
        origin, span = int(both.min()), int(both.max() - both.min())
        keys = ordered_key(self.group, self.time, origin, span)
        wanted = ordered_key(of[here], time[here], origin, span)
        index = np.searchsorted(keys, wanted, side="right") - 1
        index = np.maximum(index, np.searchsorted(self.group, of[here], side="left"))
        values[here] = self.values[index]
        age[here] = np.abs(time[here] - self.time[index])
        return values, age


@dataclass(frozen=True)
class _Casts:
    """Profiles in order of time, one after the other in flat arrays."""

    time: Instants
    first: npt.NDArray[np.int64]
    last: npt.NDArray[np.int64]
    depth: Floats
    temp: Floats

    @classmethod
    def of(cls, casts: pd.DataFrame | None) -> "_Casts":
        """Gather rows of one trip and time into a profile; values of one depth are averaged."""
        if casts is None or casts.empty:
            nothing = np.empty(0, dtype=np.int64)
            return cls(nothing, nothing, nothing, np.empty(0), np.empty(0))
        rows = casts.groupby(["time", "trip", "depth_m"], as_index=False)["temp_c"].mean()
        # two boats' worth of casts at one instant would be two profiles: one is as good
        rows = rows.groupby(["time", "depth_m"], as_index=False)["temp_c"].mean()
        time = instants(rows["time"])
        first = np.flatnonzero(np.r_[True, np.diff(time) > 0])
        last = np.r_[first[1:], len(time)] - 1
        depth, temp = rows["depth_m"].to_numpy(dtype=float), rows["temp_c"].to_numpy(dtype=float)
        return cls(time[first], first, last, depth, temp)

    def curve(self, cast: int) -> tuple[Floats, Floats]:
        """Return depths and temperatures of one cast."""
        rows = slice(self.first[cast], self.last[cast] + 1)
        return self.depth[rows], self.temp[rows]

    def profile(
        self, cast: npt.NDArray[np.int64], depth: Floats, surface: Floats, reach: Reach
    ) -> tuple[Floats, Mask]:
        """Interpolate within casts: temperature (NaN beyond reach), and where it is too deep."""
        top, bottom = self.depth[self.first][cast], self.depth[self.last][cast]
        inside = np.clip(depth, top, bottom)
        # one sorted key for all casts: cast number, then depth
        width = float(self.depth.max()) + 1.0
        number = np.repeat(np.arange(len(self.first)), self.last - self.first + 1)
        above = np.searchsorted(number * width + self.depth, cast * width + inside, "right") - 1
        above = np.clip(above, self.first[cast], self.last[cast])
        below = np.minimum(above + 1, self.last[cast])
        step = self.depth[below] - self.depth[above]
        share = (inside - self.depth[above]) / np.where(step > 0, step, 1.0)
        temp = self.temp[above] + share * (self.temp[below] - self.temp[above])

        # from the boat's own surface reading down to the cast's first value below the skin
        has_skin = (self.depth[self.first] <= _SURFACE_M) & (self.last > self.first)
        anchor = (self.first + has_skin)[cast]
        anchored = np.isfinite(surface) & (depth < self.depth[anchor])
        fade = depth / np.where(anchored, self.depth[anchor], 1.0)
        temp = np.where(anchored, surface + (self.temp[anchor] - surface) * fade, temp)
        too_deep = depth > bottom + reach.below_m
        too_shallow = ~anchored & (depth < top - reach.above_m)
        return np.where(too_deep | too_shallow, np.nan, temp), too_deep


@dataclass(frozen=True, kw_only=True)
class TemperatureField:
    """How warm the water was, where and when a boat measured it.

    Made by `from_log`. Within a cast the temperature is linear in depth; between two casts, of
    any trips of the season, linear in time. A single cast holds for a while. Readings of the
    surface take the place of a cast's first half metre; a probe's reading shifts the profile
    around its depth. Nothing is told beyond `reach`.
    """

    casts: _Casts
    surface: _Held
    probe: _Held
    reach: Reach

    @classmethod
    def from_log(cls, log: SeasonLog, reach: Reach | None = None) -> "TemperatureField":
        """Take all temperatures of a season.

        Parameters
        ----------
        log : analysis.log.SeasonLog
            A vetted season.
        reach : Reach, optional
            How far measured values are trusted.
        """
        return cls(
            casts=_Casts.of(log.casts),
            surface=_Held.of(log.readings, ["surface_temp_c"]),
            probe=_Held.of(log.readings, ["depth_temp_c", "probe_depth_m"]),
            reach=reach or Reach(),
        )

    def at(
        self, trip: npt.ArrayLike, time: Any, depth_m: npt.ArrayLike
    ) -> tuple[Floats, npt.NDArray[np.object_]]:
        """Tell the temperature at depths and times.

        Parameters
        ----------
        trip : array_like of str, shape (n,)
            Trip ids.
        time : pandas.Series, pandas.DatetimeIndex or array of datetime64, shape (n,)
            Times in UTC.
        depth_m : array_like, shape (n,) or (draws, n)
            Depths in metres.

        Returns
        -------
        temp_c : numpy.ndarray, the shape of `depth_m`
            Temperatures in degrees Celsius, NaN where there is a reason.
        reason : numpy.ndarray of str, the shape of `depth_m`
            Empty where the temperature is known.
        """
        depth = np.asarray(depth_m, dtype=np.float64)
        trips = np.asarray(trip, dtype=object)
        when = instants(pd.DatetimeIndex(time))
        surface = self.surface.at(trips, when)[0][:, 0]
        temp, code = self._from_casts(when, depth, surface)
        temp, code = self._with_probe(trips, when, depth, surface, temp, code)
        code = np.where(np.isnan(depth), _CODE[NO_DEPTH], code)
        reasons = np.array(_REASONS, dtype=object)
        return np.where(code == _CODE[KNOWN], temp, np.nan), reasons[code]

    def wander_m(self) -> float:
        """Tell how far the layers wander about the course that casts describe.

        Each cast is predicted from the casts before and after it that are at least `apart_h`
        away; the vertical shift that best explains the difference is one sample, whose variance
        follows from the wander and from how long it lasts.

        Returns
        -------
        float
            Standard deviation in metres, one `USUAL_WANDER_M` counted in as a further sample.
        """
        casts, variances = self.casts, [USUAL_WANDER_M**2]
        gap = int(self.reach.apart_h * 3.6e9)
        for cast in range(len(casts.time)):
            time = casts.time[cast]
            before = int(np.searchsorted(casts.time, time - gap, side="right")) - 1
            after = int(np.searchsorted(casts.time, time + gap, side="left"))
            if before < 0 or after >= len(casts.time):
                continue
            span = float(casts.time[after] - casts.time[before])
            if span > self.reach.between_days * _DAY_US:
                continue
            rows = slice(casts.first[cast], casts.last[cast] + 1)
            depth, seen = casts.depth[rows], casts.temp[rows]
            share = (time - casts.time[before]) / span
            expected = sum(
                part * np.interp(depth, *casts.curve(other))
                for part, other in ((1.0 - share, before), (share, after))
            )
            if len(depth) < 3:
                continue
            gradient = np.gradient(expected, depth)
            if np.sum(gradient**2) * np.mean(np.diff(depth)) > _LAYERED:
                shift = float(np.sum((seen - expected) * gradient) / np.sum(gradient**2))
                open_share = _left_open(time, casts.time[before], casts.time[after], share)
                variances.append(shift**2 / max(float(open_share), 0.1))
        return float(np.sqrt(np.mean(variances)))

    def doubt_m(self, time: Any) -> Floats:
        """Tell how uncertain the height of the layers is at some times.

        Parameters
        ----------
        time : pandas.Series, pandas.DatetimeIndex or array of datetime64, shape (n,)
            Times in UTC.

        Returns
        -------
        numpy.ndarray, shape (n,)
            Standard deviation in metres: none at a cast, growing with the time from it until the
            displacement then has been forgotten; 0 where there is no cast at all.
        """
        when = instants(pd.DatetimeIndex(time))
        if not len(self.casts.time):
            return np.zeros(len(when))
        before, after, share = self._between(when)
        casts = self.casts.time
        return np.asarray(
            self.wander_m() * np.sqrt(_left_open(when, casts[before], casts[after], share))
        )

    def layer_correlation(self, time: Any) -> Floats:
        """Tell how alike the errors of the layers' height are at some times.

        Parameters
        ----------
        time : pandas.Series, pandas.DatetimeIndex or array of datetime64, shape (n,)
            Times in UTC.

        Returns
        -------
        numpy.ndarray, shape (n, n)
            Correlation: near times share the error, unless a cast between them tells it.
        """
        when = instants(pd.DatetimeIndex(time))
        casts = self.casts.time
        if not len(casts):
            return np.eye(len(when))
        before, after, share = self._between(when)
        weight = np.zeros((len(when), len(casts)))
        np.add.at(weight, (np.arange(len(when)), before), 1.0 - share)
        np.add.at(weight, (np.arange(len(when)), after), share)
        crossed = _lasting(when[:, None] - casts) @ weight.T
        covariance = _lasting(when[:, None] - when) - crossed - crossed.T
        covariance += weight @ _lasting(casts[:, None] - casts) @ weight.T
        # at the very time of a cast there is no error, and nothing to correlate
        covariance[np.diag_indices(len(when))] += _LEAST_OPEN
        sd = np.sqrt(np.diag(covariance))
        return np.asarray(covariance / np.outer(sd, sd))

    def _between(self, when: Instants) -> tuple[Instants, Instants, Floats]:
        """Return the casts before and after some times, and the share of the later one."""
        casts = self.casts.time
        following = np.searchsorted(casts, when, side="right")
        before, after = np.maximum(following - 1, 0), np.minimum(following, len(casts) - 1)
        span = (casts[after] - casts[before]) / _DAY_US
        near = np.abs(when - casts[after]) < np.abs(when - casts[before])
        share = (when - casts[before]) / _DAY_US / np.where(span > 0, span, 1.0)
        bridged = (span > 0) & (span <= self.reach.between_days)
        return before, after, np.where(bridged, np.clip(share, 0.0, 1.0), near)

    def _from_casts(
        self, when: Instants, depth: Floats, surface: Floats
    ) -> tuple[Floats, npt.NDArray[np.int64]]:
        """Interpolate casts in depth and time; a code says which reason forbids it."""
        casts, reach = self.casts, self.reach
        if not len(casts.time):
            return np.full(depth.shape, np.nan), np.full(depth.shape, _CODE[NO_CAST])
        next_cast = np.searchsorted(casts.time, when, side="right")
        before, after = np.maximum(next_cast - 1, 0), np.minimum(next_cast, len(casts.time) - 1)
        since = np.where(next_cast > 0, (when - casts.time[before]) / _DAY_US, np.inf)
        until = np.where(next_cast < len(casts.time), (casts.time[after] - when) / _DAY_US, np.inf)
        known_depth = np.nan_to_num(depth)
        first, first_too_deep = casts.profile(before, known_depth, surface, reach)
        second, second_too_deep = casts.profile(after, known_depth, surface, reach)

        between = since + until <= reach.between_days
        holds_first, holds_second = since <= reach.hold_days, until <= reach.hold_days
        share = since / np.where(between, since + until, 1.0)
        bridged = np.where(
            between, first + np.where(between, share, 0.0) * (second - first), np.nan
        )
        # where no pair of casts tells, the nearer one that reaches the depth holds
        held_first = np.where(holds_first, first, np.nan)
        held_second = np.where(holds_second, second, np.nan)
        nearer_first = np.isfinite(held_first) & ((since <= until) | np.isnan(held_second))
        held = np.where(nearer_first, held_first, held_second)
        temp = np.where(np.isnan(bridged), held, bridged)

        too_deep = np.where(
            between, first_too_deep | second_too_deep, (holds_first & first_too_deep)
        ) | (holds_second & second_too_deep)
        code = np.where(too_deep, _CODE[TOO_DEEP], _CODE[TOO_SHALLOW])
        code = np.where(between | holds_first | holds_second, code, _CODE[CAST_TOO_FAR])
        return temp, np.where(np.isnan(temp), code, _CODE[KNOWN])

    def _with_probe(
        self,
        trips: npt.NDArray[Any],
        when: Instants,
        depth: Floats,
        surface: Floats,
        temp: Floats,
        code: npt.NDArray[np.int64],
    ) -> tuple[Floats, npt.NDArray[np.int64]]:
        """Shift temperatures toward what a probe read near that depth and time."""
        values, age = self.probe.at(trips, when)
        fresh = age <= self.reach.probe_h * 3.6e9
        if not fresh.any():
            return temp, code
        read, at_depth = values[:, 0], np.where(fresh, values[:, 1], np.nan)
        there, there_code = self._from_casts(when, at_depth, surface)
        distance = np.abs(depth - at_depth)
        near = np.clip(1.0 - distance / self.reach.probe_m, 0.0, 1.0)
        corrected = fresh & (code == _CODE[KNOWN]) & (there_code == _CODE[KNOWN]) & (near > 0)
        shift = np.where(corrected, near * (read - there), 0.0)
        alone = fresh & (code != _CODE[KNOWN]) & (distance <= self.reach.probe_m / 2)
        temp = np.where(alone, read, temp + shift)
        return temp, np.where(alone, _CODE[KNOWN], code)
