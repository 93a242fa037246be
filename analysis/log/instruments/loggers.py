"""Owns what loggers hung on lines give: soaks, temperatures at depth, and how far to trust both."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.errors import LogError
from analysis.log.boat import Boat
from analysis.log.instruments.logger_clock import Clock, clock_of
from analysis.log.instruments.logger_file import LoggerFile, read_logger
from analysis.log.instruments.steady import misfit, soaks_of
from analysis.log.schema import LOGGERS, blank_table
from analysis.log.times import readings_of
from analysis.log.vetting.rows import Vetting
from analysis.log.wording.spelling import nearest

WET_M = 0.5
"""A logger shallower than this may be in the air."""
STILL_M_PER_MIN = 1.0
"""A thermometer that sinks faster shows the water it left (assumed: half a minute's lag)."""
WATER_C = (-2.0, 40.0)
_MINUTE_US = 60_000_000
_FOOT_M = 0.3048

Mask = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Hung:
    """What a season's loggers give.

    Parameters
    ----------
    soaks : pandas.DataFrame
        Rows of clean soaks; ``line`` is that of the table loggers, ``note`` names the file.
    logged : pandas.DataFrame
        ``trip, rod, time, depth_m, temp_c, line``: temperatures at the logger's own depth, means
        of a minute and metre.
    rows : pandas.DataFrame
        ``table, read, kept, set_aside`` of each file.
    aside, changed : tuple of dict
        Of the files' rows.
    hashes : mapping
        Name within the season folder -> SHA-256.
    notes : tuple of str
    """

    soaks: pd.DataFrame
    logged: pd.DataFrame
    rows: pd.DataFrame
    aside: tuple[dict[str, Any], ...] = ()
    changed: tuple[dict[str, Any], ...] = ()
    hashes: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def named_file(cell: str, files: Mapping[str, Path]) -> Path | None:
    """Return the file of the folder that a cell names, None for none.

    Parameters
    ----------
    cell : str
        With or without the folder before it.
    files : mapping
        Name in small letters -> file.
    """
    return files.get(cell.casefold().removeprefix(f"{LOGGERS}/"))


def hang(
    vet: Vetting | None,
    files: Mapping[str, Path],
    boat: Boat,
    trips: pd.DataFrame,
    stretches: pd.DataFrame,
    readings: pd.DataFrame | None,
) -> Hung:
    """Read the loggers that the table names, and set aside the rows that nothing comes of.

    Parameters
    ----------
    vet : analysis.log.vetting.rows.Vetting or None
        The table loggers, its times resolved; rows are set aside here.
    files : mapping
        What lies in the folder: name in small letters -> file.
    boat : analysis.log.boat.Boat
    trips, stretches : pandas.DataFrame
        Clean trips, and every set of the season.
    readings : pandas.DataFrame or None
        Clean readings, those of tracks included.

    Returns
    -------
    Hung
    """
    account = _Account(vet=vet, boat=boat, stretches=stretches, speeds=_speeds(readings))
    if vet is None:
        return account.done()
    _refuse_missing(vet, files)
    _refuse_twice(vet)
    dates = trips.set_index("trip")["date"].astype("int64")
    for name, rows in _by_file(vet, files):
        try:
            read = read_logger(files[name], boat)
        except LogError as error:
            account.refuse(rows, error.problem, error.remedy)
            continue
        account.file(read, rows, dates)
    return account.done()


def _by_file(vet: Vetting, files: Mapping[str, Path]) -> Iterator[tuple[str, NDArray[np.intp]]]:
    """Yield each file that kept rows name, and the rows."""
    found: dict[str, list[int]] = {}
    for row in np.flatnonzero(vet.kept).tolist():
        file = named_file(vet.text["file"].iloc[row], files)
        assert file is not None
        found.setdefault(file.name.casefold(), []).append(row)
    for name, rows in found.items():
        yield name, np.array(rows, dtype=np.intp)


def _refuse_missing(vet: Vetting, files: Mapping[str, Path]) -> None:
    missing = np.array([named_file(name, files) is None for name in vet.text["file"]], dtype=bool)
    remedies = np.full(len(missing), "", dtype=object)
    for row in np.flatnonzero(missing):
        like = nearest(vet.text["file"].iloc[row], [file.name for file in files.values()])
        remedies[row] = f"did you mean {like}?" if like else f"put it into the folder {LOGGERS}"
    reason = f"the folder {LOGGERS} has no file of this name"
    vet.set_aside(missing & (vet.text["file"] != "").to_numpy(), "file", reason, remedies)


def _refuse_twice(vet: Vetting) -> None:
    """Set aside two loggers on one rod at a time, and one logger on two rods."""
    rows = vet.clean.loc[vet.kept, ["time_in", "time_out"]].astype("int64")
    text = vet.text[["trip", "rod", "file"]].astype("str")
    rows["rod"] = text["trip"] + "\n" + text["rod"]
    rows["file"] = text["file"].str.casefold()
    for same, reason, remedy in (
        (
            "rod",
            "two loggers hang on this rod at the same time: nobody can tell which was at the lure",
            "keep the row of the one at the lure, or correct rod and times",
        ),
        (
            "file",
            "this logger hangs on two rods at the same time",
            "correct the rod or the times of one of them",
        ),
    ):
        ordered = rows.sort_values([same, "time_in"])
        by = ordered.groupby(same, sort=False)
        into_next = by["time_in"].shift(-1) < ordered["time_out"]
        after_other = by["time_out"].shift() > ordered["time_in"]
        clash = (into_next | after_other).reindex(vet.text.index, fill_value=False)
        vet.set_aside(clash.to_numpy(dtype=bool), same, reason, remedy)


def _speeds(readings: pd.DataFrame | None) -> pd.DataFrame:
    """Return the speeds of all readings, with times as microseconds."""
    rows = blank_table("readings") if readings is None else readings
    rows = rows.loc[rows["speed_mps"].notna(), ["trip", "time", "speed_mps", "speed_kind"]]
    return rows.assign(time=rows["time"].astype("int64")).sort_values("time")


@dataclass(kw_only=True)
class _Account:
    """What comes of the loggers, file by file."""

    vet: Vetting | None
    boat: Boat
    stretches: pd.DataFrame
    speeds: pd.DataFrame
    soaks: list[dict[str, Any]] = field(default_factory=list)
    logged: list[pd.DataFrame] = field(default_factory=list)
    files: list[LoggerFile] = field(default_factory=list)

    def done(self) -> Hung:
        """Return it all."""
        soaks = pd.DataFrame(self.soaks, columns=list(blank_table("soaks")))
        blank = pd.DataFrame(
            {
                "trip": pd.Series(dtype="str"),
                "rod": pd.Series(dtype="str"),
                "time": pd.Series(dtype="datetime64[us, UTC]"),
                "depth_m": pd.Series(dtype="float64"),
                "temp_c": pd.Series(dtype="float64"),
                "line": pd.Series(dtype="int64"),
            }
        )
        logged = pd.concat(self.logged, ignore_index=True) if self.logged else blank
        counts = [(f.name, f.read, f.read - len(f.aside), len(f.aside)) for f in self.files]
        return Hung(
            soaks=soaks.astype(blank_table("soaks").dtypes.to_dict()),
            logged=logged[list(blank)].astype(blank.dtypes.to_dict()),
            rows=pd.DataFrame(counts, columns=["table", "read", "kept", "set_aside"]),
            aside=tuple(problem for file in self.files for problem in file.aside),
            changed=tuple(problem for file in self.files for problem in file.changed),
            hashes={file.name: file.sha256 for file in self.files},
            notes=tuple(note for file in self.files for note in file.notes),
        )

    def refuse(self, rows: NDArray[np.intp], reason: str, remedy: str) -> None:
        """Set rows of the table aside."""
        self._table.set_aside(self._mask(rows), "file", reason, remedy)

    @property
    def _table(self) -> Vetting:
        assert self.vet is not None
        return self.vet

    def _mask(self, rows: NDArray[np.intp]) -> Mask:
        return np.isin(np.arange(len(self._table.text)), rows)

    def file(self, read: LoggerFile, rows: NDArray[np.intp], dates: pd.Series[int]) -> None:
        """Take what a file gives for the rows that name it, trip by trip."""
        self.files.append(read)
        if read.samples["depth_m"].notna().sum() < 2:
            msg = "the file has no depths: nobody can tell how deep its temperatures were"
            self.refuse(rows, msg, "name the depth's heading under [columns.loggers] in boat.toml")
            return
        trips = self._table.text["trip"].iloc[rows].to_numpy()
        if not read.dated and len(set(trips)) > 1:
            msg = "the file's times have no date, and it is named for several trips"
            self.refuse(rows, msg, "write the dates into the file, or make it a file a trip")
            return
        found: list[dict[str, Any]] = []
        for trip in dict.fromkeys(trips):
            mine = rows[trips == trip]
            start = 0 if read.dated else self._midnight(int(dates[trip]))
            samples = read.samples.assign(time=read.samples["time"] + start)
            samples = samples.loc[samples["depth_m"].notna()]
            samples = self._on_time(samples, mine)
            for row in mine[self._table.kept[mine]]:
                found += self._soaks(samples, read.name, int(row))
                self.logged.append(self._temperatures(samples, int(row)))
        self._judged(found, rows)

    def _midnight(self, date_us: int) -> int:
        return int(readings_of(np.array([date_us]), self.boat.time_zone)[0][0])

    def _on_time(self, samples: pd.DataFrame, rows: NDArray[np.intp]) -> pd.DataFrame:
        """Return a trip's samples by the log's clock; set aside what cannot be brought to it."""
        windows = [self._window(int(row)) for row in rows]
        sets = [
            (max(a, low), min(b, high))
            for row, (low, high) in zip(rows, windows, strict=True)
            for a, b in self._sets(int(row))[["time_in", "time_out"]].to_numpy()
        ]
        if not sets:
            msg = "no set of this rod lies in these hours: nothing says what was on the line"
            self.refuse(rows, msg, "correct trip, rod or times, or write the rod's sets")
            return samples
        depth = samples["depth_m"].to_numpy()
        clock = clock_of(samples["time"].to_numpy(), depth, sets, windows)
        if not clock.fits:
            msg = "its depths do not go down and come up with the sets of this rod"
            remedy = "check trip, rod and times, and by how many hours the logger's clock is off"
            self.refuse(rows, msg, remedy)
        elif clock.offset_us is None:
            self.refuse(rows, _unknown(clock), "write the logger's clock into the file's times")
        elif clock.offset_us:
            reason, remedy = _off(clock.offset_us), "set the logger's clock before the next trip"
            self._table.change(self._mask(rows), "file", reason, remedy)
        return samples.assign(time=samples["time"] + (clock.offset_us or 0))

    def _window(self, row: int) -> tuple[int, int]:
        cells = self._table.clean.iloc[row]
        return _us(cells["time_in"]), _us(cells["time_out"])

    def _sets(self, row: int) -> pd.DataFrame:
        """Return the sets of a row's rod that lie in its hours, times as microseconds."""
        low, high = self._window(row)
        trip, rod = self._table.text[["trip", "rod"]].iloc[row]
        sets = self.stretches
        sets = sets.loc[(sets["trip"] == trip) & (sets["rod"] == rod)]
        sets = sets.assign(**{n: sets[n].astype("int64") for n in ("time_in", "time_out")})
        inside: pd.DataFrame = sets.loc[(sets["time_in"] < high) & (sets["time_out"] > low)]
        return inside

    def _soaks(self, samples: pd.DataFrame, name: str, row: int) -> Iterator[dict[str, Any]]:
        """Yield the soaks of one row of the table."""
        low, high = self._window(row)
        offset = self._table.clean["offset_m"].iloc[row]
        trip = self._table.text["trip"].iloc[row]
        speeds = self.speeds.loc[self.speeds["trip"] == trip]
        time, depth = samples["time"].to_numpy(), samples["depth_m"].to_numpy()
        for cells in self._sets(row).to_dict("records"):
            begin, end = max(cells["time_in"], low), min(cells["time_out"], high)
            for soak in soaks_of(time, depth, begin, end, speeds):
                local = [self._local(edge) for edge in (soak.time_in, soak.time_out)]
                note = f"{name}, {local[0]:%H:%M} to {local[1]:%H:%M}"
                yield {
                    "gear": cells["gear"],
                    "setting": cells["setting"],
                    "line_out_m": cells["line_out_m"],
                    **{name: cells[name] for name in ("lead_m", "leader_length_m", "lure")},
                    "speed_mps": soak.speed_mps,
                    "depth_m": soak.depth_m + (0.0 if np.isnan(offset) else offset),
                    "date": local[0].normalize().tz_localize(None),
                    "note": note + ("" if soak.speed_kind == "water" else ", speed over ground"),
                    "line": int(self._table.lines[row]),
                }

    def _local(self, time_us: int) -> pd.Timestamp:
        return pd.Timestamp(time_us, unit="us", tz="UTC").tz_convert(self.boat.time_zone)

    def _temperatures(self, samples: pd.DataFrame, row: int) -> pd.DataFrame:
        """Return the temperatures of one row, by minute and metre, where the water was its own."""
        low, high = self._window(row)
        time, depth = samples["time"].to_numpy(), samples["depth_m"].to_numpy()
        minutes = np.maximum(np.diff(time, prepend=time[0] - _MINUTE_US) / _MINUTE_US, 1e-9)
        moving = np.abs(np.diff(depth, prepend=depth[0])) / minutes > STILL_M_PER_MIN
        wet = samples["temp_c"].notna() & (depth >= WET_M) & ~moving
        mine = samples.loc[wet & (time >= low) & (time <= high)]
        odd = ~mine["temp_c"].between(*WATER_C)
        if odd.any():
            unit = self.boat.units.temperature
            reason = f"{odd.sum()} of its {len(odd)} temperatures cannot be those of water"
            remedy = f'check their unit: write temp = "{"C" if unit == "F" else "F"}" under '
            remedy += "[units.loggers] in boat.toml if it is another than the boat's"
            self._table.change(self._mask(np.array([row])), "file", reason, remedy)
        mine = mine.loc[~odd] if odd.mean() < 0.5 else mine.iloc[:0]
        by = [mine["time"] // _MINUTE_US, mine["depth_m"].round().rename("metre")]
        mean = mine.groupby(by, as_index=False)[["time", "depth_m", "temp_c"]].mean()
        trip, rod = self._table.text[["trip", "rod"]].iloc[row]
        stamps = pd.to_datetime(mean["time"].round().astype("int64"), unit="us", utc=True)
        line = int(self._table.lines[row])
        return mean.assign(time=stamps, trip=trip, rod=rod, line=line)

    def _judged(self, found: Sequence[dict[str, Any]], rows: NDArray[np.intp]) -> None:
        """Keep a file's soaks, or set its rows aside where no gear runs so deep or so shallow."""
        soaks = pd.DataFrame(list(found), columns=list(blank_table("soaks")))
        soaks = soaks.astype(blank_table("soaks").dtypes.to_dict())
        off = misfit(soaks, self.boat)
        if np.isnan(off):
            self.soaks += found
            return
        unit = self.boat.units.depth
        feet = abs(np.log(off * _FOOT_M)) < abs(np.log(off)) if unit == "m" else False
        metres = abs(np.log(off / _FOOT_M)) < abs(np.log(off)) if unit == "ft" else False
        other = "ft" if feet else "m" if metres else ""
        reason = f"its depths are {off:.2g} times those that the gear can run at"
        remedy = "check rod, gear and line-out of its sets, and the unit of the file's depths"
        if other:
            reason += f": they may be written in {other}"
            remedy = f'write depth = "{other}" under [units.loggers] in boat.toml if they are'
        self.refuse(rows, reason, remedy)
        lines = set(self._table.lines[rows].tolist())
        self.logged = [frame for frame in self.logged if not lines & set(frame["line"])]


def _us(time: Any) -> int:
    return int(pd.Timestamp(time).value) // 1000


def _minutes(us: int) -> str:
    minutes = abs(us) / _MINUTE_US
    return f"{minutes / 60:.2g} hours" if minutes >= 90 else f"{minutes:.0f} minutes"


def _off(offset_us: int) -> str:
    """Say by how much a clock is off."""
    way = ("slow", "later") if offset_us > 0 else ("fast", "earlier")
    amount = _minutes(offset_us)
    return (
        f"by the rod's sets its clock is about {amount} {way[0]}: its times are read so much "
        f"{way[1]}"
    )


def _unknown(clock: Clock) -> str:
    return (
        "how far its clock is off cannot be told: shifts from "
        f"{clock.least_us / _MINUTE_US:.0f} to {clock.most_us / _MINUTE_US:.0f} minutes fit the "
        "rod's sets"
    )
