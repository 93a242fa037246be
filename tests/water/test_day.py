"""Owns the tests of a day's water: what a reading and a cast tell, against independent ways."""

import numpy as np
import pytest

from analysis.spread.basis import days_water
from analysis.water.day import DOCK_SD_C, DaysWater
from analysis.water.measured import DAY_US

DEPTHS = np.arange(0.5, 30.0, 1.0)
HOUR = 9.0


@pytest.fixture
def water(warm):
    return warm.seasons[0].water.field


@pytest.fixture
def day(warm):
    """A day in the middle of the season, four days from any cast."""
    return int(warm.seasons[0].log.trips["start"].astype("int64").median() // DAY_US)


@pytest.fixture
def here(water, day):
    return DaysWater.of(water, np.array([day, day + 1]), HOUR).on(day)


def test_draws_agree_with_the_waters_own_quadrature(water, day, here, rng):
    drawn = here.temp_draws(DEPTHS, 4000, rng)
    time = np.full(len(DEPTHS), day * DAY_US + int(HOUR * 3.6e9))
    mean, sd = water.at(time, DEPTHS)
    assert drawn.mean(axis=1) == pytest.approx(mean, abs=0.15)
    assert drawn.std(axis=1) == pytest.approx(sd, rel=0.15, abs=0.03)


def test_a_reading_of_the_surface_is_weighed_by_its_precision(here):
    mean, sd = here.surface
    found, left = here.with_surface(mean + 2.0).surface
    # Two normals: precisions add (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, sec. 2.5,
    # from memory).
    weight = sd**-2 / (sd**-2 + DOCK_SD_C**-2)
    assert found == pytest.approx(mean + (1.0 - weight) * 2.0)
    assert left == pytest.approx((sd**-2 + DOCK_SD_C**-2) ** -0.5)


def test_a_cast_puts_the_thermocline_where_it_fell(here):
    moved = here.moments.mean.copy()
    moved[0, 0] += 3.0
    depth = np.arange(0.0, 31.0, 1.5)
    truth = here.moments.profile(moved[0][None, :]).temp_c(depth)
    before, doubt = here.middle
    after, left = here.with_cast(depth, truth).middle
    assert after == pytest.approx(before + 3.0, abs=0.5)
    # What half a day displaces stays in doubt, and no more than was.
    assert 0.3 < left < 1.5
    again, _ = here.with_cast(depth, truth).with_cast(depth, truth).middle
    assert abs(again - before - 3.0) < abs(after - before - 3.0) + 0.05
    assert doubt > 0.0


def test_days_of_the_season_and_of_the_year_after_are_known(warm):
    season = warm.seasons[0]
    known = days_water([season])
    first = season.log.trips["date"].min()
    for year in (season.log.year, season.log.year + 1):
        day = np.datetime64(f"{year}-{first.month:02d}-{first.day:02d}").astype("datetime64[D]")
        assert known.on(int(day.astype(int))) is not None
    assert known.on(0) is None
    # Nothing was measured of the year after: the usual course tells less.
    now = known.on(int(np.datetime64(f"{season.log.year}-07-15").astype(int)))
    later = known.on(int(np.datetime64(f"{season.log.year + 1}-07-15").astype(int)))
    assert later.middle[1] > 1.3 * now.middle[1]
