"""Checks the absolute rates: what the strikes of a season say of a boat's level, and how surely."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest
import statsmodels.api as sm

from analysis.rates.boat_levels import mean_levels
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.slice_rates import mean_shift, rate_of_water, water_values
from analysis.rates.trip_rates import trip_levels


def test_no_strike_leaves_a_rate_that_is_low_not_nothing():
    """Up to 3 strikes are expected where none was met: the rule of three (Hanley &
    Lippman-Hand 1983, JAMA 249(13), 1743-1745, from memory) for a one-sided 95 % bound."""
    whole = made.exposure(1, trips=20)
    whole = whole.with_strikes(np.zeros(len(whole.strike_row), dtype=bool))
    hours = whole.table["hours"].sum()
    rng = np.random.default_rng(0)
    fit = fit_rate(whole, candidates(whole)["constant rate"], rng)
    # every trip has the same rod-hours, and nothing but the counts matters to a constant rate
    high = np.quantile(trip_levels(whole, fit, rng).level.mean(axis=0), 0.95)
    # Jeffreys' prior puts it at 1.9 and trips that differ add to it
    assert 1.0 / hours < high < 6.0 / hours


@pytest.mark.parametrize("rate", [0.01, 0.1])
def test_nine_in_ten_intervals_hold_the_season_s_rate(rate):
    """Nominal 90 % over 200 made seasons of 20 trips whose levels differ by a factor of two."""
    whole = made.exposure(2, trips=20, rods=4, hours=4)
    model = candidates(whole)["constant rate"]
    fit = fit_rate(whole, model, np.random.default_rng(0))
    held = 0
    for seed in range(200):
        rng = np.random.default_rng(seed)
        level = rate * np.exp(rng.normal(0.0, 0.7, 20))
        season = made.with_counts(whole, rng.poisson(level[whole.trip]), rng)
        drawn = trip_levels(season, fit, rng).level.mean(axis=0)
        low, high = np.quantile(drawn, [0.05, 0.95])
        held += low <= level.mean() <= high
    # 200 seasons tell 90 % to within two (one standard deviation)
    assert held / 200 == pytest.approx(0.9, abs=0.05)


def _some_rows(whole, keep):
    """The same season without some of its slices, and without strikes until they are drawn."""
    none = whole.with_strikes(np.zeros(len(whole.strike_row), dtype=bool))
    return none.of_trips(keep)


def _fished_level(season, fit, rng):
    """Mean over trips of the levels drawn (draws,)."""
    return trip_levels(season, fit, rng).level.mean(axis=0)


def _level(season, fit, strikes, rng):
    """The same with so many strikes in each slice."""
    return _fished_level(made.with_counts(season, strikes, rng), fit, rng)


@pytest.fixture(scope="module")
def constant():
    whole = made.exposure(2, trips=40, rods=6, hours=4)
    model = candidates(whole)["constant rate"]
    return whole, fit_rate(whole, model, np.random.default_rng(0))


def test_an_hour_counts_once_however_few_rods_were_down(constant):
    """A third of the rods in hours of thrice the bite: the boat's mean is 2, by rods 1.5."""
    whole, fit = constant
    hour = (whole.start - made.START) // made.US % 48
    rod = whole.table["rod"].str[1:].astype(int).to_numpy()
    season = _some_rows(whole, (hour >= 2) | (rod < 2))
    good = (season.start - made.START) // made.US % 48 < 2
    found = []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        strikes = rng.poisson(np.where(good, 3.0, 1.0))
        found.append(np.median(_level(season, fit, strikes, rng)))
    # 640 strikes a season, 20 seasons: known to a hundredth
    assert np.mean(found) == pytest.approx(2.0, abs=0.05)


