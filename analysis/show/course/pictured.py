"""Owns each picture of the season's course with its words, as page and workbook show them."""

from __future__ import annotations

from datetime import timedelta, timezone, tzinfo

import pandas as pd

from analysis import labels
from analysis.show.base.html import Fragment, paragraph
from analysis.show.base.pictures import height_of, picture
from analysis.show.course import day_figures, day_words, water_figures, water_words
from analysis.units import Units


def worth(table: pd.DataFrame, units: Units) -> Fragment:
    """Say what further thermometers would have bought; see `water_words.worth`."""
    return paragraph(water_words.worth(table, units))


def certainty(table: pd.DataFrame, units: Units) -> Fragment:
    """Say how doubt splits between fish and water; see `water_words.certainty`."""
    return paragraph(water_words.certainty(table, units))


def areas(table: pd.DataFrame) -> Fragment:
    """Draw areas at equal conditions; see `day_figures.areas_at_equal_conditions`."""
    told = day_words.areas_at_equal_conditions(table)
    several = table if len(table) > 1 else table.head(0)
    draw = day_figures.areas_at_equal_conditions
    return picture(draw, several, height_in=height_of(several), told=told)


def busiest_trip(
    tracks: pd.DataFrame, strikes: pd.DataFrame, water: pd.DataFrame, units: Units
) -> Fragment:
    """Draw the trip with most strikes as a strip, from the result tables.

    Parameters
    ----------
    tracks, strikes, water : pandas.DataFrame
        The result tables ``trip_tracks``, ``strike_depths`` and ``water``.
    units : Units
        Units to write depths and temperatures in.
    """
    if tracks.empty:
        return paragraph(day_words.NOT_FISHED, "absent")
    first = tracks.iloc[0]
    slices = tracks.assign(**{name: _utc(tracks[name]) for name in ("start", "end")})
    of_trip = (strikes["boat"] == first["boat"]) & (strikes["trip"] == first["trip"])
    met = strikes.loc[of_trip]
    return trip_strip(
        slices,
        met.assign(time=_utc(met["time"])),
        _noon(water, first["water"], pd.Timestamp(first["date"]), slices),
        units,
        timezone(timedelta(hours=float(first["utc_offset_h"]))),
        heading=f"{first['boat']}, {labels.day(pd.Timestamp(first['date']))}",
    )


def trip_strip(
    slices: pd.DataFrame,
    strikes: pd.DataFrame,
    water: pd.DataFrame,
    units: Units,
    zone: tzinfo,
    *,
    heading: str = "",
) -> Fragment:
    """Draw a trip as a strip and say what it shows; see `day_figures.trip_strip`."""
    told = day_words.trip_strip(slices, strikes, units, heading)
    given = (strikes, water, units, zone)
    return picture(day_figures.trip_strip, slices, *given, height_in=4.2, told=told)


def _utc(times: pd.Series) -> pd.Series:
    return pd.to_datetime(times, utc=True)


def _noon(water: pd.DataFrame, name: str, day: pd.Timestamp, slices: pd.DataFrame) -> pd.DataFrame:
    """Temperature by depth (rows) from a trip's beginning to its end, as it was at noon."""
    ends = pd.date_range(slices["start"].min(), slices["end"].max(), periods=24)
    if water.empty:
        return pd.DataFrame(columns=ends, dtype=float)
    deepest_m = 1.1 * slices["depth_m"].max()
    here = (water["water"] == name) & (water["day"] == f"{day:%Y-%m-%d}")
    profile = water.loc[here & (water["depth_m"] <= deepest_m)].set_index("depth_m")["temp_c"]
    return pd.DataFrame({end: profile for end in ends})


def by_hour(hours: pd.DataFrame) -> Fragment:
    """Draw rates by hour of the day and say what they show; see `day_figures.by_hour`."""
    return picture(day_figures.by_hour, hours, height_in=3.2, told=day_words.by_hour(hours))


def section(
    fished: pd.DataFrame,
    strikes: pd.DataFrame,
    water: pd.DataFrame,
    thermometers: pd.DataFrame,
    best: pd.DataFrame,
    units: Units,
) -> Fragment:
    """Draw a season's water and say what it shows; see `water_figures.section`."""
    given = (fished, strikes, water, thermometers, best, units)
    told = water_words.section(*given)
    return picture(water_figures.section, *given, height_in=4.4, told=told)
