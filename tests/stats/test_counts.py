"""Checks counts of any table: properties that hold whatever the data, and refusals."""

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FitError
from analysis.stats.conditional import group, log_likelihood, maximise
from analysis.stats.counts import fit_counts


@pytest.fixture
def made():
    """Two columns, 40 strata of 4 rows, counts of about one."""
    rng = np.random.default_rng(11)
    columns = pd.DataFrame({"deep": rng.normal(size=160), "fast": rng.uniform(0.8, 1.4, 160)})
    stratum = np.repeat(np.arange(40), 4)
    level = rng.normal(0.0, 0.7, 40)[stratum]
    effort = rng.uniform(0.5, 2.0, 160)
    rate = np.exp(0.6 * columns["deep"] - 1.0 * columns["fast"] + level + 1.0)
    return columns, rng.poisson(effort * rate).astype(float), np.log(effort), stratum


SHAPES = pytest.mark.parametrize("shape", [0.0, 1.5, None])


@SHAPES
def test_row_order_changes_nothing(made, shape):
    columns, count, effort, stratum = made
    order = np.random.default_rng(2).permutation(len(count))
    one = fit_counts(columns, count, effort, stratum=stratum, shape=shape)
    other = fit_counts(
        columns.iloc[order].reset_index(drop=True),
        count[order],
        effort[order],
        stratum=stratum[order],
        shape=shape,
    )
    np.testing.assert_allclose(other.coef, one.coef, rtol=1e-6)
    np.testing.assert_allclose(other.table["se_clustered"], one.table["se_clustered"], rtol=1e-6)
    np.testing.assert_allclose(other.expected, one.expected[order], rtol=1e-6)


@SHAPES
def test_units_change_the_coefficient_by_their_factor_alone(made, shape):
    columns, count, effort, stratum = made
    one = fit_counts(columns, count, effort, stratum=stratum, shape=shape).table
    feet = columns.assign(deep=columns["deep"] / 0.3048 + 100.0)
    other = fit_counts(feet, count, effort, stratum=stratum, shape=shape).table
    slopes = one["term"] != "constant"
    factor = np.where(one["term"] == "deep", 0.3048, 1.0)[slopes]
    np.testing.assert_allclose(other["coef"][slopes], one["coef"][slopes] * factor, rtol=1e-6)
    np.testing.assert_allclose(other["se"][slopes], one["se"][slopes] * factor, rtol=1e-5)


@SHAPES
def test_effort_in_minutes_moves_the_constant_alone(made, shape):
    columns, count, effort, stratum = made
    one = fit_counts(columns, count, effort, stratum=stratum, shape=shape)
    other = fit_counts(columns, count, effort + np.log(60), stratum=stratum, shape=shape)
    moved = np.array([-np.log(60) if name == "constant" else 0.0 for name in one.names])
    np.testing.assert_allclose(other.coef, one.coef + moved, atol=1e-6)
    np.testing.assert_allclose(other.expected, one.expected, rtol=1e-6)


def test_strata_without_a_strike_change_nothing(made):
    columns, count, effort, stratum = made
    one = fit_counts(columns, count, effort, stratum=stratum)
    more = pd.concat([columns, columns.iloc[:12]], ignore_index=True)
    other = fit_counts(
        more,
        np.append(count, np.zeros(12)),
        np.append(effort, effort[:12]),
        stratum=np.append(stratum, 100 + stratum[:12]),
    )
    # they weigh in the columns' scale, which costs rounding and no more
    np.testing.assert_allclose(other.coef, one.coef, rtol=1e-9)
    assert other.log_likelihood == pytest.approx(one.log_likelihood, abs=1e-8)
    assert (other.expected[-12:] == 0).all()


def test_a_row_split_in_two_changes_nothing(made):
    columns, count, effort, stratum = made
    one = fit_counts(columns, count, effort, stratum=stratum)
    half = np.log(0.5)
    other = fit_counts(
        pd.concat([columns, columns.iloc[[7]]], ignore_index=True),
        np.append(count, 0.0),
        np.append(np.where(np.arange(160) == 7, effort + half, effort), effort[7] + half),
        stratum=np.append(stratum, stratum[7]),
    )
    np.testing.assert_allclose(other.coef, one.coef, rtol=1e-9)


