"""Owns the tests of the rare strike anywhere: a rate below which no water takes a rod."""

from dataclasses import dataclass

import made_exposure as made
import numpy as np
import pytest
from scipy.integrate import quad

from analysis.rates.background import MEAN_SHARE, drawn_place, share_at, with_background
from analysis.rates.effects import effect_table
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.trip_rates import rate_of_water
from analysis.stats.risk_sets import RiskSets

DRAWS = 8_000
FLOOR = 0.08


@dataclass(frozen=True)
class Straying(made.Fish):
    """A sharp best depth, and a share of its rate everywhere else."""

    width_m: float = 2.5

    def log_rate(self, depth_m, temp_c=10.0):
        bell = made.Fish.log_rate(self, depth_m, temp_c)
        return np.maximum(bell, np.log(FLOOR * self.rate))


def pairs(near, far):
    """Two rods down at each strike, one at the best depth; how often each struck."""
    hit = np.array([[1.0, 0.0]] * near + [[0.0, 1.0]] * far).ravel()
    moment = np.repeat(np.arange(near + far), 2)
    return RiskSets(row=np.arange(len(hit)), moment=moment, hit=hit)


@pytest.mark.parametrize(("near", "far"), [(40, 0), (40, 2), (300, 15)])
def test_its_posterior_is_that_of_numerical_integration(near, far):
    """Against scipy's quadrature of prior times binomial likelihood."""
    sets = pairs(near, far)
    curves = np.tile([1.0, 1e-6], near + far)[:, None] * np.ones(DRAWS)
    rng = np.random.default_rng(1)
    found = share_at(drawn_place(sets, curves, np.ones_like(curves), 1.0, rng))

    def density(b, power=0):
        return b**power * np.exp(-b / MEAN_SHARE) * b**far / (1 + b) ** (near + far)

    whole = quad(density, 0, 1, epsabs=0)[0]
    mean = quad(density, 0, 1, args=(1,), epsabs=0)[0] / whole
    # eight looks at the prior stand for all of it: a tenth of the mean
    assert found.mean() == pytest.approx(mean, rel=0.1)


def test_where_no_rod_left_the_best_depth_the_prior_is_left():
    sets = pairs(30, 10)
    place = drawn_place(sets, np.ones((80, DRAWS)), np.ones((80, DRAWS)), 1.0, made_rng())
    assert np.quantile(place, [0.1, 0.5, 0.9]) == pytest.approx([0.1, 0.5, 0.9], abs=0.02)


def made_rng():
    return np.random.default_rng(3)


@pytest.fixture(scope="module")
def season():
    whole = made.exposure(6, trips=60, fish=Straying())
    fit = fit_rate(whole, candidates(whole)["depth alone"], made_rng())
    return whole, fit, with_background(whole, fit, made_rng())


def test_a_tail_of_strays_is_inside_its_interval(season):
    whole, fit, strays = season
    bare, held = effect_table(whole, fit), effect_table(whole, strays)
    tail = (held["term"] == "depth_m") & (held["at"] > 26.0)
    best = held.loc[held["term"] == "depth_m", "ratio"].max()
    assert tail.any()
    true = FLOOR * best
    assert (held.loc[tail, "low"] < true).all()
    assert (true < held.loc[tail, "high"]).all()
    assert (bare.loc[tail, "low"] < held.loc[tail, "low"]).all()


def test_no_slice_is_below_it_and_none_above_it_is_changed(season):
    whole, fit, strays = season
    row = np.arange(len(whole.table))
    draws = np.flatnonzero(fit.refit == 0)
    bare, held = (rate_of_water(whole, one, row, draws) for one in (fit, strays))
    least = strays.background[draws]
    assert (held >= least).all()
    above = bare > least
    assert 0 < above.sum() < above.size
    np.testing.assert_array_equal(held[above], bare[above])


def test_no_strike_no_background(season):
    whole, fit, _ = season
    none = whole.with_strikes(np.zeros(len(whole.strike_row), dtype=bool))
    unfitted = fit_rate(none, fit.model, made_rng())
    assert not with_background(none, unfitted, made_rng()).background.any()
