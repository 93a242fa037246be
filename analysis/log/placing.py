"""Owns what rows say of each other: the trip a row belongs to, and when in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.at_once import at_once
from analysis.log.times import (
    NAT,
    NOT_ON_CLOCK,
    UNREADABLE,
    Instants,
    instants_of,
    parse,
    readings_of,
    resolve,
    to_frame_time,
)
from analysis.log.vetting.rows import Vetting
from analysis.log.wording.spelling import same_name

_HOUR_US = 3_600_000_000
LONGEST_TRIP_H = 48
"""A trip longer than this is a wrong date (common sense, no source)."""
NEARBY_H = 3
"""Readings and casts up to this long before and after a trip, on the way, belong to it."""

_TIME_REMEDY = "write local time as 2026-07-04 05:30, or 05:30 on the trip's date"
_SKIPPED_REMEDY = "write what a clock set to summer time showed"


def _remedies(reasons: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    return np.where(reasons == NOT_ON_CLOCK, _SKIPPED_REMEDY, _TIME_REMEDY).astype(object)


def _judge_times(
    vet: Vetting, column: str, reasons: npt.NDArray[np.object_], known: npt.NDArray[np.bool_]
) -> None:
    """Set aside rows whose trip is known and time missing, unreadable or skipped by the clock."""
    bad = known & (reasons != "")
    if not bad.any():
        return
    missing = (vet.text[column] == "").to_numpy() & (reasons == UNREADABLE)
    open_set = column == "time_out"
    lacks = "missing: the set was left open" if open_set else "missing"
    reasons = np.where(missing, lacks, reasons).astype(object)
    remedies = _remedies(reasons)
    if open_set:
        remedies[missing] = "write when the rod came out, or when its next set began"
    vet.set_aside(bad, column, reasons, remedies)


def place_trips(vet: Vetting, zone: ZoneInfo) -> None:
    """Resolve date, start and end of the trips, and refuse what contradicts itself."""
    dates = parse(vet.text["date"])
    date_us = dates["date_us"].to_numpy()
    missing = (vet.text["date"] == "").to_numpy()
    bad = (date_us == NAT) & ~missing
    vet.set_aside(missing, "date", "missing", "write the local date the trip began, 2026-07-04")
    vet.set_aside(bad, "date", "this is not a date", "write it as 2026-07-04")
    nothing = np.full(len(dates), NAT)

    parsed_start = parse(vet.text["start"])
    start, reasons = resolve(
        parsed_start, zone=zone, date_us=date_us, not_before=nothing, not_after=nothing
    )
    known = date_us != NAT
    _judge_times(vet, "start", reasons, known)
    written = parsed_start["date_us"].to_numpy()
    vet.set_aside(
        (written != NAT) & known & (written != date_us),
        "start",
        "the trip's date and the date of its start differ",
        "correct the one that is wrong",
    )
    end, reasons = resolve(
        parse(vet.text["end"]), zone=zone, date_us=date_us, not_before=start, not_after=nothing
    )
    _judge_times(vet, "end", reasons, known & (start != NAT))
    both = (start != NAT) & (end != NAT)
    remedy = "correct the one that is wrong; an end after midnight may be written with its date"
    vet.set_aside(both & (end <= start), "end", "the trip ends before it begins", remedy)
    long = both & (end - np.where(both, start, end) > LONGEST_TRIP_H * _HOUR_US)
    vet.set_aside(long, "end", f"the trip lasts more than {LONGEST_TRIP_H} hours", remedy)

    ids = vet.text["trip"]
    shared = (ids.where(vet.kept).duplicated(keep=False) & (ids != "")).to_numpy() & vet.kept
    vet.set_aside(
        shared,
        "trip",
        "two trips have this id: nobody can tell whose rows are whose",
        "give each trip an id of its own, here and in the other tables",
    )
    vet.clean["date"] = pd.Series(date_us.view("datetime64[us]"), index=vet.clean.index)
    vet.clean["start"] = to_frame_time(start, vet.clean.index)
    vet.clean["end"] = to_frame_time(end, vet.clean.index)


@dataclass(frozen=True, kw_only=True)
class TripBook:
    """The kept trips, to look up the rows of the other tables.

    Parameters
    ----------
    trips : pandas.DataFrame
        Kept trips, indexed by id.
    lost : mapping
        Id of a trip that was set aside -> its line in the file.
    zone : zoneinfo.ZoneInfo
        Zone of the local times.
    """

    trips: pd.DataFrame
    lost: Mapping[str, int]
    zone: ZoneInfo

    def belong(self, vet: Vetting) -> None:
        """Set aside rows whose trip is unknown or was itself set aside."""
        ids = vet.text["trip"]
        stray = ~ids.isin(["", *self.trips.index]).to_numpy()
        if not stray.any():
            return
        reasons = np.full(len(ids), "", dtype=object)
        remedies = np.full(len(ids), "", dtype=object)
        meant = self._meant(vet, stray)
        for name in ids[stray].unique():
            here = (ids == name).to_numpy()
            if name in self.lost:
                line = self.lost[name]
                reasons[here] = f"its trip was set aside (trips line {line})"
                remedies[here] = f"put line {line} of trips right"
            else:
                reasons[here] = "trips has no trip of this id"
                remedies[here] = "add the trip" + np.where(
                    meant[here] == "", "", ", or did you mean " + meant[here] + "?"
                ).astype(object)
        vet.set_aside(stray, "trip", reasons, remedies)

    def _meant(self, vet: Vetting, stray: npt.NDArray[np.bool_]) -> npt.NDArray[np.object_]:
        """Return the trip that a row of an unknown one can only mean; empty where none is sure.

        That is the trip of the same id but for capitals and spaces, or the one under way at the
        date and time that the row has. An id that merely looks alike is as often another trip's.
        """
        meant = np.full(len(stray), "", dtype=object)
        column = "time_in" if "time_in" in vet.text else "time"
        written = parse(vet.text[column])
        date_us, clock_us = written["date_us"].to_numpy(), written["clock_us"].to_numpy()
        dated = (date_us != NAT) & (clock_us != NAT)
        local = np.where(dated, date_us + np.where(dated, clock_us, 0), NAT)
        time = readings_of(local, self.zone)[0]
        start, end = (instants_of(self.trips[name]) for name in ("start", "end"))
        by_name: dict[str, set[str]] = {}
        for trip in self.trips.index:
            by_name.setdefault(same_name(trip), set()).add(trip)
        for i in np.flatnonzero(stray):
            likely = set(by_name.get(same_name(vet.text["trip"].iloc[i]), ()))
            if not likely and time[i] != NAT:
                likely = set(self.trips.index[(start <= time[i]) & (time[i] <= end)])
            if len(likely) == 1:
                meant[i] = likely.pop()
        return meant

    def _of(self, vet: Vetting, column: str) -> Instants:
        """Return a time column of each row's trip, `NAT` where the trip is not known."""
        codes, names = vet.trips
        return instants_of(self.trips[column].reindex(names))[codes]

    def when(
        self,
        vet: Vetting,
        *columns: str,
        sequence: list[str],
        otherwise: Sequence[str] = ("", ""),
    ) -> list[Instants]:
        """Resolve time columns and set aside the rows that have none.

        Parameters
        ----------
        vet : analysis.log.vetting.rows.Vetting
            The table.
        columns : str
            Its time columns.
        sequence : list of str
            Columns that tell apart the sequences in which rows were written.
        otherwise : sequence of str
            What an empty time of each column means: the trip's ``start`` or ``end``; nothing by
            default.
        """
        start, end, date = (self._of(vet, name) for name in ("start", "end", "date"))

        def resolved(column: str) -> tuple[Instants, npt.NDArray[np.object_]]:
            return resolve(
                parse(vet.text[column]),
                zone=self.zone,
                date_us=date,
                not_before=start,
                not_after=end,
                sequence=lambda: np.asarray(
                    vet.text.groupby(sequence, sort=False).ngroup(), dtype=np.int64
                ),
            )

        times = []
        found = at_once(resolved, columns, rows=len(vet.text))
        for column, meant, (instants, reasons) in zip(columns, otherwise, found, strict=False):
            known = start != NAT
            if meant:
                empty = (vet.text[column] == "").to_numpy()
                instants = np.where(empty, self._of(vet, meant), instants)
                known = known & ~empty
            if (known & (instants == NAT)).any():
                _judge_times(vet, column, reasons, known)
            vet.clean[column] = to_frame_time(instants, vet.clean.index)
            times.append(instants)
        return times

    def strikes(self, vet: Vetting) -> None:
        """Time the strikes; one outside its trip is set aside."""
        (time,) = self.when(vet, "time", sequence=["trip"])
        self._within(vet, time, 0)

    def changes(self, vet: Vetting) -> None:
        """Time the changes, empty meaning the start; one outside its trip is set aside."""
        (time,) = self.when(vet, "time", sequence=["trip"], otherwise=["start"])
        self._within(vet, time, 0)

    def moments(self, vet: Vetting) -> None:
        """Time readings or casts; one far outside its trip is set aside."""
        (time,) = self.when(vet, "time", sequence=["trip"])
        self._within(vet, time, NEARBY_H * _HOUR_US)

    def loggers(self, vet: Vetting) -> None:
        """Time when loggers hung, empty meaning the whole trip; one that never did is set aside."""
        time_in, time_out = self.when(
            vet, "time_in", "time_out", sequence=["trip", "rod"], otherwise=["start", "end"]
        )
        both = (time_in != NAT) & (time_out != NAT)
        remedy = "check both against the boat's notes and put each in its own column"
        vet.set_aside(both & (time_out <= time_in), "time_out", "it ends before it begins", remedy)

    def _within(self, vet: Vetting, time: Instants, margin: int) -> None:
        start, end = self._of(vet, "start"), self._of(vet, "end")
        known = (time != NAT) & (start != NAT)
        bare = (parse(vet.text["time"])["date_us"] == NAT).to_numpy()
        late = "after its trip ended"
        rolled = late + " (a bare time before the trip's start is read as the next day's)"
        far = f" by more than {NEARBY_H} hours" if margin else ""
        before = known & (time < np.where(known, start, 0) - margin)
        after = known & (time > np.where(known, end, 0) + margin)
        remedy = "correct the time, the trip id, or the trip's start and end; "
        remedy += "write the date with it where the day is not clear"
        vet.set_aside(before, "time", "before its trip began" + far, remedy)
        reasons = np.where(bare, rolled, late + far).astype(object)
        vet.set_aside(after, "time", reasons, remedy)

    def sets(self, vet: Vetting) -> None:
        """Time both ends of the sets; one that ends before it begins is set aside."""
        time_in, time_out = self.when(vet, "time_in", "time_out", sequence=["trip", "rod"])
        backwards = (time_in != NAT) & (time_out != NAT) & (time_out < time_in)
        if backwards.any():
            # in an hour that the clock repeats, the set's beginning decides which end is meant
            later, _ = resolve(
                parse(vet.text["time_out"]),
                zone=self.zone,
                date_us=self._of(vet, "date"),
                not_before=np.maximum(time_in, self._of(vet, "start")),
                not_after=self._of(vet, "end"),
            )
            repeated = backwards & (later - time_out <= 2 * _HOUR_US)
            time_out = np.where(repeated, later, time_out)
            vet.clean["time_out"] = to_frame_time(time_out, vet.clean.index)
        both = (time_in != NAT) & (time_out != NAT)
        vet.set_aside(
            both & (time_out < time_in),
            "time_out",
            "it ends before it begins: were time in and time out swapped?",
            "check both against the boat's notes and put each in its own column",
        )
        vet.set_aside(
            both & (time_out == time_in),
            "time_out",
            "it lasts no time at all",
            "write times with seconds, or the time it really ended",
        )
