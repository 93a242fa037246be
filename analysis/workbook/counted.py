"""Owns the counted season: slices cut at every full hour, with area and day, and its strikes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.build_exposure import BoatSeason, combine, join
from analysis.rates.exposure import Exposure
from analysis.review.course.clock import by_the_hour
from analysis.units import Units
from analysis.weeks import week_label
from analysis.workbook.moon import moon_light

_OF_SETS = ("side", "leader_length_m", "lure", "depth_m", "depth_sd_m", "lure_temp_c")


@dataclass(frozen=True, kw_only=True)
class Counted:
    """The boats of one year: what they fished, slice by slice, and every strike.

    Attributes
    ----------
    seasons : tuple of BoatSeason
    exposure : Exposure
        As the review's, for its fits.
    hourly : Exposure
        The same, slices cut where the local clock strikes; its table has ``hour`` (0 to 23),
        ``area``, ``week`` and ``key`` (row of `trips`) besides, and no ``landed``.
    strikes : DataFrame
        One row a strike: see `strike_rows`; ``row`` is that of `hourly`, -1 where not placed.
    trips : DataFrame
        ``boat, trip, date, weekday, moon, area, start, end, rod_hours, strikes, note``.
    """

    seasons: tuple[BoatSeason, ...]
    exposure: Exposure
    hourly: Exposure
    strikes: pd.DataFrame
    trips: pd.DataFrame

    @classmethod
    def of(cls, seasons: Sequence[BoatSeason]) -> Counted:
        """Join depths and temperatures to what was counted, and cut it by the hour."""
        exposure = combine([join([season]) for season in seasons])
        zones = [season.log.boat.time_zone for season in seasons]
        hourly = by_the_hour(exposure, zones)
        trips = trip_table(seasons)
        hourly = replace(hourly, table=_with_trip(hourly.table, trips))
        strikes = strike_rows(seasons, hourly, trips)
        trips["rod_hours"] = _per_trip(hourly.table["key"], hourly.table["hours"], len(trips))
        trips["strikes"] = _per_trip(strikes["key"], np.ones(len(strikes)), len(trips)).astype(int)
        joined = tuple(replace(season, depths=None) for season in seasons)  # the exposure has them
        return cls(seasons=joined, exposure=exposure, hourly=hourly, strikes=strikes, trips=trips)

    def place_of_set(self, log_number: int, number: int) -> tuple[str, int]:
        """Return file and line of the log in which a set of `hourly` stands."""
        season = self.seasons[log_number]
        sets = season.effort.sets
        row = int(np.flatnonzero((sets["set"] == number).to_numpy())[0])
        return file_of(season, str(sets["table"].iloc[row])), int(sets["line"].iloc[row])

    @property
    def units(self) -> Units:
        """The units of the first boat, in which all is told."""
        return self.seasons[0].log.boat.units

    @property
    def boats(self) -> list[str]:
        """Names of the boats."""
        return list(dict.fromkeys(season.log.boat.name for season in self.seasons))

    @property
    def year(self) -> int:
        """The season's year."""
        return self.seasons[0].log.year


