"""Owns direct tests of small rules of the rates room that only slow tests looked at."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from analysis.rates.effects import STEPS
from analysis.rates.line_depths import GearLines
from analysis.rates.model_selection import _chance_of_gain, _difference, candidates
from analysis.rates.rods import SPREAD, STEP, _log_mean, rods_of
from analysis.units import to_si


def test_steps_are_round_numbers_of_a_boat():
    assert STEPS["depth_m"] == pytest.approx(float(to_si(5.0, "depth", "ft")))
    assert STEPS["leader_length_m"] == pytest.approx(float(to_si(1.0, "length", "ft")))
    assert STEPS["speed_mps"] == pytest.approx(float(to_si(0.1, "speed", "mph")))


@pytest.mark.parametrize("slope", [-0.8, 0.4])
@pytest.mark.parametrize("bend", [0.0, -0.3])
def test_a_mean_over_a_normal_error_is_that_of_an_integral(slope, bend):
    """Gauss-Hermite by three points against quadrature: Abramowitz & Stegun 25.4.46."""

    def change(x):
        return slope * x + bend * x**2

    true, _ = quad(lambda x: np.exp(change(x)) * norm.pdf(x), -8, 8)
    found = _log_mean([np.array([change(SPREAD)]), np.array([change(-SPREAD)])])
    assert found[0] == pytest.approx(np.log(true), abs=0.03)


def test_a_difference_of_scores_is_a_sum_with_the_error_of_a_sum_over_trips():
    one, other = np.array([2.0, 5.0, 3.0, 6.0]), np.array([1.0, 1.0, 1.0, 1.0])
    gain, se = _difference(one, other, strikes=50)
    assert gain == pytest.approx(24.0)
    assert se == pytest.approx(2.0 * np.std([1.0, 4.0, 2.0, 5.0], ddof=1) * 2.0)
    assert np.isnan(_difference(one[:1], other[:1], strikes=5)[1])


def test_a_gain_on_every_trip_is_sure_and_one_trip_tells_no_chance():
    assert _chance_of_gain(np.array([0.2, 0.5, 0.1])) == 1.0
    assert _chance_of_gain(np.array([-0.2, -0.5, -0.1])) == 0.0
    assert np.isnan(_chance_of_gain(np.array([0.3])))


def test_a_speed_that_scatters_adds_to_the_doubt_of_a_line_as_its_depth_follows_speed(warm):
    season, fit = warm.seasons[0], warm.answer.fit
    known = GearLines.of(season, "diver", None, fit, np.random.default_rng(1))
    lines = np.array([20.0, 30.0])
    still, swaying = (known.depths(2.0, lines, 1.1, scatter) for scatter in (0.0, 0.2))
    fast, slow = (known.depths(2.0, lines, 1.1 * np.exp(step), 0.0) for step in (0.05, -0.05))
    follows = np.log(fast.depth_m / slow.depth_m) / 0.1
    added = np.sqrt(swaying.own_sd**2 - still.own_sd**2)
    assert added == pytest.approx(0.2 * np.abs(follows), rel=0.05)
    # a line longer than asked first reaches as deep by itself
    assert known.depths(2.0, lines[1:], 1.1, 0.0).depth_m[0] == pytest.approx(
        still.depth_m[1], rel=1e-3
    )


def test_rates_with_strays_are_linear_about_the_curves():
    """Against differences of the log of rate and strays together."""
    whole = made.exposure(3, trips=6, shared_sd=0.1)
    model = candidates(whole)["depth alone"]
    rods = replace(rods_of(whole, model), stray=0.05)
    rng = np.random.default_rng(1)
    coef, error = rng.normal(size=model.size), 0.3 * np.ones(2)
    curves, _ = rods.log_rates(coef[None], error[None], 0.0)
    stray = np.log(0.05) + np.quantile(curves, 0.95)

    def log_rate(at, error):
        curves, tackle = rods.log_rates(at[None], error[None], 0.0)
        return (np.logaddexp(curves, stray) + tackle)[:, 0]

    design, more = rods.linear(coef, error, 0.0)
    found = design @ np.append(coef, error) + more
    assert found == pytest.approx(log_rate(coef, error))
    for column, way in enumerate(np.eye(model.size + 2)):
        step = 1e-5 if column < model.size else STEP / 0.1  # depths are shifted by such steps
        one, other = np.split(step * way, [model.size])
        rise = log_rate(coef + one, error + other) - log_rate(coef - one, error - other)
        assert design[:, column] == pytest.approx(rise / (2 * step), abs=1e-6)


def test_a_sets_own_depth_error_is_averaged_over():
    """The mean of the rate over a normal error of log depth, against quadrature by 40 points."""
    whole = made.exposure(3, trips=6)
    sd = np.full(len(whole.table), 0.12)
    whole = replace(whole, set_error_sd=sd)
    model = candidates(whole)["depth alone"]
    rods = rods_of(whole, model)
    coef = np.zeros(model.size)
    coef[:2] = 0.4, -0.8  # a bell: what bends faster than that, three points cannot average
    _, added = rods.linear(coef, np.zeros(rods.errors), 0.0)
    points, weights = np.polynomial.hermite_e.hermegauss(40)
    weights = weights / weights.sum()

    def rate(shift):
        return np.exp(rods.design(np.full(len(rods.sets.row), shift)) @ coef)

    mean = sum(w * rate(0.12 * z) for z, w in zip(points, weights, strict=True))
    assert np.abs(added).max() > 0.01
    assert added == pytest.approx(np.log(mean / rate(0.0)), abs=0.01)
