"""Owns the tests of the height of the water's layers, and of what strikes tell about it."""

from __future__ import annotations

import made_exposure as made
import numpy as np
import pytest
from scipy.linalg import block_diag

from analysis.rates.fit import TACKLE_SD, fit_rate
from analysis.rates.model_selection import candidates
from analysis.stats.latent_shift import CHANCES, LOOKS, Layers

NEAR = np.exp(-np.abs(np.subtract.outer(np.arange(4.0), np.arange(4.0))) / 1.5)


def settled(layers, log_likelihood):
    for _ in range(30):
        layers = layers.told(log_likelihood)
    return layers


def test_before_a_strike_the_moments_are_the_prior():
    mean, covariance = Layers.untold(NEAR, doubtful=True).moments
    np.testing.assert_allclose(mean, 0.0)
    np.testing.assert_allclose(covariance, NEAR)


def test_heights_seen_with_normal_error_are_those_of_gaussian_process_regression():
    """Rasmussen & Williams 2006, eq. 2.23-2.24, from memory."""
    seen, noise = np.array([0.8, -0.3, 0.0, 0.5]), np.array([2.0, 1.5, np.inf, 2.5])
    log = -0.5 * ((LOOKS - seen[:, None]) / noise[:, None]) ** 2
    mean, covariance = settled(Layers.untold(NEAR, doubtful=True), log).moments
    told = np.isfinite(noise)
    gain = NEAR[:, told] @ np.linalg.inv(NEAR[np.ix_(told, told)] + np.diag(noise[told] ** 2))
    np.testing.assert_allclose(mean, gain @ seen[told], atol=0.03)
    np.testing.assert_allclose(covariance, NEAR - gain @ NEAR[told], atol=0.03)


def test_a_trip_without_strikes_learns_from_its_neighbour():
    log = np.zeros((4, len(LOOKS)))
    log[1] = 1.5 * LOOKS
    mean, covariance = settled(Layers.untold(NEAR, doubtful=True), log).moments
    assert mean[1] > mean[0] > mean[3] > 0
    assert mean[0] == pytest.approx(mean[2])
    assert covariance[1, 1] < 1


def test_two_boats_have_nothing_to_do_with_each_other():
    both = block_diag(NEAR, NEAR)
    log = np.zeros((8, len(LOOKS)))
    log[1] = 1.5 * LOOKS
    alone = settled(Layers.untold(NEAR, doubtful=True), log[:4]).moments
    mean, covariance = settled(Layers.untold(both, doubtful=True), log).moments
    np.testing.assert_allclose(mean, np.r_[alone[0], np.zeros(4)], atol=1e-12)
    np.testing.assert_allclose(covariance, block_diag(alone[1], NEAR), atol=1e-12)


def test_draws_have_the_moments():
    log = np.zeros((4, len(LOOKS)))
    log[1] = 1.5 * LOOKS
    layers = settled(Layers.untold(NEAR, doubtful=True), log)
    rng = np.random.default_rng(6)
    draws = np.array([layers.draw(rng) for _ in range(8000)])
    mean, covariance = layers.moments
    np.testing.assert_allclose(draws.mean(axis=0), mean, atol=0.04)
    np.testing.assert_allclose(np.cov(draws.T), covariance, atol=0.05)


def test_where_nothing_is_in_doubt_there_is_one_look_and_nothing_is_learnt():
    layers = Layers.untold(NEAR, doubtful=False)
    assert layers.looks.tolist() == [0.0]
    assert layers.told(np.ones((4, 1))) is layers


def test_information_is_the_second_derivative_of_the_mean_likelihood():
    """Louis' formula against differences, for trips that know nothing of each other."""
    rng = np.random.default_rng(2)
    trips, coef, step = 5, 0.7, 1e-3
    seen = rng.normal(size=trips)

    def parts(b):  # log-likelihood of each trip at each look, normal about b times the height
        return -0.5 * (seen[:, None] - b * LOOKS) ** 2 - 0.3 * (seen[:, None] * b) ** 2

    def mean(b):
        return float(np.sum(np.log(np.exp(parts(b)) @ CHANCES)))

    layers = Layers.untold(np.eye(trips), doubtful=True).told(parts(coef))
    slope = (parts(coef + step) - parts(coef - step)) / (2 * step)
    bend = (parts(coef + step) - 2 * parts(coef) + parts(coef - step)) / step**2
    scores = (layers.chances * slope)[:, :, None]
    observed = -np.sum(layers.chances * bend) - layers.missing(scores)[0, 0]
    differences = -(mean(coef + step) - 2 * mean(coef) + mean(coef - step)) / step**2
    assert observed == pytest.approx(differences, rel=1e-3)


