"""Owns the tests of the binomial models, against statsmodels and a known truth."""

import numpy as np
import pytest
import statsmodels.api as sm

from analysis.rates.fit import clustered_covariance
from analysis.rates.terms import Effects
from analysis.review.binomial import Covariate, fit_outcome, logistic_strata
from analysis.stats.conditional import maximise
from analysis.stats.pspline import Smooth


@pytest.fixture
def fish():
    """600 hooked fish on 60 trips: leader helps, one gear lands worse."""
    rng = np.random.default_rng(8)
    leader = rng.choice([1.2, 1.8, 2.4, 3.0, 3.6], 600)
    gear = rng.integers(0, 3, 600)
    log_odds = 0.6 + 1.2 * np.log(leader / 2.4) - 0.9 * (gear == 2)
    landed = rng.random(600) < 1 / (1 + np.exp(-log_odds))
    return leader, gear, landed, np.repeat(np.arange(60), 10)


def test_strata_of_two_rows_are_a_logistic_regression(fish):
    leader, gear, landed, trip = fish
    design = np.column_stack([np.ones(600), np.log(leader), gear == 1, gear == 2]).astype(float)
    data = logistic_strata(design, landed, trip)
    penalty = np.zeros((4, 4))
    found = maximise(data, penalty)
    outside = sm.Logit(landed.astype(float), design).fit(disp=0)
    np.testing.assert_allclose(found.coef, outside.params, atol=1e-6)
    assert found.log_likelihood == pytest.approx(outside.llf)
    np.testing.assert_allclose(np.linalg.inv(found.information), outside.cov_params(), rtol=1e-5)
    # scores by trip: the meat of statsmodels' clustered sandwich
    grouped = sm.Logit(landed.astype(float), design).fit(
        disp=0, cov_type="cluster", cov_kwds={"groups": trip, "use_correction": False}
    )
    inverse = np.linalg.inv(found.information)
    sandwich = inverse @ (found.scores.T @ found.scores) @ inverse
    np.testing.assert_allclose(sandwich, grouped.cov_params(), rtol=1e-5)
    covariance, dispersion = clustered_covariance(found, penalty)
    assert dispersion == pytest.approx(
        np.trace(sandwich @ found.information) / 4 * 60 / (60 - 4), rel=1e-6
    )
    assert (np.diag(covariance) >= np.diag(inverse) * (1 - 1e-9)).all()


def covariates(leader, gear):
    levels = ("short", "long")
    return [
        Covariate(
            name="leader length",
            levels=levels,
            level=(leader > 2.4).astype(int),
            term=Smooth.over("leader_length_m", leader, np.ones(600), wiggles=4, logarithmic=True),
            given=leader,
            typical=np.array([1.8, 3.3]),
        ),
        Covariate(
            name="gear",
            levels=("a", "b", "c"),
            level=gear,
            term=Effects(name="gear_setting", levels=("a", "b", "c")),
            given=gear,
            typical=np.arange(3),
        ),
    ]


def test_the_model_finds_what_is_true(fish):
    leader, gear, landed, trip = fish
    rng = np.random.default_rng(1)
    fit = fit_outcome("landed of hooked", landed, trip, covariates(leader, gear), rng)
    assert fit.status == "fitted"
    assert fit.formula == "log odds = constant + s(log leader_length_m) + shrunk(gear_setting)"
    assert [check.passed for check in fit.checks] == [True, True, True]
    table = fit.table.set_index(["term", "level"])
    assert table["trials"].sum() == 2 * 600
    true = {
        ("leader length", "short"): np.mean(
            1 / (1 + np.exp(-(0.6 + 1.2 * np.log(1.8 / 2.4) - 0.9 * (gear == 2))))
        ),
        ("leader length", "long"): np.mean(
            1 / (1 + np.exp(-(0.6 + 1.2 * np.log(3.3 / 2.4) - 0.9 * (gear == 2))))
        ),
        ("gear", "c"): np.mean(1 / (1 + np.exp(-(0.6 + 1.2 * np.log(leader / 2.4) - 0.9)))),
    }
    for key, share in true.items():
        row = table.loc[key]
        assert row["modelled"]
        assert row["low"] < share < row["high"]
        assert row["high"] - row["low"] < 0.25


def test_few_failures_get_shares_and_no_model(fish):
    leader, gear, _, trip = fish
    landed = np.ones(600, dtype=bool)
    landed[:6] = False
    rng = np.random.default_rng(1)
    fit = fit_outcome("landed of hooked", landed, trip, covariates(leader, gear), rng)
    assert fit.status == "too-few"
    assert not fit.table["modelled"].any()
    assert not fit.checks[0].passed
    assert fit.checks[0].next_step
