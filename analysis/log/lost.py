"""Owns what is still known of rows set aside: the trip, rod, gear, month and hour they speak of."""

import re
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.log.files.words import plain
from analysis.log.schema import blank_table
from analysis.log.times import NAT, parse
from analysis.log.vetting.rows import Vetting

_HOUR_US = 3_600_000_000
# a time that cannot be read as one may still tell its hour: "6:40 AM", "06h40", "0640 ca."
_LOOSE = re.compile(
    r"(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[ T]+)?(\d{1,2})(?:[:.h ]?\d{2})*(?!\d)\s*(p\.?m)?",
    re.IGNORECASE,
)
WHEN = {"trips": "start", "sets": "time_in"}
"""The column that tells when a row was; ``time`` in the other tables."""


def lost_sets(vets: Mapping[str, Vetting]) -> pd.DataFrame:
    """Describe the sets whose rows were set aside: which rod, when, and how long it was down.

    Parameters
    ----------
    vets : mapping of str to Vetting
        By table, trips among them.

    Returns
    -------
    pandas.DataFrame
        ``trip, rod, line, time_in, time_out``, a time NaT where unknown; ``date`` of the trip and
        ``hours`` between the times as far as the row tells; ``repeats``, whether it repeats an
        earlier row.
    """
    columns = ["trip", "rod", "line", "time_in", "time_out"]
    if "sets" not in vets:
        kinds = {"date": "datetime64[us]", "hours": "float64", "repeats": "bool"}
        blank = pd.DataFrame(columns=[*kinds]).astype(kinds)
        return pd.concat([blank_table("sets")[columns], blank], axis="columns")
    vet, trips = vets["sets"], vets["trips"]
    lost = ~vet.kept
    written = parse(trips.text["date"])["date_us"].to_numpy().view("datetime64[us]")
    dates = pd.Series(written, index=trips.text["trip"].to_numpy())
    dates = dates[~dates.index.duplicated()]
    rows = plain(vet.clean.loc[lost, columns])
    hours = (rows["time_out"] - rows["time_in"]).dt.total_seconds() / 3600
    # Times of a trip that was itself set aside are not resolved; a bare one may pass midnight.
    times = plain(vet.text.loc[lost, ["time_in", "time_out"]])
    clock = [parse(times[name])["clock_us"] for name in times]
    bare = (clock[1] - clock[0]) % (24 * _HOUR_US) / _HOUR_US
    hours = hours.where(hours.notna(), bare.where((clock[0] != NAT) & (clock[1] != NAT)))
    return rows.assign(
        date=dates.reindex(vet.text.loc[lost, "trip"].to_numpy()).to_numpy(),
        hours=hours.where(hours > 0).astype(float),
        repeats=_repeats(vet.text.drop(columns="line"), lost),
    ).sort_values("line", ignore_index=True)


def _repeats(text: pd.DataFrame, lost: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return which of the lost rows repeat an earlier row."""
    if not lost.any():
        return np.zeros(0, dtype=bool)
    return np.asarray(text.duplicated().to_numpy()[lost], dtype=bool)


def lost_rows(vets: Mapping[str, Vetting]) -> pd.DataFrame:
    """Describe every row that was set aside while reading, as far as it tells.

    Parameters
    ----------
    vets : mapping of str to Vetting
        By table, trips among them.

    Returns
    -------
    pandas.DataFrame
        ``table, line, trip, rod, gear`` (text, empty where unknown), ``month`` (``YYYY-MM``,
        empty where unknown), ``hour`` of the local day (NaN where unknown) and ``moment``, the
        time as written.
    """
    trips = vets["trips"].text.drop_duplicates("trip")
    dates = pd.Series(parse(trips["date"])["date_us"].to_numpy(), index=trips["trip"].to_numpy())
    rows = pd.concat([_told(vet) for vet in vets.values()], ignore_index=True)
    rows = rows.astype({"line": "int64"})
    written = parse(rows["moment"])
    date_us = dates.reindex(rows["trip"]).fillna(NAT).astype("int64").to_numpy()
    date_us = np.where(date_us == NAT, written["date_us"].to_numpy(), date_us)
    clock_us = written["clock_us"].to_numpy()
    loose = np.array([_loose_hour(word) for word in rows["moment"]], dtype=float)
    rows["month"] = pd.Series(date_us.view("datetime64[us]")).dt.strftime("%Y-%m").fillna("")
    rows["hour"] = np.where(clock_us == NAT, loose, clock_us // _HOUR_US)
    return rows[["table", "line", "trip", "rod", "gear", "month", "hour", "moment"]]


def _told(vet: Vetting) -> pd.DataFrame:
    """Return what the rows of a table that were set aside say, as text."""
    lost = vet.text.loc[~vet.kept]
    split = set(lost["line"])
    # a row that could not be split into columns says nothing but its line
    whole = [problem["row"] for problem in vet.aside if problem["row"] not in split]
    lines = [*lost["line"], *sorted(whole)]
    found = pd.DataFrame({"line": np.array(lines, dtype=np.int64)})
    when = WHEN.get(vet.name, "time")
    told = {"trip": "trip", "rod": "rod", "gear": "gear", when: "moment"}
    for column, name in told.items():
        text = lost[column].astype("str").tolist() if column in lost else [""] * len(lost)
        found[name] = pd.Series([*text, *[""] * len(whole)], dtype="str")
    found = found.sort_values("line", kind="stable", ignore_index=True)
    return found.assign(table=vet.name)


def _loose_hour(text: str) -> float:
    """Return the hour that a text which is no time of ours speaks of, NaN for none.

    >>> [_loose_hour(text) for text in ("6:40 AM", "2026-07-04 06.40", "6:40 pm", "dawn")]
    [6.0, 6.0, 18.0, nan]
    """
    found = _LOOSE.match(text)
    if found is None or int(found[1]) > 23:
        return np.nan
    hour = int(found[1])
    return float(hour + 12 if found[2] and hour < 12 else hour)