def test_scores_that_follow_the_heights_vary_as_the_heights_do():
    """Of scores that are multiples of the heights, what is missing is the multiples' variance."""
    log = np.zeros((4, len(LOOKS)))
    log[1], log[2] = -0.5 * ((LOOKS - 1.0) / 0.7) ** 2, -0.5 * (LOOKS + 0.5) ** 2
    layers = settled(Layers.untold(NEAR, doubtful=True), log)
    times = np.array([1.0, -0.5, 2.0, 0.3])
    scores = (layers.chances * times[:, None] * LOOKS)[:, :, None]
    _, covariance = layers.moments
    assert covariance[1, 1] < 0.6  # so that a wrong scale shows
    assert layers.missing(scores)[0, 0] == pytest.approx(times @ covariance @ times, rel=0.03)


def test_layers_that_wander_no_longer_flatten_the_temperature(monkeypatch):
    """Fish that keep to 10 C in layers 2.5 m off: taken for sure, the bell comes out too flat."""
    monkeypatch.setattr("analysis.rates.fit.TACKLE_SD", 0.0)  # depths are exact here
    flat, told = [], []
    for seed in range(3):
        layers = 2.5 * np.random.default_rng(100 + seed).standard_normal(60)
        fish = made.Fish(width_m=np.inf, width_c=2.0, rate=0.4)
        known = {"trips": 60, "fish": fish, "layers_m": layers}
        for doubt, found in ((0.0, flat), (2.5, told)):
            season = made.exposure(seed, layer_doubt_m=doubt, **known)
            fit = fit_rate(
                season, candidates(season)["temperature alone"], np.random.default_rng(seed)
            )
            term = fit.model.term("lure_temp_c")
            curve = (
                term.design(np.array([7.0, 10.0, 14.0]))
                @ fit.draws[:, fit.model.columns_of("lure_temp_c")].T
            )
            found.append(np.median(curve[[0, 2]] - curve[1], axis=1))
    true = -0.5 * (np.array([3.0, 4.0]) / 2.0) ** 2
    off_flat, off_told = (np.abs(np.mean(found, axis=0) - true) for found in (flat, told))
    assert (np.mean(flat, axis=0) > true).all()
    assert (off_told < 0.6 * off_flat).all()


def test_where_strikes_cannot_tell_fish_from_layers_the_fit_says_so(monkeypatch):
    """As in one simulated season of 200: more information seemed missing than there was."""
    season = made.exposure(1, trips=20, fish=made.Fish(rate=0.3), layer_doubt_m=2.0)
    model = candidates(season)["temperature alone"]
    assert fit_rate(season, model, np.random.default_rng(1)).status == "fitted"
    monkeypatch.setattr(Layers, "missing", lambda _, scores: 1e3 * np.eye(scores.shape[2]))
    fit = fit_rate(season, model, np.random.default_rng(1))
    assert fit.status == "did not converge"
    assert np.isfinite(fit.draws).all()


def test_sets_that_err_on_their_own_flatten_the_temperature_less(monkeypatch):
    """Fish that keep to 10 C, sets 10 % off their depth: what they err by is in no log."""
    off = {}
    true = -0.5 * (np.array([3.0, 4.0]) / 2.0) ** 2
    for sd in (0.0, TACKLE_SD):
        monkeypatch.setattr("analysis.rates.fit.TACKLE_SD", sd)
        found = []
        for seed in range(6):
            fish = made.Fish(width_m=np.inf, width_c=2.0, rate=0.4)
            season = made.exposure(seed, trips=60, fish=fish, set_sd=0.1)
            model = candidates(season)["temperature alone"]
            fit = fit_rate(season, model, np.random.default_rng(seed))
            at = fit.model.term("lure_temp_c").design(np.array([7.0, 10.0, 14.0]))
            curve = at @ fit.draws[:, fit.model.columns_of("lure_temp_c")].T
            found.append(np.median(curve[[0, 2]] - curve[1], axis=1))
        off[sd] = np.mean(found, axis=0) - true
    assert (off[0.0] > 0.1).all()
    assert (np.abs(off[TACKLE_SD]) < 0.85 * off[0.0]).all()
