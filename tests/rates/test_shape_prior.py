"""Checks how draws are weighed by what is known of fish before the log is read."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest
from scipy.spatial import ConvexHull
from scipy.stats import halfcauchy

from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.shape_prior import HOLLOW, ROUNDED, _log_weight, _rounded, weigh
from analysis.rates.terms import (
    DEVIATION_SCALE,
    MOST_OF_DEVIATION,
    MOST_OF_WATER,
    WATER_SCALE,
    RateModel,
)

AT = np.linspace(4.0, 30.0, 53)


@pytest.fixture(scope="module")
def season():
    return made.exposure(21, trips=30, fish=made.Fish(rate=0.06))


@pytest.fixture(scope="module")
def fit(season):
    return fit_rate(season, candidates(season)["depth alone"], np.random.default_rng(1))


def weighed(season, fit, seed=0):
    return weigh(season, fit, np.random.default_rng(seed))


def curves(fit):
    smooth = fit.model.term("depth_m")
    return smooth.design(AT) @ fit.draws[:, fit.model.columns_of("depth_m")].T


def hollow(fit):
    """Whether each draw is lower at 16 m than at 10 and 22 m."""
    at = curves(fit)[np.searchsorted(AT, [10.0, 16.0, 22.0])]
    return at[1] < np.minimum(at[0], at[2])


def with_curves(fit, shapes):
    """The fit with draws that follow given curves, each by least squares in the smooth's basis."""
    basis = np.column_stack([fit.model.term("depth_m").design(AT), np.ones(len(AT))])
    coef, *_ = np.linalg.lstsq(basis, np.column_stack(shapes), rcond=None)
    draws = np.zeros_like(fit.draws)
    draws[:, fit.model.columns_of("depth_m")] = coef[:-1].T  # the level is no part of a curve
    return replace(fit, draws=draws, coef=draws.mean(axis=0))


def prior_draws(fit, count, seed):
    """The fit with draws of its depth curve from before any strike, by scipy's half-Cauchy."""
    rng = np.random.default_rng(seed)
    here = fit.model.columns_of("depth_m")
    draws = np.zeros((count, fit.draws.shape[1]))
    parabola = here.start, 2, WATER_SCALE, MOST_OF_WATER
    deviation = here.start + 2, 9, DEVIATION_SCALE, MOST_OF_DEVIATION
    for first, size, scale, most in (parabola, deviation):
        sd = halfcauchy.rvs(scale=scale, size=4 * count, random_state=rng)
        sd = sd[sd < most][:count]
        draws[:, first : first + size] = sd[:, None] * rng.standard_normal((count, size))
    return replace(fit, draws=draws)


def test_one_peak_outweighs_two_as_bayes_rule_says(season, fit):
    """Half of the draws are a parabola, half have a trough of about two in log rate."""
    one = -0.5 * ((AT - 16) / 6) ** 2
    two = one - 2.0 * np.exp(-0.5 * ((AT - 16) / 2.5) ** 2)
    half = len(fit.draws) // 2
    mixed = with_curves(fit, [one, two] * half)
    before = curves(prior_draws(fit, 4000, 5))
    usual = np.exp(-np.max(_rounded(before) - before, axis=0) / HOLLOW).mean()
    of_any_shape = 1.0 - ROUNDED
    found = weighed(season, mixed)
    expected = of_any_shape / (2.0 * of_any_shape + ROUNDED / usual)
    assert hollow(found.fit).mean() == pytest.approx(expected, abs=0.03)
    assert found.kept == pytest.approx(0.5, abs=0.1)
    assert found.tempering == 1.0


def test_before_any_strike_nothing_is_learnt_of_the_shape(season, fit):
    """Draws of the prior itself leave the chance of a rounded curve where it was.

    Within 0.15: rods did not run in all of the curve's span, and its prior is drawn.
    """
    weight = np.exp(_log_weight(season, prior_draws(fit, 4000, 6)))
    assert weight.mean() == pytest.approx(1.0, abs=0.15)
    assert weight.std() > 1.0


def test_a_hollow_that_all_draws_have_is_not_filled(season, fit):
    """Where each draw has two peaks, one of a deeper trough weighs as much as the others."""
    one = -0.5 * ((AT - 16) / 6) ** 2
    hole = np.exp(-0.5 * ((AT - 16) / 2.5) ** 2)
    deep = np.linspace(1.5, 3.0, len(fit.draws))
    mixed = with_curves(fit, [one - d * hole for d in deep])
    middle = np.searchsorted(AT, 16.0)
    before, after = curves(mixed)[middle], curves(weighed(season, mixed).fit)[middle]
    assert after.mean() == pytest.approx(before.mean(), abs=0.05)


