"""Owns the tests of the water against made waters whose forms are not the model's."""

import made_water as made
import numpy as np
import pytest

from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import DAY_US
from analysis.water.prior import Prior

SEEDS = range(8)


def errors(form, seeds=SEEDS, **thermometers):
    """Root mean square error of lures' temperatures, and coverage of their 90 % intervals."""
    square, inside = [], []
    for seed in seeds:
        water, days = made.made_water(form, seed), made.trip_days(seed)
        fit = fit_water(made.thermometers(water, days, seed, **thermometers), Prior())
        assert fit.converged
        time, depth = made.lures(days, seed)
        mean, sd = Water(fit=fit).at(time, depth)
        off = mean - water.temp(time / DAY_US, depth)
        square.append(np.mean(off**2))
        inside.append(np.mean(np.abs(off) < 1.645 * sd))
    return np.sqrt(np.mean(square)), np.mean(inside)


@pytest.mark.parametrize("form", made.FORMS)
def test_casts_of_each_trip_tell_the_lures_temperature(form):
    rmse, inside = errors(form, casts=range(70))
    assert rmse < 0.5
    assert 0.85 <= inside <= 0.97


@pytest.mark.parametrize("form", made.FORMS)
def test_a_probe_at_the_ball_tells_it_nearly_as_well(form):
    rmse, inside = errors(form, probe=True)
    assert rmse < 0.7
    assert 0.85 <= inside <= 0.97


def test_a_probe_that_is_towed_anywhere_tells_less():
    rmse, inside = errors("tanh", probe="anywhere")
    assert 0.7 < rmse < 1.1
    assert 0.85 <= inside <= 0.97


@pytest.mark.parametrize("form", ["erf", "exponential"])
def test_the_surface_alone_leaves_the_doubt_that_it_leaves(form):
    """Nothing tells the thermocline but the season of the year: wide, and said to be."""
    rmse, inside = errors(form, seeds=range(8))
    assert rmse < 3.0
    assert inside >= 0.85


def test_each_further_thermometer_lessens_the_doubt():
    water, days = made.made_water("tanh", 1), made.trip_days(1)
    time, depth = made.lures(days, 1)
    doubts = []
    for told in ({}, {"casts": range(0, 70, 10)}, {"casts": range(0, 70, 10), "probe": True}):
        fit = fit_water(made.thermometers(water, days, 1, **told), Prior())
        doubts.append(np.mean(Water(fit=fit).at(time, depth)[1]))
    assert doubts[0] > 2 * doubts[1]
    assert doubts[1] > doubts[2]


def test_draws_have_the_mean_and_doubt_that_are_told_and_go_together_in_time():
    water, days = made.made_water("tanh", 2), made.trip_days(2, 20)
    fit = fit_water(made.thermometers(water, days, 2, casts=range(0, 20, 7)), Prior())
    field = Water(fit=fit)
    time = np.round((days[8] + np.array([0.1, 0.3, 40.0])) * DAY_US).astype(np.int64)
    depth = np.full(3, 12.0)
    drawn = field.draw(time, depth, 3000, np.random.default_rng(1))
    mean, sd = field.at(time, depth)
    np.testing.assert_allclose(drawn.mean(axis=0), mean, atol=0.25)
    np.testing.assert_allclose(drawn.std(axis=0), sd, rtol=0.25)
    together = np.corrcoef(drawn.T)
    assert together[0, 1] > 0.7
    assert together[0, 1] > together[0, 2] + 0.2


def test_an_earlier_season_is_the_usual_shape_of_this_one():
    """Casts of last year, surface readings of this one: better told than without last year."""
    gained = []
    for seed in range(4):
        year = made.made_water("tanh", seed)
        days = made.trip_days(seed)
        parts = made.parts_of(year, days, seed)
        last = made.parts_of(year, days, seed + 50, casts=range(0, 70, 3), back_days=365.0)
        time, depth = made.lures(days, seed)
        truth = year.temp(time / DAY_US, depth)
        rmse = []
        for rows in (parts, parts + last):
            field = Water(fit=fit_water(made.together(rows), Prior()))
            rmse.append(np.sqrt(np.mean((field.at(time, depth)[0] - truth) ** 2)))
        gained.append(rmse[1] / rmse[0])
    assert np.mean(gained) < 0.8
