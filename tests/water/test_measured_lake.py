"""Owns the test of the water against a real lake's season, measured by a buoy."""

from pathlib import Path

import made_water as made
import numpy as np
import pandas as pd
import pytest

from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import DAY_US
from analysis.water.prior import Prior

PUBLISHED = Path(__file__).parents[1] / "published" / "lake_profiles.csv"


@pytest.fixture(scope="module")
def lake() -> pd.DataFrame:
    """Temperature by day since 1970 (rows) and depth (columns); the lake is 20 m deep."""
    found = pd.read_csv(PUBLISHED, comment="#", index_col="day", parse_dates=True)
    days = (found.index - pd.Timestamp("1970-01-01")).days + 0.6
    return found.set_axis(found.columns.astype(float), axis=1).set_axis(days, axis=0)


def fitted(lake: pd.DataFrame, cast_days: slice) -> Water:
    """Surface temperatures of every day, and casts of some."""
    parts = [
        made.rows("surface", 0, 2 * at, day, 0.0, lake.loc[day, 0.5])
        for at, day in enumerate(lake.index)
    ]
    parts += [
        made.rows("cast", 0, 2 * at + 1, day, lake.columns, lake.loc[day])
        for at, day in enumerate(lake.index)
        if day in lake.index[cast_days]
    ]
    return Water(fit=fit_water(made.together(parts), Prior(max_depth_m=20.0)))


def off(water: Water, lake: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """What the model is off by, and by how many of its standard deviations."""
    day, depth = np.repeat(lake.index, lake.shape[1]), np.tile(lake.columns, len(lake))
    mean, sd = water.at((day.to_numpy() * DAY_US).astype(np.int64), depth)
    away = mean - lake.to_numpy().ravel()
    return away, away / sd


def test_a_lake_that_was_measured_is_told_as_it_was(lake):
    """The form bends to a real lake's profiles, spring to overturn; what it leaves out is told."""
    away, share = off(fitted(lake, slice(None)), lake)
    assert np.sqrt(np.mean(away**2)) < 0.5
    assert 0.85 <= np.mean(np.abs(share) < 1.645) <= 0.95


def test_days_between_casts_of_a_real_lake_are_told_with_an_honest_doubt(lake):
    """A cast every third week; the days between are not in the fit but for their surface."""
    water = fitted(lake, slice(None, None, 2))
    away, share = off(water, lake.iloc[1::2])
    assert np.sqrt(np.mean(away**2)) < 1.5
    assert np.mean(np.abs(share) < 1.645) >= 0.8


def test_the_surface_alone_tells_a_real_lake_no_better_than_it_says(lake):
    away, share = off(fitted(lake, slice(0)), lake)
    assert np.sqrt(np.mean(away**2)) < 4.0
    assert np.mean(np.abs(share) < 1.645) >= 0.8
