"""Owns the tests of plain likings: of the water, or of a depth, and how likely each is."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import dblquad

from analysis.decision.leads import what_they_follow
from analysis.rates.build_exposure import join
from analysis.rates.exposure import SHIFTS
from analysis.rates.learn_water import learn_water
from analysis.rates.liking import LIKED_LOG_SD, WIDTH_LOG_LOG_SD, OfDepth, OfTemperature
from analysis.rates.model_selection import candidates
from analysis.rates.rods import rods_of
from analysis.rates.standardised import BoatHours
from data.scenario import SCENARIOS


@pytest.fixture(scope="module")
def warm(known):
    return known("no_casts", 1)


@pytest.fixture(scope="module")
def deep(known):
    """Fish keep to a depth, and no thermometer went below the surface."""
    return known(SCENARIOS["chasing_confounded"].but(casts="none", name="deep"), 1)


@pytest.fixture(scope="module")
def rods(warm):
    whole = join(warm.seasons)
    return rods_of(whole, next(iter(candidates(whole).values())))


@pytest.mark.parametrize("kind", [OfDepth, OfTemperature])
def test_scores_are_the_slope_of_the_log_likelihood(kind, rods):
    """Against central differences."""
    liking = kind.of(rods)
    at = liking.mean + 0.1
    step = 1e-5 * np.eye(len(at))
    slope = [
        (liking.look(at + h).log_likelihood - liking.look(at - h).log_likelihood) / 2e-5
        for h in step
    ]
    assert liking.look(at).scores.sum(axis=0) == pytest.approx(np.array(slope), abs=1e-4)


def test_the_evidence_is_the_integral_over_the_prior(rods):
    """Against adaptive quadrature (QUADPACK) over the depth liked and the width, without tackle."""
    bare = replace(rods, model=replace(rods.model, terms=()))
    liking = OfDepth.of(bare)
    peak = liking.peak()
    usual = 2 * np.pi * LIKED_LOG_SD * WIDTH_LOG_LOG_SD

    def density(width, log_depth):
        at = np.array([log_depth, width])
        away = at - liking.mean
        prior = -0.5 * away @ liking.precision @ away
        return np.exp(liking.look(at).log_likelihood + prior - peak.log_posterior) / usual

    (low, left), (high, right) = peak.at - 0.7, peak.at + 0.7
    whole, _ = dblquad(density, low, high, left, right, epsrel=1e-3)
    assert liking.log_evidence(peak, 1.0) == pytest.approx(
        peak.log_posterior + np.log(whole), abs=0.1
    )


def test_fish_that_follow_a_temperature_are_told_from_those_that_keep_to_a_depth(warm, deep):
    """Truth: the simulations' own preferences."""
    assert warm.answer.exposure.latent.followed > 0.9
    assert deep.answer.exposure.latent.followed < 0.1
    assert what_they_follow(warm.answer) == "temperature"
    assert what_they_follow(deep.answer) == "depth"
    assert "chance that fish follow a temperature" in deep.answer.choice.why


def test_strikes_of_fish_that_keep_to_a_depth_do_not_move_the_water(deep):
    """Truth: the simulation's own water at each set; its strikes, read as a liking, mislead."""
    exposure, fit = deep.answer.exposure, deep.answer.fit
    sure = int(np.argmin(np.abs(SHIFTS)))
    line = deep.seasons[0].effort.sets.set_index("set")["line"]
    true = deep.simulated.truth.sets["temp_c"].to_numpy()
    true_c = true[line.reindex(exposure.table["set"]).to_numpy() - 2]
    hours = exposure.table["hours"].to_numpy()

    def off_c(amounts):
        told = [exposure.in_water(amount).temperature_c[:, sure] for amount in amounts]
        return np.sqrt(np.average((np.mean(told, axis=0) - true_c) ** 2, weights=hours))

    untold = off_c([np.zeros(exposure.latent.count)])
    assert off_c(exposure.latent.draws) > 1.2 * untold
    assert off_c(fit.waters) < 1.05 * untold


def test_hours_are_shown_in_the_mean_of_the_waters_that_the_fit_took(deep):
    answer = deep.answer
    hours = BoatHours.of(answer.exposure, answer.hours.edges_m, deep.temperature_at)
    often = np.bincount(answer.fit.refit, minlength=len(answer.fit.waters))
    every = [hours.in_water(amount).temp_c for amount in answer.fit.waters]
    mean = np.average(every, axis=0, weights=often)
    assert answer.hours.temp_c == pytest.approx(mean, nan_ok=True)
    moved = learn_water(join(deep.seasons), np.random.default_rng(1)).latent.mean
    assert np.nanmax(np.abs(answer.hours.temp_c - hours.in_water(moved).temp_c)) > 1.0
