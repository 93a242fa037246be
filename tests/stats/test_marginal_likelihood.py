"""Checks cells, the evidence's slope, curves, and that truth is recovered as theory says."""

import made_exposure as made
import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom

from analysis.diagnostics.sensitivity import fit_by, slices_of
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.stats.cells import binned, collapse
from analysis.stats.conditional import climb, group, log_likelihood, maximise, third_moment
from analysis.stats.counts import fit_counts
from analysis.stats.marginal_likelihood import (
    MOST_DOUBT,
    Block,
    _doubt,
    _evidence,
    _log_prior,
    choose_smoothing,
    penalty_matrix,
)

KNOWN = Block(name="known", columns=slice(5, None), scale=1.0)
BLOCKS = (
    Block(name="a", columns=slice(0, 2), scale=1.0),
    Block(name="b", columns=slice(2, 5), scale=0.3),
)


@pytest.fixture(params=[0.0, 1.3])
def data(request):
    rng = np.random.default_rng(0)
    design = rng.normal(size=(400, 6))
    count = rng.poisson(np.exp(0.5 * design[:, 0] - 1)).astype(float)
    stratum = rng.integers(0, 60, 400)
    return group(design, count, np.zeros(400), stratum, stratum, shape=request.param)


def test_third_moment_is_how_the_information_changes(data):
    rng = np.random.default_rng(1)
    coef, step = rng.normal(size=6) / 3, 1e-5
    inverse = np.diag(rng.uniform(0.5, 2.0, 6)) + 0.1

    def information(at):
        return maximise(data, np.zeros((6, 6)), at, most_steps=0).information

    slopes = [
        np.sum(inverse * (information(coef + e) - information(coef - e))) / (2 * step)
        for e in step * np.eye(6)
    ]
    np.testing.assert_allclose(third_moment(data, coef, inverse), slopes, rtol=1e-5)


def test_information_is_the_curvature_of_the_likelihood(data):
    coef, step = np.full(6, 0.1), 1e-3
    information = maximise(data, np.zeros((6, 6)), coef, most_steps=0).information
    for place, e in enumerate(step * np.eye(6)):
        sides = log_likelihood(data, coef + e) + log_likelihood(data, coef - e)
        bend = (sides - 2 * log_likelihood(data, coef)) / step**2
        assert -bend == pytest.approx(information[place, place], rel=1e-4)


@pytest.mark.parametrize("times", [0.2, 0.9, 1.0, 30.0])
def test_steps_by_another_information_end_at_the_same_top(data, times):
    penalty = np.eye(6)
    newton = maximise(data, penalty, tolerance=1e-14)
    near = times * newton.information
    top = climb(data, penalty, np.full(6, 0.5), information=near, tolerance=1e-14)
    assert top.converged
    np.testing.assert_allclose(top.coef, newton.coef, atol=1e-6)


def test_slope_of_the_evidence(data):
    log_sd, step = np.array([-0.3, -1.2]), 1e-4

    def evidence(at):
        penalty = penalty_matrix(BLOCKS, at, 6, known=KNOWN)
        return _evidence(data, BLOCKS, at, penalty, maximise(data, penalty, tolerance=1e-14))

    slopes = [
        (evidence(log_sd + e)[0] - evidence(log_sd - e)[0]) / (2 * step) for e in step * np.eye(2)
    ]
    np.testing.assert_allclose(evidence(log_sd)[1], slopes, rtol=1e-5)


def test_smoothing_chosen_is_a_maximum(data):
    chosen = choose_smoothing(data, BLOCKS, known=KNOWN)
    near = [
        choose_smoothing(data, BLOCKS, chosen.log_sd + e, known=KNOWN).evidence
        for e in 0.5 * np.eye(2)
    ]
    np.testing.assert_allclose(near, chosen.evidence, atol=1e-4)
    assert (np.linalg.eigvalsh(chosen.covariance) > 0).all()


def test_doubt_is_by_the_evidence_s_curvature(data):
    """Against differences of the exact slope, prior included, about the smoothing chosen."""
    chosen = choose_smoothing(data, BLOCKS, known=KNOWN)
    step = 0.1

    def slope(log_sd):
        penalty = penalty_matrix(BLOCKS, log_sd, 6, known=KNOWN)
        found = maximise(data, penalty, tolerance=1e-14)
        prior = _log_prior(BLOCKS, log_sd)[1]
        return _evidence(data, BLOCKS, log_sd, penalty, found)[1] + prior

    differences = [
        (slope(chosen.log_sd - e) - slope(chosen.log_sd + e)) / (2 * step) for e in step * np.eye(2)
    ]
    expected = np.linalg.inv(differences)
    assert (np.diag(expected) < MOST_DOUBT**2).all()  # told by the strikes, not by the cap
    np.testing.assert_allclose(
        np.sqrt(np.diag(chosen.covariance)), np.sqrt(np.diag(expected)), rtol=0.05
    )


def test_cells_keep_sums_and_the_fit():
    """Rows of equal covariates and stratum, collapsed: the same coefficients to rounding."""
    rng = np.random.default_rng(3)
    deep = rng.integers(0, 4, 3000).astype(float)
    stratum = rng.integers(0, 20, 3000)
    hours = rng.uniform(0.1, 1.0, 3000)
    count = rng.poisson(hours * np.exp(0.3 * deep - 1.0)).astype(float)
    cells = collapse(stratum, binned(deep, 0.0))
    assert len(cells.row) == 80
    assert cells.sum(count).sum() == count.sum()

    def fit(x, y, h, s):
        rows = group(x[:, None], y, np.log(h), s, s)
        return maximise(rows, np.zeros((1, 1)), tolerance=1e-14)

    full = fit(deep, count, hours, stratum)
    small = fit(deep[cells.row], cells.sum(count), cells.sum(hours), stratum[cells.row])
    np.testing.assert_allclose(small.coef, full.coef, rtol=1e-10)
    np.testing.assert_allclose(small.information, full.information, rtol=1e-10)


