"""Owns the tests of a day's water: what a reading and a cast tell, against independent ways."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.spread.basis import days_water, learnt_water
from analysis.water.day import DOCK_SD_C, DaysWater, Learnt
from analysis.water.field import Water
from analysis.water.measured import DAY_US
from analysis.water.ways import main_ways

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


@pytest.fixture(scope="module")
def unseen(known):
    """A boat whose log has the temperature of the surface alone."""
    return known("no_casts", 1)


@pytest.fixture(scope="module")
def learnt(unseen):
    """Amounts of the ways, and a water whose covariance was put together as one matrix."""
    season = unseen.seasons[0]
    ways = main_ways(season.water.field, season.log.year)
    rng = np.random.default_rng(3)
    amounts = 0.7 + rng.standard_normal((50, ways.count)) @ rng.normal(0.0, 0.5, (ways.count,) * 2)
    fit = ways.moved(amounts.mean(axis=0)).fit
    spread = np.cov(amounts.T, bias=True)
    whole = fit.covariance + ways.directions.T @ spread @ ways.directions
    return Learnt(ways=ways, amounts=amounts), Water(fit=replace(fit, covariance=whole))


@pytest.mark.parametrize("read", [False, True])
def test_a_water_that_strikes_told_of_is_the_moved_one_with_the_doubt_of_its_draws(
    unseen, learnt, read
):
    """Both ways: draws beside the rest of the doubt, and one covariance of all."""
    told, whole = learnt
    season = unseen.seasons[0]
    day = int(season.log.trips["start"].astype("int64").median() // DAY_US)
    apart = DaysWater.of(season.water.field, np.array([day]), HOUR, told).on(day)
    one = DaysWater.of(whole, np.array([day]), HOUR).on(day)
    if read:
        temp = one.moments.profile(one.moments.mean + 0.5).temp_c(DEPTHS)
        apart, one = (
            water.with_surface(one.surface[0] + 1.0).with_cast(DEPTHS, temp)
            for water in (apart, one)
        )
    assert apart.follows.shape == (50, one.moments.mean.shape[1])
    assert apart.moments.mean == pytest.approx(one.moments.mean, abs=1e-6)
    assert apart.covariance == pytest.approx(one.covariance, rel=1e-5, abs=1e-7)


def test_draws_of_a_water_go_with_the_draws_of_the_catch_rate(unseen, learnt, rng):
    told, _ = learnt
    season = unseen.seasons[0]
    day = int(season.log.trips["start"].astype("int64").median() // DAY_US)
    water = DaysWater.of(season.water.field, np.array([day]), HOUR, told).on(day)
    many = water.temp_draws(DEPTHS, 4000, rng).reshape(len(DEPTHS), -1, 50).mean(axis=1)
    unknowns = (water.moments.mean + water.follows)[:, None, :]
    own = water.moments.profile(unknowns).temp_c(DEPTHS)[:, 8]
    assert np.corrcoef(many[8], own)[0, 1] > 0.9


def test_a_water_seen_at_its_surface_alone_is_known_by_its_strikes(unseen):
    season = unseen.seasons[0]
    assert days_water([season]) is None
    told = learnt_water(unseen.answer, 0)
    assert len(told.amounts) == len(unseen.answer.fit.draws)
    day = int(np.datetime64(f"{season.log.year}-07-15").astype(int))
    july = days_water([season], told).on(day)
    before = DaysWater.of(season.water.field, np.array([day]), HOUR).on(day)
    assert july.middle[1] < before.middle[1]
