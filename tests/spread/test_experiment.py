"""Owns the tests of the two line-outs that a trip should compare, and for how long."""

from types import SimpleNamespace

import numpy as np
import pytest

from analysis.spread.expected import LineRates
from analysis.spread.experiment import _worth, experiment

SEASON_H = 200.0
LINES_M = np.array([20.0, 30.0, 40.0])


def advised(log_rates, best=0, gear="diver"):
    """One gear and setting of three line-outs; a real `Advised` holds much that is not asked."""
    rates = LineRates(line_out_m=LINES_M, depth_m=LINES_M / 2, rate=np.exp(log_rates))
    advice = SimpleNamespace(rates=rates, line_out_m=LINES_M[best])
    return SimpleNamespace(gear=gear, setting=2.0, advice=advice)


def scattered(rng, means, sds):
    return np.asarray(means) + np.asarray(sds) * rng.standard_normal((4000, 3))


@pytest.mark.parametrize(("mean", "sd", "variance"), [(0.0, 0.5, 0.2), (0.3, 0.4, 0.5)])
def test_what_a_comparison_is_worth_is_that_of_simulated_ones(rng, mean, sd, variance):
    """Truths drawn, each measured with noise, and the choice made by the posterior mean."""
    truth = mean + sd * rng.standard_normal(400_000)
    seen = truth + np.sqrt(variance) * rng.standard_normal(len(truth))
    posterior = (mean / sd**2 + seen / variance) / (1 / sd**2 + 1 / variance)
    worth = np.mean(np.maximum(posterior, 0.0)) - max(mean, 0.0)
    found = _worth(np.array([mean]), np.array([sd]), np.array([variance]))
    assert found[0] == pytest.approx(worth, abs=0.002)


def test_it_compares_the_line_that_may_be_better_not_one_that_is_surely_worse(rng):
    log = np.log(0.2) + scattered(rng, [0.0, -0.1, -2.0], [0.01, 0.5, 0.5])
    found = experiment([advised(log)], SEASON_H)
    assert (found.line_out_m, found.other_m) == (20.0, 30.0)
    assert found.chance == pytest.approx(np.mean(log[:, 0] > log[:, 1]))


def test_its_hours_halve_the_doubt(rng):
    """By grids of both rates: a normal prior of their ratio, Poisson strikes of so many hours."""
    log = np.log(0.5) + scattered(rng, [0.0, -0.1, -3.0], [0.0, 0.3, 0.01])
    hours = experiment([advised(log)], SEASON_H).hours
    ratio = np.linspace(-2.0, 2.0, 4001)
    left = []
    for _ in range(400):
        true = -0.1 + 0.3 * rng.standard_normal()
        one, other = rng.poisson(0.5 * hours), rng.poisson(0.5 * np.exp(true) * hours)
        # given their sum, the other's share of the strikes is binomial
        share = 1 / (1 + np.exp(-ratio))
        weight = -0.5 * ((ratio + 0.1) / 0.3) ** 2
        weight = weight + other * np.log(share) + one * np.log1p(-share)
        weight = np.exp(weight - weight.max())
        mean = np.average(ratio, weights=weight)
        left.append(np.sqrt(np.average((ratio - mean) ** 2, weights=weight)))
    assert np.mean(left) == pytest.approx(0.15, rel=0.05)


def test_of_several_gears_the_one_with_the_open_question_is_taken(rng):
    sure = np.log(0.2) + scattered(rng, [0.0, -1.0, -1.0], [0.02, 0.02, 0.02])
    unsure = np.log(0.2) + scattered(rng, [0.0, -0.05, -1.0], [0.02, 0.5, 0.02])
    assert experiment([advised(sure, gear="core"), advised(unsure)], SEASON_H).gear == "diver"


def test_where_little_is_left_to_learn_nothing_is_asked(rng):
    """Both nearly known, or so rare a strike that twenty hours tell nothing of an open doubt."""
    known = np.log(0.2) + scattered(rng, [0.0, -0.05, -1.0], [0.02, 0.02, 0.02])
    rare = np.log(1e-4) + scattered(rng, [0.0, -0.05, -1.0], [0.02, 0.3, 0.3])
    assert experiment([advised(known)], SEASON_H) is None
    assert experiment([advised(rare)], SEASON_H) is None
    assert experiment([], SEASON_H) is None


def test_a_comparison_that_takes_many_seasons_is_not_asked_for(rng):
    """Of two line-outs hardly apart little is to be learnt, and it takes thousands of hours."""
    alike = np.log(0.5) + scattered(rng, [0.0, 0.0, -1.0], [0.0, 0.1, 0.01])
    asked = experiment([advised(alike)], 5000.0)
    assert 400.0 < asked.hours < 10_000.0
    assert experiment([advised(alike)], 200.0) is None