def test_bins_are_of_their_width_and_keep_the_missing_apart():
    values = np.array([0.0, 0.09, 0.11, np.nan, -0.05])
    codes = binned(values, 0.1)
    assert codes[0] == codes[1]
    assert len({codes[0], codes[2], codes[3], codes[4]}) == 4
    assert (binned(np.full(3, np.nan), 0.1) == 0).all()
    assert len(set(binned(values, 0.0))) == 5


def test_codes_too_many_for_one_number_are_still_told_apart():
    rng = np.random.default_rng(0)
    wide = [rng.integers(0, 2**31 - 1, 50) for _ in range(5)]
    cells = collapse(*wide)
    assert len(cells.row) == 50
    assert (np.sort(cells.cell) == np.arange(50)).all()


def test_cells_of_a_season_keep_its_strikes_and_hours():
    whole = made.exposure(1, shared_sd=0.1)
    model = next(iter(candidates(whole).values()))
    for strata in ("trip", "trip hour gamma"):
        rods = slices_of(whole, model, strata)
        assert rods.sets.hit.sum() == whole.table["strikes"].sum()
        assert np.exp(rods.log_hours).sum() == pytest.approx(whole.table["hours"].sum())


def covered(estimates, half_widths, truth):
    return int(np.sum(np.abs(np.array(estimates) - truth) <= np.array(half_widths)))


def test_coefficients_recover_the_truth_as_often_as_they_say():
    """60 data sets, 90 % intervals: the number that hold the truth is binomial(60, 0.9)."""
    estimates, widths, gamma_estimates, gamma_widths = [], [], [], []
    for seed in range(60):
        rng = np.random.default_rng(1000 + seed)
        stratum = np.repeat(np.arange(50), 5)
        deep = rng.normal(size=250)
        # gamma effects, as one of the two models has it; the other does not mind
        level = rng.gamma(1.5, 1 / 1.5, 50)[stratum]
        count = rng.poisson(0.5 * level * np.exp(0.4 * deep)).astype(float)
        columns = pd.DataFrame({"deep": deep})
        rows = fit_counts(columns, count, np.zeros(250), stratum=stratum).table
        estimates.append(rows["coef"].iloc[0])
        widths.append(1.645 * rows["se"].iloc[0])
        rows = fit_counts(columns, count, np.zeros(250), stratum=stratum, shape=None).table
        gamma_estimates.append(rows["coef"].iloc[1])
        gamma_widths.append(1.645 * rows["se"].iloc[1])
    # a tail of one in a thousand on either side
    low, high = binom.ppf([0.001, 0.999], 60, 0.9)
    assert low <= covered(estimates, widths, 0.4) <= high
    assert low <= covered(gamma_estimates, gamma_widths, 0.4) <= high
    # unbiased: the mean is within 3.3 of its own standard errors
    for found in (estimates, gamma_estimates):
        assert abs(np.mean(found) - 0.4) < 3.3 * np.std(found) / np.sqrt(60)


def test_curves_recover_the_truth_as_often_as_they_say():
    """Eight made-up seasons, ratios of two depths to the best one: 90 % intervals."""
    fish = made.Fish(best_m=14.0, width_m=5.0, rate=0.15)
    at, inside, total = np.array([8.0, 14.0, 20.0]), 0, 0
    true = np.exp(fish.log_rate(at) - fish.log_rate(at[1]))
    for seed in range(8):
        whole = made.exposure(100 + seed, fish=fish)
        model = candidates(whole)["depth alone"]
        fit = fit_rate(whole, model, np.random.default_rng(seed))
        smooth = model.term("depth_m")
        logs = smooth.design(at) @ fit.draws[:, model.columns_of("depth_m")].T
        low, high = np.quantile(np.exp(logs - logs[1]), [0.05, 0.95], axis=1)
        inside += int(np.sum((low <= true)[[0, 2]] & (true <= high)[[0, 2]]))
        total += 2
    # of 16, at a true 90 %, 10 or fewer happen once in two hundred
    assert inside > binom.ppf(0.005, total, 0.9)


def test_gamma_effects_find_how_much_days_differ():
    """Days differ with a log sd of 0.6: a gamma of shape 1 / (exp(0.36) - 1) = 2.3 or so."""
    fish = made.Fish(day_sd=0.6, rate=0.3)
    whole = made.exposure(7, trips=80, fish=fish)
    model = candidates(whole)["depth alone"]
    fit = fit_by(whole, model, np.random.default_rng(0), strata="trip gamma", refits=2)
    shape = float(fit.strata.split()[-1])
    # a variance from 80 days is known to a factor exp(2 sqrt(2 / 80)) = 1.4 or so; the gamma is
    # not quite a log-normal: a factor of 1.8
    assert 2.3 / 1.8 < shape < 2.3 * 1.8


def test_what_nothing_tells_is_in_doubt_by_a_factor_of_e_to_the_one_and_a_half():
    """A flat direction and one that bends the wrong way; of the third, its own curvature."""
    turn, _ = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))
    found = turn.T @ _doubt(turn @ np.diag([0.0, -3.0, 4.0]) @ turn.T) @ turn
    np.testing.assert_allclose(found, np.diag([1.5**2, 1.5**2, 1 / 4.0]), atol=1e-12)
