"""Checks a model's log rate against its design, and scores against the likelihood."""

import made_exposure as made
import numpy as np
import pandas as pd
import pytest
from numpy.polynomial.legendre import legvander

from analysis.rates.model_selection import candidates
from analysis.rates.terms import Drift, Effects, RateModel
from analysis.stats.conditional import group, log_likelihoods, maximise
from analysis.stats.pspline import Smooth

DEPTH = Smooth(name="depth_m", low=3.0, high=40.0, logarithmic=True)
TERMS = (
    DEPTH,
    Smooth(name="lure_temp_c", low=4.0, high=20.0),
    Smooth(name="leader_length_m", low=1.0, high=3.0, wiggles=0),
    Smooth(name="speed_mps", low=0.8, high=1.4, order=1, wiggles=0),
    Effects(name="gear_setting", levels=("a", "b", "c")),
    Drift(smooth=DEPTH, middle=40.0, half=30.0),
)
ROWS = 200


@pytest.fixture(scope="module")
def values():
    rng = np.random.default_rng(5)
    depth = rng.uniform(1.0, 60.0, ROWS)  # beyond the span too
    temperature = rng.uniform(2.0, 22.0, ROWS)
    temperature[::9] = np.nan
    return {
        "depth_m": depth,
        "lure_temp_c": temperature,
        "leader_length_m": rng.uniform(0.5, 4.0, ROWS),
        "speed_mps": rng.uniform(0.5, 2.0, ROWS),
        "gear_setting": rng.integers(-1, 3, ROWS),
        "drift": np.column_stack([depth, rng.uniform(0.0, 90.0, ROWS)]),
    }


@pytest.mark.parametrize("term", TERMS, ids=lambda term: term.name)
def test_log_rate_is_design_times_coefficients(term, values):
    coef = np.random.default_rng(6).normal(size=sum(term.blocks))
    log_rate = term.log_rate(values[term.name], coef)
    np.testing.assert_allclose(log_rate, term.design(values[term.name]) @ coef, atol=1e-12)
    assert np.ptp(log_rate) > 0.0


def test_parts_of_a_model_add_up_to_it(values):
    model = RateModel(terms=TERMS)
    coef = np.random.default_rng(7).normal(size=model.size)
    whole = model.log_rate(values, coef, ROWS)
    np.testing.assert_allclose(whole, model.design(values, ROWS) @ coef, atol=1e-12)
    water, tackle = coef[model.of_water], coef[~model.of_water]
    parts = model.water.log_rate(values, water, ROWS) + model.tackle.log_rate(values, tackle, ROWS)
    np.testing.assert_allclose(parts, whole, atol=1e-12)
    assert RateModel(terms=()).log_rate({}, np.zeros(0), ROWS) == pytest.approx(np.zeros(ROWS))


def test_deviations_are_smooth_cubics_without_a_parabola():
    """As mixed models of P-splines have them: Wand & Ormerod 2008, from memory."""
    smooth = Smooth(name="depth_m", low=-1.0, high=1.0)
    at = np.linspace(-1.0, 1.0, 201)
    deviations = smooth.design(at)[:, 2:]
    assert np.mean(np.sum(deviations**2, axis=1)) == pytest.approx(1.0)
    np.testing.assert_allclose(legvander(at, 2).T @ deviations, 0.0, atol=1e-9)
    third = np.diff(deviations, 3, axis=0) / 0.01**3
    jumps = np.abs(np.diff(third, axis=0)).max(axis=1) > 1e-3 * np.abs(third).max()
    assert 8 <= jumps.sum() < 40, "pieces with a constant third derivative, joined at knots"


@pytest.mark.parametrize("shape", [0.0, 2.0])
def test_scores_of_a_cluster_are_the_slope_of_its_likelihood(shape):
    rng = np.random.default_rng(8)
    design = rng.normal(size=(300, 4))
    count = rng.poisson(0.6, 300).astype(float)
    stratum = rng.integers(0, 50, 300)
    data = group(design, count, np.zeros(300), stratum, stratum % 7, shape=shape)
    coef = rng.normal(size=4) / 3
    scores = maximise(data, np.zeros((4, 4)), coef, most_steps=0).scores
    assert scores.shape == (7, 4)
    if shape == 0.0:

        def by_cluster(at):
            return np.bincount(data.cluster, weights=log_likelihoods(data, at))

        slopes = [(by_cluster(coef + e) - by_cluster(coef - e)) / 2e-5 for e in 1e-5 * np.eye(4)]
        np.testing.assert_allclose(scores, np.transpose(slopes), atol=1e-6)
    ends = maximise(data, np.zeros((4, 4)))
    np.testing.assert_allclose(ends.scores.sum(axis=0), 0.0, atol=1e-3)


def test_each_slice_tows_one_of_the_tackles():
    whole = made.exposure(3, trips=6)
    count = len(whole.table)
    whole = made.with_table(
        whole,
        leader_length_m=np.round(whole.table["leader_length_m"]),
        lure=pd.Categorical(np.where(np.arange(count) % 2, "spoon", "plug")),
    )
    model = candidates(whole, lures=True)["depth and temperature"]
    row = np.arange(count)[::3]
    design, towed = whole.tackle(model, row)
    by_slice = model.tackle.design(whole.values(model.tackle, row), len(row))
    np.testing.assert_array_equal(design[towed], by_slice)
    assert 1 < len(design) < len(row)
    assert len(np.unique(design, axis=0)) == len(design)