def trip_table(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return the kept trips of some boats, a row each: ``log_number`` and `Counted.trips`."""
    frames = []
    for number, season in enumerate(seasons):
        trips = season.log.trips
        dates = pd.to_datetime(trips["date"])
        frame = pd.DataFrame(
            {
                "log_number": number,
                "boat": season.log.boat.name,
                "trip": trips["trip"].astype(str),
                "date": dates.dt.strftime("%Y-%m-%d"),
                "month": dates.dt.strftime("%Y-%m"),
                "week": [week_label(day.date()) for day in dates],
                "weekday": dates.dt.day_name(),
                "moon": [round(moon_light(day.date()), 2) for day in dates],
                "area": trips["area"].fillna("").astype(str),
                "start": trips["start"],
                "end": trips["end"],
                "note": trips["note"].fillna("").astype(str) if "note" in trips else "",
            }
        )
        frames.append(frame)
    return pd.concat(frames, ignore_index=True)


def _with_trip(table: pd.DataFrame, trips: pd.DataFrame) -> pd.DataFrame:
    """Add row, area, date and week of the trip to every slice; texts become categories."""
    key = pd.MultiIndex.from_frame(trips[["log_number", "trip"]]).get_indexer(
        pd.MultiIndex.from_frame(table[["log_number", "trip"]])
    )
    table = table.assign(
        key=key, **{name: trips[name].to_numpy()[key] for name in ("area", "week")}
    )
    texts = ("boat", "gear", "area", "week", "period")
    return table.assign(**{name: table[name].astype("category") for name in texts})


def strike_rows(
    seasons: Sequence[BoatSeason], hourly: Exposure, trips: pd.DataFrame
) -> pd.DataFrame:
    """Return every strike with its place in the season and in the log.

    Returns
    -------
    DataFrame
        ``boat, trip, date, hour`` (local), ``time`` (UTC), ``rod, area, species, outcome, gear,
        setting, line_out_m, leader_length_m, lure, depth_m, depth_sd_m, lure_temp_c, length_m,
        weight_kg, note, file, line, reason`` (why it could not be placed), ``row`` and ``key``.
    """
    from analysis.review.strikes import all_strikes  # a season that is kept has them already

    strikes = all_strikes(seasons)
    placed = strikes["placed"].to_numpy(dtype=bool)
    row = np.full(len(strikes), -1)
    row[placed] = hourly.strike_row
    key = pd.MultiIndex.from_frame(trips[["log_number", "trip"]]).get_indexer(
        pd.MultiIndex.from_frame(strikes[["log_number", "trip"]])
    )
    of_set = hourly.table[list(_OF_SETS)].astype({"lure": object}).reset_index(drop=True)
    of_set = of_set.reindex(row).reset_index(drop=True)  # empty where there is no such row
    zones = [season.log.boat.time_zone for season in seasons]
    hour = _local_hours(strikes, zones)
    hour[placed] = hourly.table["hour"].to_numpy()[hourly.strike_row]
    files = [file_of(season, "strikes") for season in seasons]
    return pd.DataFrame(
        {
            "boat": strikes["boat"],
            "trip": strikes["trip"],
            "date": trips["date"].to_numpy()[key],
            "hour": hour,
            "time": strikes["time"],
            "rod": strikes["rod"],
            "area": trips["area"].to_numpy()[key],
            "species": strikes["kind"].fillna("").astype(str),
            "outcome": strikes["outcome"].fillna("").astype(str),
            "gear": strikes["gear"].fillna("").astype(str),
            "setting": strikes["setting"],
            "line_out_m": strikes["line_out_m"],
            "leader_length_m": strikes["leader_length_m"],
            "lure": of_set["lure"].where(pd.Series(placed), strikes["lure"]).fillna("").astype(str),
            **{name: of_set[name].astype(float) for name in _OF_SETS[3:]},
            **{name: strikes[name] for name in ("length_m", "weight_kg", "note")},
            "file": [files[number] for number in strikes["log_number"]],
            "line": strikes["line"],
            "reason": strikes["reason"],
            "row": row,
            "key": key,
        }
    )


def _local_hours(strikes: pd.DataFrame, zones: Sequence[object]) -> NDArray[np.int64]:
    """Local hour of each strike."""
    hours = np.zeros(len(strikes), dtype=np.int64)
    for number, zone in enumerate(zones):
        here = (strikes["log_number"] == number).to_numpy()
        hours[here] = strikes.loc[here, "time"].dt.tz_convert(zone).dt.hour.fillna(-1)
    return hours


def file_of(season: BoatSeason, table: str) -> str:
    """Return the file that holds a table of a log: its own, or a workbook with its sheets."""
    folder, names = season.log.folder.name, sorted(season.log.hashes)
    own = [name for name in names if name.rpartition(".")[0] == table]
    books = [name for name in names if not name.endswith((".toml", ".csv"))]
    return f"{folder}/{(own or books or [table])[0]}"


def _per_trip(key: pd.Series, amounts: object, count: int) -> NDArray[np.float64]:
    """Sum of amounts by trip."""
    inside = key.to_numpy() >= 0
    sums = np.bincount(key[inside], np.asarray(amounts, dtype=float)[inside], count)
    return np.asarray(sums, dtype=float)