def test_where_every_draw_has_two_peaks_the_log_is_believed(season, fit):
    one = -0.5 * ((AT - 16) / 6) ** 2
    depths = np.linspace(1.5, 2.5, len(fit.draws))
    hole = np.exp(-0.5 * ((AT - 16) / 2.5) ** 2)
    found = weighed(season, with_curves(fit, [one - d * hole for d in depths]))
    assert hollow(found.fit).mean() > 0.9
    assert found.kept >= 0.1


def test_where_rods_ran_does_not_weigh(season, fit):
    """Two bells that fit alike keep their odds however few rod-hours one of them had."""
    depth = season.table["depth_m"].to_numpy()
    thinned = season.of_trips((depth < 20) | (np.arange(len(depth)) % 4 == 0))
    bells = [-0.5 * ((AT - best) / 5) ** 2 for best in (10.5, 25.5)]
    found = weighed(thinned, with_curves(fit, bells * (len(fit.draws) // 2)))
    shallow = (curves(found.fit).argmax(axis=0) < len(AT) // 2).mean()
    assert shallow == pytest.approx(0.5, abs=0.01)


def test_nothing_is_invented(season, fit):
    """Every draw left is one that there was, with its depth errors and its refit."""
    found = weighed(season, fit).fit
    before = {tuple(row) for row in np.column_stack([fit.draws, fit.error_draws, fit.refit])}
    after = {tuple(row) for row in np.column_stack([found.draws, found.error_draws, found.refit])}
    assert after <= before
    assert found.draws.shape == fit.draws.shape
    np.testing.assert_allclose(found.coef, found.draws.mean(axis=0))
    assert (np.diff(found.refit) >= 0).all()


def test_many_strikes_leave_little_to_weigh():
    """With a thousand strikes the curve is the log's: its mean moves by a fraction of its doubt."""
    season = made.exposure(22, trips=60, fish=made.Fish(rate=1.0))
    fit = fit_rate(season, candidates(season)["depth alone"], np.random.default_rng(1))
    assert fit.strikes > 700
    inner = (AT > 8) & (AT < 26)
    before, after = curves(fit)[inner], curves(weighed(season, fit).fit)[inner]
    moved = np.abs(before.mean(axis=1) - after.mean(axis=1))
    assert (moved < 0.5 * before.std(axis=1)).all()


def test_a_curve_that_turns_up_at_an_edge_is_outweighed_by_one_that_levels_off(season, fit):
    bell = -0.5 * ((AT - 22) / 9) ** 2
    flares = bell + 2.0 * np.clip((AT - 22) / 8, 0, None) ** 2  # odds by Bayes' rule: 1 to 18
    found = weighed(season, with_curves(fit, [bell, flares] * (len(fit.draws) // 2)))
    assert (curves(found.fit)[-1] > curves(found.fit)[AT == 22][0]).mean() < 0.1


def test_hollow_is_the_distance_to_the_convex_hull(season, fit):
    """Against the hull of the points themselves by scipy's Qhull."""
    rng = np.random.default_rng(4)
    curve = np.cumsum(rng.normal(size=(40, 5)), axis=0)
    x = np.arange(40.0)
    for one, above in zip(curve.T, _rounded(curve).T, strict=True):
        below = one.min() - 1.0
        points = np.column_stack([np.r_[x, x[0], x[-1]], np.r_[one, below, below]])
        corners = np.unique(ConvexHull(points).vertices)
        corners = corners[corners < 40]
        np.testing.assert_allclose(above, np.interp(x, x[corners], one[corners]), atol=1e-9)


def test_without_curves_all_draws_weigh_the_same(season, fit):
    empty = replace(fit, model=RateModel(terms=()), draws=np.zeros((len(fit.draws), 0)))
    found = weighed(season, empty)
    assert found.kept == pytest.approx(1.0)
    np.testing.assert_array_equal(np.unique(found.fit.refit), np.unique(fit.refit))


def test_fifteen_strikes_do_not_flatten_the_curve():
    """The rate two widths from the best depth is an eighth; it is seldom told to be far more.

    Of 80 intervals with 5 % below them, 10 or more have the truth there by chance once in 150.
    With a `WATER_SCALE` of 1, as of tackle, one in seven had.
    """
    fish = made.Fish(rate=0.05)
    at = fish.best_m + np.array([-2.0, 0.0, 2.0]) * fish.width_m
    true = fish.log_rate(at) - fish.log_rate(fish.best_m)
    below = []
    for seed in range(100, 140):
        few = made.exposure(seed, trips=20, fish=fish)
        alone = fit_rate(few, candidates(few)["depth alone"], np.random.default_rng(seed))
        told = weighed(few, alone, seed).fit
        columns = told.model.columns_of("depth_m")
        curve = told.model.term("depth_m").design(at) @ told.draws[:, columns].T
        below.extend(np.mean(curve - curve[1] < true[:, None], axis=1)[[0, 2]] < 0.05)
    assert np.mean(below) <= 0.12
