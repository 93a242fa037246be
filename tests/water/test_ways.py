"""Owns the tests of the main ways in which a water may differ from the likeliest."""

import pickle

import made_water as made
import numpy as np
import pytest

from analysis.rates.latent_water import LatentWater
from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import DAY_US
from analysis.water.prior import Prior, season_of
from analysis.water.ways import MOST_WAYS, main_ways


def water_with(casts):
    days = made.trip_days(1, 30)
    told = made.thermometers(made.made_water("tanh", 1), days, 1, casts=casts)
    return Water(fit=fit_water(told, Prior()))


@pytest.fixture(scope="module")
def unseen():
    return water_with(())


def test_a_day_is_of_its_calendar_year():
    assert season_of(np.array([made.START])).tolist() == [2026.0]


def test_without_casts_a_few_ways_hold_most_of_the_doubt(unseen):
    ways = main_ways(unseen, 2026)
    assert 2 <= ways.count <= MOST_WAYS
    time = np.repeat((np.array([40.0, 90.0, 140.0]) + made.START) * DAY_US, 8).astype(np.int64)
    depth = np.tile(np.linspace(2.0, 30.0, 8), 3)
    whole, rest = unseen.middle(time)[1], ways.rest.middle(time)[1]
    assert (rest < 0.75 * whole).all()
    assert ways.at(time).temp_c(depth, np.zeros(ways.count)) == pytest.approx(
        unseen.at_height(time, depth)
    )


def test_casts_on_each_trip_leave_no_way_open():
    assert main_ways(water_with(range(30)), 2026).count == 0


def test_slopes_are_those_of_the_temperature(unseen):
    """Against central differences."""
    ways = main_ways(unseen, 2026)
    time = np.full(6, int((made.START + 80.2) * DAY_US))
    depth, amount = np.linspace(1.0, 28.0, 6), np.full(ways.count, 0.4)
    moving = ways.at(time)
    temp, slopes = moving.slopes(depth, amount)
    assert temp == pytest.approx(moving.temp_c(depth, amount))
    for way in range(ways.count):
        step = 1e-4 * np.eye(ways.count)[way]
        up, down = moving.temp_c(depth, amount + step), moving.temp_c(depth, amount - step)
        assert slopes[:, way] == pytest.approx((up - down) / 2e-4, abs=1e-5)
    assert ways.moved(amount).at_height(time, depth) == pytest.approx(temp)


def test_ways_that_another_process_sent_are_of_the_same_water(unseen):
    ways = main_ways(unseen, 2026)
    sent = pickle.loads(pickle.dumps(ways))
    assert sent is not ways
    assert LatentWater.joined([LatentWater.of(ways), LatentWater.of(sent)]).waters == (ways,)
    further = main_ways(water_with((3,)), 2026)
    both = LatentWater.joined([LatentWater.of(part) for part in (ways, further, sent)])
    assert both.of_log == (0, 1, 0)
    assert both.count == ways.count + further.count
