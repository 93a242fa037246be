"""Checks the absolute rates: what the strikes of a season say of a boat's level, and how surely."""

import made_exposure as made
import numpy as np
import pytest

from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
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
    """Nominal 90 % over 600 made seasons of 20 trips whose levels differ by a factor of two."""
    whole = made.exposure(2, trips=20, rods=4, hours=4)
    model = candidates(whole)["constant rate"]
    fit = fit_rate(whole, model, np.random.default_rng(0))
    held = 0
    for seed in range(600):
        rng = np.random.default_rng(seed)
        level = rate * np.exp(rng.normal(0.0, 0.7, 20))
        season = made.with_table(whole, strikes=rng.poisson(level[whole.trip]))
        drawn = trip_levels(season, fit, rng).level.mean(axis=0)
        low, high = np.quantile(drawn, [0.05, 0.95])
        held += low <= level.mean() <= high
    # 600 seasons tell 90 % to within one and a quarter (one standard deviation)
    assert held / 600 == pytest.approx(0.9, abs=0.04)
