"""Owns the tests of a boat's tackle mix: effects of leader and gear over its own rod-hours."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest

from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.trip_rates import trip_levels

RIGGER = np.log([1.5, 2.0])
"""Log of how many times a rigger's rate is a diver's, in each of two kinds of draw."""


@pytest.fixture(scope="module")
def season():
    """Two boats; the second leaves most of its divers in the locker."""
    one, other = made.exposure(31, trips=8), made.exposure(32, trips=6)
    rng = np.random.default_rng(3)
    hours = np.where(other.table["gear"] == "diver", 0.25, 1.0) * rng.uniform(
        0.5, 1, len(other.trip)
    )
    return made.joined(one, made.with_table(other, hours=hours), boats=True)


@pytest.fixture(scope="module")
def fit(season):
    """A fit whose draws say one thing: riggers take more, by one factor or by another."""
    whole = fit_rate(season, next(iter(candidates(season).values())), np.random.default_rng(0))
    model = whole.model
    draws = np.zeros_like(whole.draws)
    levels = list(season.table["gear_setting"].cat.categories)
    rigger = range(model.size)[model.columns_of("gear_setting")][levels.index("rigger")]
    draws[:, rigger] = RIGGER[np.arange(len(draws)) % 2]
    return replace(whole, draws=draws, told=np.eye(model.size))


def mix_of(season, fit):
    return trip_levels(season, fit, np.random.default_rng(1)).mix


def share_of_riggers(season, rows):
    hours = season.table["hours"].to_numpy()
    rigger = (season.table["gear"] == "rigger").to_numpy()
    return hours[rows & rigger].sum() / hours[rows].sum()


def test_a_boat_s_mix_is_the_mean_factor_over_its_own_rod_hours(season, fit):
    log = season.table["log_number"].to_numpy()
    mix = mix_of(season, fit)
    told = []
    for boat in (0, 1):
        share = share_of_riggers(season, log == boat)
        expected = 1 + share * (np.exp(RIGGER) - 1)
        for trip in np.unique(season.trip[log == boat]):
            assert mix[trip, :2] == pytest.approx(expected)
        told.append(share)
    assert told[0] == pytest.approx(0.5)
    assert told[1] > 0.75


def test_the_mix_is_of_all_the_boat_s_hours_whatever_a_trip_towed(season, fit):
    """One trip with riggers alone: a rate is at the season's mix, so its trip has that too."""
    rigger = (season.table["gear"] == "rigger").to_numpy()
    kept = season.of_trips(rigger | (season.trip != 2))
    mix = mix_of(kept, fit)
    share = share_of_riggers(kept, (kept.table["log_number"] == 0).to_numpy())
    assert share > 0.5
    assert mix[2, :2] == pytest.approx(1 + share * (np.exp(RIGGER) - 1))


def test_a_factor_that_no_strike_tells_cancels_against_the_trip_s_level(season, fit):
    """The same draws, of which nothing is told: each trip then stands at its own mix."""
    untold = replace(fit, told=np.zeros_like(fit.told))
    rigger = (season.table["gear"] == "rigger").to_numpy()
    kept = season.of_trips(rigger | (season.trip != 2))
    mix = mix_of(kept, untold)
    assert mix[2, :2] == pytest.approx(np.exp(RIGGER))  # riggers alone
    for trip in (0, 10):
        share = share_of_riggers(kept, kept.trip == trip)
        assert mix[trip, :2] == pytest.approx(1 + share * (np.exp(RIGGER) - 1))


def test_a_boat_with_no_known_depth_has_a_mix_of_one(season, fit):
    log = season.table["log_number"].to_numpy()
    depth = np.where(log == 1, np.nan, season.table["depth_m"])
    mix = mix_of(made.with_table(season, depth_m=depth), fit)
    assert (mix[season.trip[log == 1].min() :] == 1.0).all()
    assert (mix[0] > 1.2).all()
