"""Owns local times: time zone, bare times, midnight and clock changes, resolved to UTC."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.log.files.words import coded

_TEXT = re.compile(
    r"(?:(\d{4})-(\d{1,2})-(\d{1,2}))?(?:(?:^|[ T]+)(\d{1,2}):(\d{2})(?::(\d{2}))?)?", re.ASCII
)
_EPOCH = date(1970, 1, 1).toordinal()
_YEARS = range(1970, 2101)  # a year outside is a slipped digit
_DAY_US = 86_400_000_000

NAT = int(np.iinfo(np.int64).min)
"""A missing instant, as numpy and pandas write it in whole microseconds."""

Instants = npt.NDArray[np.int64]
"""Microseconds since 1970-01-01 UTC; `NAT` where missing."""

UNREADABLE = "this is not a time"
MISSING = "the time is missing"
NOT_ON_CLOCK = "the clock skipped this time when it went forward"


def _parse_one(text: str) -> tuple[int, int]:
    """Return local midnight and the time after it in microseconds, `NAT` for each not written."""
    found = _TEXT.fullmatch(text)
    if found is None:
        return NAT, NAT
    year, month, day, hour, minute, second = (int(part) if part else 0 for part in found.groups())
    date_us = clock_us = NAT
    if found[1]:
        if year not in _YEARS:
            return NAT, NAT
        try:
            date_us = (date(year, month, day).toordinal() - _EPOCH) * _DAY_US
        except ValueError:
            return NAT, NAT
    if found[4]:
        if hour > 23 or minute > 59 or second > 59:
            return NAT, NAT
        clock_us = (hour * 3600 + minute * 60 + second) * 1_000_000
    return date_us, clock_us


_USUAL = r"[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}"
"""The form that most times have: 2026-07-04 05:30."""
_LETTERS = 16
_DIGITS = [0, 1, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15]


def _parse_usual(words: npt.NDArray[np.object_]) -> Instants:
    """Return what `_parse_one` does of texts of the usual form, all at once."""
    letters = np.frombuffer("".join(words).encode(), dtype=np.uint8).reshape(-1, _LETTERS)
    digits = letters[:, _DIGITS].astype(np.int64) - ord("0")
    year = digits[:, :4] @ np.array([1000, 100, 10, 1])
    month, day, hour, minute = (digits[:, [at, at + 1]] @ np.array([10, 1]) for at in (4, 6, 8, 10))
    good = (month >= 1) & (month <= 12) & (hour <= 23) & (minute <= 59) & (day >= 1)
    good &= (year >= _YEARS.start) & (year < _YEARS.stop)
    months = (np.where(good, year, 1970) - 1970) * 12 + np.where(good, month, 1) - 1
    first = months.astype("datetime64[M]").astype("datetime64[D]")
    date_d = first + (day - 1)
    good &= date_d.astype("datetime64[M]") == months.astype("datetime64[M]")
    date_us = date_d.astype(np.int64) * _DAY_US
    clock_us = (hour * 60 + minute) * 60_000_000
    return np.where(good[:, None], np.column_stack([date_us, clock_us]), NAT)


def parse(text: "pd.Series[str]") -> pd.DataFrame:
    """Split texts such as ``2026-07-04 05:30``, ``05:30`` or ``2026-07-04`` into date and time.

    Parameters
    ----------
    text : pandas.Series
        Stripped text, any index.

    Returns
    -------
    pandas.DataFrame
        ``date_us``: midnight of the written date as local microseconds since 1970, `NAT` where
        none is written; ``clock_us``: microseconds after midnight, `NAT` where no time is
        written; both `NAT` where the text is no time, or its year is not within 1970-2100.

    Examples
    --------
    >>> parse(pd.Series(["1970-01-02", "00:01"])).replace(NAT, 0)
           date_us  clock_us
    0  86400000000         0
    1            0  60000000
    """
    codes, words = coded(text)
    pairs = np.empty((len(words), 2), dtype=np.int64)
    ours = pd.Series(words, dtype="str").str.fullmatch(_USUAL).to_numpy(dtype=bool)
    pairs[ours] = _parse_usual(words[ours])
    others = [_parse_one(word) for word in words[~ours]]
    pairs[~ours] = np.array(others, dtype=np.int64).reshape(-1, 2)
    date_us, clock_us = (part.copy()[codes] for part in pairs.T)
    told = {"date_us": date_us, "clock_us": clock_us}
    return pd.DataFrame(told, index=text.index, copy=False)


def readings_of(local_us: Instants, zone: ZoneInfo) -> tuple[Instants, Instants]:
    """Return the earlier and the later instant at which a clock on the wall showed a local time.

    Both are equal except in the hour that a clock change repeats; both are `NAT` where the clock
    never showed that time.
    """
    codes, unique = pd.factorize(local_us)
    naive = pd.DatetimeIndex(unique.view("datetime64[us]"))

    def instants(first: bool) -> Instants:
        choice = np.full(len(naive), first)
        utc = naive.tz_localize(zone, ambiguous=choice, nonexistent="NaT").tz_convert("UTC")
        return np.asarray(utc.as_unit("us").asi8, dtype=np.int64)

    one, other = instants(first=True), instants(first=False)
    if (one == other).all():
        only = one[codes]
        return only, only
    return np.minimum(one, other)[codes], np.maximum(one, other)[codes]


def to_frame_time(instants: Instants, index: pd.Index) -> "pd.Series[Any]":
    """Return instants as a ``datetime64[us, UTC]`` series."""
    stamps = pd.DatetimeIndex(instants.view("datetime64[us]")).tz_localize("UTC")
    return pd.Series(stamps, index=index)


def instants_of(times: "pd.Series[Any]") -> Instants:
    """Return a series of UTC or local times as whole microseconds, `NAT` where missing."""
    values: Any = times.to_numpy(dtype="datetime64[us]", na_value=np.datetime64("NaT"))
    return np.asarray(values.view(np.int64))


def resolve(
    parsed: pd.DataFrame,
    *,
    zone: ZoneInfo,
    date_us: Instants,
    not_before: Instants,
    not_after: Instants,
    sequence: Callable[[], npt.NDArray[np.int64]] | None = None,
) -> tuple[Instants, npt.NDArray[np.object_]]:
    """Turn parsed local times into instants.

    A bare time takes its trip's date; the first instant showing it that is not before the trip's
    start is meant, so one earlier than the start belongs to the next day and one equal to it to
    the same day. In the hour that an autumn clock change repeats, the earlier instant that lies
    within the trip is meant; where both do, rows written in order of time (the wall clock steps
    back once within a `sequence`) are read so that they stay in order, else the earlier one.
    A time that the clock skipped in spring is no instant: nobody can tell which was meant.

    Parameters
    ----------
    parsed : pandas.DataFrame
        From `parse`, n rows.
    zone : zoneinfo.ZoneInfo
        The boat's time zone.
    date_us : numpy.ndarray of int64, shape (n,)
        Local midnight of the date that a bare time takes.
    not_before, not_after : numpy.ndarray of int64, shape (n,)
        The instants between which the time should lie, `NAT` for unknown.
    sequence : callable, optional
        Asked only where it matters: number of the written sequence each row belongs to (such as
        its trip), int, shape (n,).

    Returns
    -------
    instants : numpy.ndarray of int64, shape (n,)
        `NAT` where there is a reason.
    reasons : numpy.ndarray of str, shape (n,)
        Empty where resolved.
    """
    clock = parsed["clock_us"].to_numpy()
    written = parsed["date_us"].to_numpy()
    reasons = np.full(len(parsed), "", dtype=object)
    reasons[clock == NAT] = UNREADABLE
    bare = written == NAT
    day = np.where(bare, date_us, written) if bare.any() else written
    known = (clock != NAT) & (day != NAT)
    local = day + clock if known.all() else np.where(known, day + np.where(known, clock, 0), NAT)
    low = _known_or(not_before, np.iinfo(np.int64).min + 1)
    high = _known_or(not_after, np.iinfo(np.int64).max)

    early, late = readings_of(local, zone)
    # a date says what it says; only a bare time may belong to the next day, also one that the
    # clock skipped on the trip's own date
    if (known & bare).any():
        passed = np.where(late == NAT, local < _local_of(low, zone), late < low)
        rolled = known & bare & passed
        local = np.where(rolled, local + _DAY_US, local)
        next_early, next_late = readings_of(np.where(rolled, local, NAT), zone)
        early, late = np.where(rolled, next_early, early), np.where(rolled, next_late, late)
    result = early
    repeated = known & (early != late)
    if repeated.any():
        result = np.where((early < low) & (late >= low), late, early)
        repeated &= (early >= low) & (late <= high)
        if sequence is not None and repeated.any():
            result = np.where(_after_step_back(local, repeated, sequence()), late, result)
    reasons[known & (result == NAT)] = NOT_ON_CLOCK
    return result, reasons


def _known_or(instants: Instants, otherwise: int) -> Instants:
    """Return instants, another in place of each that is not known."""
    unknown = instants == NAT
    return np.where(unknown, otherwise, instants) if unknown.any() else instants


def _local_of(instants: Instants, zone: ZoneInfo) -> Instants:
    """Return what the wall clock showed at each instant, as local microseconds."""
    sane = np.clip(instants, 0, 2**52)
    local = pd.DatetimeIndex(sane.view("datetime64[us]")).tz_localize("UTC").tz_convert(zone)
    return np.asarray(local.tz_localize(None).as_unit("us").asi8, dtype=np.int64)


def _after_step_back(
    wall: Instants, repeated: npt.NDArray[np.bool_], sequence: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    """Mark repeated-hour rows that follow the one step back of the clock in their sequence."""
    after = np.zeros(len(wall), dtype=bool)
    for number in np.unique(sequence[repeated]):
        rows = np.flatnonzero(repeated & (sequence == number))
        steps_back = np.flatnonzero(np.diff(wall[rows]) < 0)
        if len(steps_back) == 1:
            after[rows[steps_back[0] + 1 :]] = True
    return after