def _fished_with_pauses(whole, rate, rng):
    """Four rods a trip for six hours; each strike at a constant rate ends a set for forty minutes.

    Returns the exposure, its slices ended by strikes.
    """
    rows, begun, ended, struck = [], [], [], []
    for at in np.unique(whole.trip):
        of_trip = np.flatnonzero(whole.trip == at)
        for rod in range(4):
            now = 0.0
            while now < 6.0:
                until = now + rng.exponential(1.0 / rate)
                rows.append(of_trip[rod])
                begun.append(now)
                ended.append(min(until, 6.0))
                struck.append(until < 6.0)
                now = until + 2.0 / 3.0
    season = made.with_rows(whole, np.array(rows))
    first = season.start - season.start % made.US
    start, end = (first + np.round(np.multiply(x, made.US)).astype(int) for x in (begun, ended))
    row = np.flatnonzero(struck)
    table = season.table.assign(hours=(end - start) / made.US, strikes=np.array(struck).astype(int))
    return replace(season, table=table, start=start, end=end, strike_row=row, strike_time=end[row])


def test_rods_that_a_fish_took_out_of_the_water_do_not_raise_the_rate(constant):
    """A strike lowers the effort of its own hour, so that a rate by the hour would lean upward.

    Seventy seasons of some 430 strikes at a constant rate, known to 0.6 %.
    """
    whole, fit = constant
    found = []
    for seed in range(70):
        rng = np.random.default_rng(seed)
        found.append(np.median(_fished_level(_fished_with_pauses(whole, 0.6, rng), fit, rng)))
    assert np.mean(found) == pytest.approx(0.6, rel=0.015)


def test_the_mean_level_is_that_of_a_negative_binomial_model():
    """Against statsmodels' GLM of the same shape, on days whose rods follow the bite."""
    rng = np.random.default_rng(4)
    bite = rng.gamma(2.0, 0.5, 80)
    effort = 40.0 * bite**0.5
    strikes = rng.poisson(0.3 * bite * effort).astype(float)
    family = sm.families.NegativeBinomial(alpha=1 / 2.0)
    usual = sm.GLM(strikes, np.ones((80, 1)), family=family, offset=np.log(effort)).fit()
    found = mean_levels(strikes, effort[:, None], np.ones((1, 80)), np.array([[2.0]]))[0, 0]
    half = 0.5 * usual.bse[0] ** 2  # of a strike, Jeffreys' prior
    assert found == pytest.approx(np.exp(usual.params[0]) * (1 + half), rel=1e-3)
    # strikes over rod-hours lean to the good days
    pooled = strikes.sum() / effort.sum()
    assert abs(found - 0.3) < 0.5 * abs(pooled - 0.3)


def test_a_trips_level_is_told_at_the_depths_of_the_same_draw():
    """Against each draw alone, whose mean error is its own; strikes so many that chance is none."""
    whole = made.exposure(5, trips=20, shared_sd=0.15)
    fit = fit_rate(whole, candidates(whole)["depth alone"], np.random.default_rng(0))
    often = 1000 * whole.table["strikes"].to_numpy()
    many = made.with_counts(whole, often, np.random.default_rng(2))
    hours, strikes = (many.table[name].to_numpy(dtype=float) for name in ("hours", "strikes"))
    rows = np.arange(len(hours))
    design, towed = many.tackle(fit.model, rows)
    drawn = np.log(trip_levels(many, fit, np.random.default_rng(1)).level.mean(axis=0))

    def by_hand(draw, alike):
        shift = mean_shift(many, fit, rows, alike)
        water = water_values(many, fit, rows, alike, shift)
        rate = rate_of_water(fit, alike, water, len(rows))[:, alike == draw][:, 0]
        rate = rate * np.exp(design @ fit.draws[draw][~fit.model.of_water])[towed]
        met = np.bincount(many.trip, hours * rate)
        return np.log(np.mean(np.bincount(many.trip, strikes) / met))

    every = np.arange(0, len(fit.draws), 20)
    own = [by_hand(draw, np.array([draw])) for draw in every]
    mean = [by_hand(draw, np.flatnonzero(fit.refit == fit.refit[draw])) for draw in every]
    assert np.std(drawn[every] - own) < 0.6 * np.std(drawn[every] - mean)
    assert np.std(np.subtract(own, mean)) > 0.05