def test_gamma_effects_go_over_to_their_limits(made):
    """A huge shape is a Poisson model with a constant; a tiny one eliminates the strata."""
    columns, count, effort, stratum = made
    alike = fit_counts(columns, count, effort, stratum=stratum, shape=1e6)
    poisson = fit_counts(columns, count, effort)
    np.testing.assert_allclose(alike.coef, poisson.coef, atol=1e-4)
    apart = fit_counts(columns, count, effort, stratum=stratum, shape=1e-6)
    eliminated = fit_counts(columns, count, effort, stratum=stratum)
    np.testing.assert_allclose(apart.coef[1:], eliminated.coef, atol=1e-4)


def test_separation_ends_in_a_status(made):
    """Strikes only where a column is 1: its coefficient has no end, and the fit says so."""
    columns, _, effort, stratum = made
    mark = (np.arange(160) % 4 == 0).astype(float)
    fit = fit_counts(pd.DataFrame({"mark": mark}), mark, effort, stratum=stratum)
    assert fit.status.startswith("separated")
    assert fit.coef[0] > 5
    kept = fit_counts(columns, mark, effort, stratum=stratum)
    assert kept.status == "fitted"


def test_separation_never_breaks_a_penalised_fit():
    stratum = np.repeat(np.arange(10), 3)
    mark = np.tile([1.0, 0.0, 0.0], 10)
    data = group(mark[:, None], mark, np.zeros(30), stratum, stratum)
    found = maximise(data, np.eye(1))
    assert found.converged
    # b = 10 (1 - p), p = e^b / (e^b + 2), solved by hand to three figures
    b = found.coef[0]
    assert b == pytest.approx(10 * (1 - np.exp(b) / (np.exp(b) + 2)), abs=1e-6)


def test_a_stratum_with_a_huge_offset_stays_finite():
    stratum = np.repeat([0, 1], 2)
    offset = np.array([800.0, 801.0, -900.0, -901.0])
    data = group(np.zeros((4, 0)), np.array([1.0, 0.0, 1.0, 0.0]), offset, stratum, stratum)
    expected = -np.log1p(np.e) - np.log1p(np.exp(-1.0))
    assert log_likelihood(data, np.zeros(0)) == pytest.approx(expected, rel=1e-12)


def broken(made, change):
    columns, count, effort, stratum = (x.copy() for x in made)
    columns, count, effort = change(columns, count, effort)
    return columns, count, effort, stratum


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            lambda x, y, e: (x.assign(deep="40 ft"), y, e),
            r"column 'deep' holds text\. Code its labels",
        ),
        (lambda x, y, e: (x.assign(fast=1.1), y, e), r"column 'fast' is 1\.1 in every row\. Leave"),
        (
            lambda x, y, e: (x.assign(fast=np.nan), y, e),
            r"column 'fast', row 0: not a finite number\. Leave",
        ),
        (lambda x, y, e: (x, y - 1, e), r"row \d+: the count must be 0 or more\. Set the row"),
        (
            lambda x, y, e: (x, y, np.where(np.arange(160) == 3, -np.inf, e)),
            r"row 3: effort must be a positive finite number\. Set the row",
        ),
        (
            lambda x, y, e: (x, y, np.where(np.arange(160) == 5, np.inf, e)),
            r"row 5: effort must be a positive finite number\. Set the row",
        ),
        (lambda x, y, e: (x, 0 * y, e), r"every count is 0, so no rate can be told"),
        (
            lambda x, y, e: (x.assign(slow=-2 * x["fast"]), y, e),
            r"column 'slow' repeats the columns before it\. Leave it out",
        ),
        (
            lambda x, y, e: (x.assign(fast=np.repeat(np.arange(40.0), 4)), y, e),
            r"column 'fast' is the same in all rows of each stratum.*coarser strata or gamma",
        ),
    ],
)
def test_input_that_cannot_be_used_is_refused_with_a_remedy(made, change, says):
    columns, count, effort, stratum = broken(made, change)
    with pytest.raises(FitError, match=says):
        fit_counts(columns, count, effort, stratum=stratum)


def test_a_gamma_stratum_in_two_clusters_is_refused(made):
    columns, count, effort, stratum = made
    with pytest.raises(FitError, match=r"row 0: its stratum lies in two clusters\. Use strata"):
        fit_counts(columns, count, effort, stratum=stratum, cluster=np.arange(160), shape=1.0)


def test_rows_without_effort_are_refused_by_the_engine_too():
    rows = np.zeros(2, dtype=np.intp)
    with pytest.raises(FitError, match=r"row 1: rod-hours must be a positive finite number"):
        group(np.ones((2, 1)), np.ones(2), np.array([0.0, -np.inf]), rows, rows)
    with pytest.raises(FitError, match=r"row 0, term 0: not a finite number\. Leave"):
        group(np.array([[np.nan], [1.0]]), np.ones(2), np.zeros(2), rows, rows)
