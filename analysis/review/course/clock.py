"""Owns hours of the day: slices cut where the boat's clock strikes, and the rate of each hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.effort.slices import instants
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.exposure import Exposure
from analysis.stats.clustered import counted_rate

HOUR_US = 3_600_000_000
FEWEST_HOURS = 8.0
"""Rod-hours of a part of the day or an area below which no rate is told: those that a month's
band needs to be judged."""


def hours_table(exposure: Exposure, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Return strikes and rod-hours of each hour of the day, with the counted rate.

    Parameters
    ----------
    exposure : Exposure
    seasons : sequence of BoatSeason
        In the exposure's order.

    Returns
    -------
    DataFrame
        The table ``hours``: see `rates_by_hour`.
    """
    cut = by_the_hour(exposure, [season.log.boat.time_zone for season in seasons])
    table = cut.table
    return rates_by_hour(
        *(table["hour"].to_numpy(), cut.trip),
        *(table[name].to_numpy(dtype=float) for name in ("hours", "strikes")),
    )


def rates_by_hour(
    hour: NDArray[np.integer],
    trip: NDArray[np.integer],
    rod_hours: NDArray[np.float64],
    strikes: NDArray[np.float64],
) -> pd.DataFrame:
    """Count strikes and rod-hours by local hour, with the rate's 90 % interval.

    Parameters
    ----------
    hour, trip : (slices,) int arrays
    rod_hours, strikes : (slices,) arrays

    Returns
    -------
    DataFrame
        ``hour, rod_hours, strikes, raw_rate, low, high``, an hour a row from the first fished to
        the last; no interval below `FEWEST_HOURS`.
    """
    fished = hour[rod_hours > 0]
    shown = range(fished.min(), fished.max() + 1) if len(fished) else range(0)
    trips = int(trip.max(initial=-1)) + 1
    rows = []
    for at in shown:
        here = hour == at
        rate = counted_rate(
            np.bincount(trip[here], strikes[here], trips).astype(float),
            np.bincount(trip[here], rod_hours[here], trips).astype(float),
        )
        told = rate.hours >= FEWEST_HOURS
        rows.append(
            {
                "hour": at,
                "rod_hours": rate.hours,
                "strikes": round(rate.strikes),
                "raw_rate": rate.rate,
                "low": rate.low if told else np.nan,
                "high": rate.high if told else np.nan,
            }
        )
    return pd.DataFrame(rows, columns=["hour", "rod_hours", "strikes", "raw_rate", "low", "high"])


def by_the_hour(exposure: Exposure, zones: Sequence[object]) -> Exposure:
    """Cut slices where a boat's local clock strikes the hour, strikes going with their moment.

    A piece covers ``start < t <= end``, as a slice does: a strike on the full hour counts to the
    hour that ends then.

    Parameters
    ----------
    exposure : Exposure
    zones : sequence of tzinfo
        Of each season folder, by its number.

    Returns
    -------
    Exposure
        The same rod-hours and strikes; ``hour`` is the local hour of each piece.
    """
    offset = np.zeros(len(exposure.start), dtype=np.int64)
    number = exposure.table["log_number"].to_numpy()
    for log, zone in enumerate(zones):
        here = number == log
        local = pd.to_datetime(exposure.start[here], unit="us", utc=True).tz_convert(zone)
        naive = instants(pd.Series(local.tz_localize(None).tz_localize("UTC")))
        offset[here] = naive - exposure.start[here]
    began = (exposure.start + offset) // HOUR_US  # the local hour in which each slice begins
    first = (began + 1) * HOUR_US - offset  # and where that ends
    pieces = 1 + np.maximum(-((first - exposure.end) // HOUR_US), 0)
    row = np.repeat(np.arange(len(pieces)), pieces)
    origin = np.cumsum(pieces) - pieces
    part = np.arange(len(row)) - origin[row]
    start = np.where(part == 0, exposure.start[row], first[row] + (part - 1) * HOUR_US)
    end = np.minimum(first[row] + part * HOUR_US, exposure.end[row])
    length = (exposure.end - exposure.start)[row]
    table = exposure.table.iloc[row].drop(columns="landed", errors="ignore").reset_index(drop=True)
    struck = exposure.strike_row
    later = np.maximum(-((first[struck] - exposure.strike_time) // HOUR_US), 0)
    strike_row = origin[struck] + np.minimum(later, pieces[struck] - 1)
    table = table.assign(
        hours=table["hours"] * (end - start) / length,
        start=pd.to_datetime(start, unit="us", utc=True),
        end=pd.to_datetime(end, unit="us", utc=True),
        hour=(began[row] + part) % 24,
        strikes=np.bincount(strike_row, minlength=len(row)),
    )
    return replace(
        exposure,
        table=table,
        trip=exposure.trip[row],
        start=start,
        end=end,
        strike_row=strike_row.astype(np.intp),
        loadings=exposure.loadings[row],
        bends=exposure.bends[row],
        set_error_sd=exposure.set_error_sd[row],
        layer_doubt=exposure.layer_doubt[row],
        temperature_c=exposure.temperature_c[row],
    )
