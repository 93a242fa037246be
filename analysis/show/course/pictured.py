"""Owns each picture of the season's course with its words, as page and workbook show them."""

from __future__ import annotations

import pandas as pd

from analysis.show.base.html import Fragment
from analysis.show.base.pictures import picture
from analysis.show.course import day_figures, day_words, water_figures, water_words
from analysis.units import Units


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
