"""Holds the rate engine to coefficients published or recorded for open data with effort."""

import numpy as np
import pytest

from analysis.stats.counts import fit_counts


def held(table, published, model, *, coef, se):
    """Compare with every published coefficient, and standard error where there is one."""
    mine = table.set_index("term")
    rows = published("count_models").query("model == @model").set_index("term")
    assert set(rows.index) <= set(mine.index)
    for term, row in rows.iterrows():
        assert mine.loc[term, "coef"] == pytest.approx(row["coef"], abs=coef(row["coef"]))
        if np.isfinite(row["se"]):
            assert mine.loc[term, "se"] == pytest.approx(row["se"], rel=se)


def whole(published, model):
    rows = published("count_model_fits").query("model == @model")
    return rows.set_index("quantity")["value"]


def decimals(places):
    """Half a unit of the last decimal that was recorded."""
    return lambda _value: 0.5 * 10.0**-places


def test_ship_damage(ships, published):
    fit = fit_counts(ships.columns, ships.count, ships.log_effort)
    # glm takes the weights of its standard errors from the step before the last: 1e-5 off
    held(fit.table, published, "ships", coef=decimals(6), se=2e-5)
    assert fit.status == "fitted"
    y, m = ships.count, fit.expected
    logs = np.where(y > 0, y * np.log(np.where(y > 0, y, 1.0) / m), 0.0)
    recorded = whole(published, "ships")
    assert 2 * np.sum(logs - (y - m)) == pytest.approx(recorded["deviance"], abs=5e-6)
    assert np.sum((y - m) ** 2 / m) == pytest.approx(recorded["pearson"], abs=5e-6)


def test_ship_damage_has_no_shape_to_estimate_and_the_fit_says_so(ships):
    fit = fit_counts(ships.columns, ships.count, ships.log_effort, shape=None)
    assert fit.status.startswith("the shape ran off")
    poisson = fit_counts(ships.columns, ships.count, ships.log_effort)
    # at the end of the range, a shape of 10,000, the two models are all but one
    np.testing.assert_allclose(fit.coef, poisson.coef, atol=0.01)


def test_survey_counts_poisson(fishing, published):
    fit = fit_counts(fishing.columns[["meandepth"]], fishing.count, fishing.log_effort)
    held(fit.table, published, "fishing poisson", coef=decimals(9), se=np.nan)
    recorded = whole(published, "fishing poisson")
    assert fit.log_likelihood == pytest.approx(recorded["log_likelihood"], abs=0.005)
    pearson = np.sum((fishing.count - fit.expected) ** 2 / fit.expected) / (147 - 2)
    assert pearson == pytest.approx(recorded["pearson_per_df"], abs=0.05)


@pytest.mark.parametrize(
    ("columns", "model"),
    [
        (["meandepth"], "fishing nb"),
        (["meandepth", "period 2000-2002"], "fishing nb with period"),
    ],
)
def test_survey_counts_negative_binomial(fishing, published, columns, model):
    """Depth in metres: the scale at which a general package silently stayed at the Poisson fit.

    The recorded standard errors are by expected information at a fixed shape; ours, by observed
    information with the shape's doubt, are a few per cent larger or smaller.
    """
    fit = fit_counts(fishing.columns[columns], fishing.count, fishing.log_effort, shape=None)
    # glm.nb alternates until theta moves by less than 1e-8 relative; five digits were recorded
    held(fit.table, published, model, coef=lambda v: 2e-6 * max(abs(v), 1e-3), se=0.08)
    recorded = whole(published, model)
    assert fit.shape == pytest.approx(recorded["theta"], abs=5e-6)
    assert fit.log_likelihood == pytest.approx(recorded["log_likelihood"], abs=5e-5)
    assert fit.status == "fitted"


def test_matched_cases(infert, published):
    """One case a set is exactly the likelihood of which rod took the strike."""
    fit = fit_counts(infert.columns, infert.count, infert.log_effort, stratum=infert.group)
    held(fit.table, published, "infert", coef=decimals(7), se=5e-7)
    recorded = whole(published, "infert")["log_likelihood"]
    assert fit.log_likelihood == pytest.approx(recorded, abs=5e-6)


@pytest.mark.parametrize(
    ("columns", "model"),
    [(["V4"], "epil visit 4"), (["period 2", "period 3", "period 4"], "epil period")],
)
def test_subjects_eliminated(epil, published, columns, model):
    fit = fit_counts(epil.columns[columns], epil.count, epil.log_effort, stratum=epil.group)
    held(fit.table, published, model, coef=decimals(8), se=5e-7)
