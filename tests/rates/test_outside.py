"""Holds strata, clustered variances, negative binomial and smooths to independent programs."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from pygam import PoissonGAM, s
from scipy.integrate import quad
from scipy.sparse import csc_matrix
from scipy.stats import gamma, poisson
from statsmodels.gam.api import GLMGam
from statsmodels.gam.smooth_basis import AdditiveGamSmoother, UnivariateGamSmoother

from analysis.stats.conditional import group, log_likelihood, maximise
from analysis.stats.counts import fit_counts
from analysis.stats.pspline import Smooth

LOW_M, HIGH_M = 700.0, 5000.0
"""Range of the smooths, as in tests/published/rates_reference.R."""


def with_dummies(data, columns):
    levels = (data.group[:, None] == np.unique(data.group)).astype(float)
    return np.column_stack([data.columns[columns].to_numpy(), levels])


@pytest.mark.parametrize(
    ("name", "columns"),
    [
        ("epil", ["V4", "period 2", "period 3"]),
        ("fishing", ["meandepth"]),
        ("ships", ["year 65", "year 70", "year 75", "period 75"]),
    ],
)
def test_strata_eliminated_equal_a_dummy_each(request, name, columns):
    """Coefficients, standard errors and expected counts of a GLM with a dummy a stratum."""
    data = request.getfixturevalue(name)
    fit = fit_counts(data.columns[columns], data.count, data.log_effort, stratum=data.group)
    keep = np.bincount(data.group, weights=data.count)[data.group] > 0
    design = with_dummies(data, columns)[keep]
    design = design[:, np.ptp(design, axis=0) > 0]
    scale = design.std(axis=0)
    glm = sm.GLM(
        data.count[keep], design / scale, family=sm.families.Poisson(), offset=data.log_effort[keep]
    ).fit(tol=1e-13)
    width = len(columns)
    np.testing.assert_allclose(fit.coef, (glm.params / scale)[:width], rtol=1e-7, atol=1e-12)
    np.testing.assert_allclose(fit.table["se"], (glm.bse / scale)[:width], rtol=1e-6)
    np.testing.assert_allclose(fit.expected[keep], glm.fittedvalues, rtol=1e-7)


@pytest.mark.parametrize("strata", [False, True])
def test_clustered_variances(fishing, strata):
    """Clustered by year, the constant's too; the factor G / (G - 1) is ours to put on."""
    clusters = len(np.unique(fishing.group))
    columns = fishing.columns.assign(meandepth=fishing.columns["meandepth"] / 1000)
    # any strata will do: every fifth site, across the years
    stratum = (np.arange(len(fishing.count)) % 5) if strata else None
    fit = fit_counts(
        columns, fishing.count, fishing.log_effort, stratum=stratum, cluster=fishing.group
    )
    constants = (
        (stratum[:, None] == np.arange(5)).astype(float)
        if strata
        else np.ones((len(fishing.count), 1))
    )
    design = np.column_stack([constants, columns.to_numpy()])
    glm = sm.GLM(
        fishing.count, design, family=sm.families.Poisson(), offset=fishing.log_effort
    ).fit(
        tol=1e-13,
        cov_type="cluster",
        cov_kwds={"groups": fishing.group, "use_correction": False},
    )
    expected = glm.bse[-len(fit.coef) :] * np.sqrt(clusters / (clusters - 1))
    np.testing.assert_allclose(fit.table["se_clustered"], expected, rtol=1e-6)


def test_negative_binomial_with_the_shapes_doubt(fishing):
    """Observed information of coefficients and shape together, as statsmodels has it."""
    columns = fishing.columns.assign(meandepth=fishing.columns["meandepth"] / 1000)
    fit = fit_counts(columns, fishing.count, fishing.log_effort, shape=None)
    other = sm.NegativeBinomial(
        fishing.count, sm.add_constant(columns), offset=fishing.log_effort
    ).fit(method="bfgs", maxiter=500, gtol=1e-8, disp=False)
    assert other.mle_retvals["converged"]
    # bfgs stops where the gradient is below 1e-8 a row
    np.testing.assert_allclose(fit.coef, other.params.iloc[:-1], rtol=1e-5)
    assert fit.shape == pytest.approx(1 / other.params["alpha"], rel=1e-5)
    np.testing.assert_allclose(fit.table["se"], other.bse.iloc[:-1], rtol=1e-4)
    assert fit.log_likelihood == pytest.approx(other.llf, abs=1e-6)


def test_gamma_strata_are_what_integration_over_the_gamma_gives():
    rng = np.random.default_rng(5)
    count = np.array([0.0, 2.0, 1.0, 0.0, 0.0, 3.0])
    mean = rng.uniform(0.2, 2.0, 6)
    stratum = np.array([0, 0, 0, 1, 1, 2])
    shape = 1.7
    data = group(np.zeros((6, 0)), count, np.log(mean), stratum, stratum, shape=shape)

    def likelihood(stratum_number):
        rows = stratum == stratum_number
        return quad(
            lambda u: (
                np.prod(poisson.pmf(count[rows], u * mean[rows]))
                * gamma.pdf(u, shape, scale=1 / shape)
            ),
            0.0,
            np.inf,
            epsabs=1e-13,
        )[0]

    expected = sum(np.log(likelihood(number)) for number in range(3))
    assert log_likelihood(data, np.zeros(0)) == pytest.approx(expected, abs=1e-9)


def test_shrunk_effects_are_a_mixed_model(epil, published):
    """Normal effects a subject: glmer's coefficients, effects and Laplace likelihood.

    The constant drops out of our fit (one stratum), so the information of the effects is put
    back to what it is at a constant held fixed.
    """
    recorded = published("mixed_model")
    of = {name: part.set_index("name")["value"] for name, part in recorded.groupby("quantity")}
    subjects = np.unique(epil.group)
    effects = (epil.group[:, None] == subjects).astype(float)
    design = np.column_stack([epil.columns[["V4", "lage"]].to_numpy(), effects])
    one = np.zeros(len(epil.count), dtype=np.intp)
    data = group(design, epil.count, epil.log_effort, one, one)
    found = {}
    for sd in of["sd"]["subject"] * np.exp([-0.01, 0.0, 0.01]):
        precision = np.concatenate([np.zeros(2), np.full(len(subjects), sd**-2)])
        fit = maximise(data, np.diag(precision), tolerance=1e-14)
        eta = design @ fit.coef
        level = np.log(epil.count.sum() / np.exp(eta).sum())
        mean = np.exp(eta + level)
        laplace = (
            poisson.logpmf(epil.count, mean).sum()
            - 0.5 * np.sum(fit.coef[2:] ** 2) / sd**2
            - 0.5 * np.sum(np.log1p(sd**2 * (mean @ effects)))
        )
        found[sd] = (laplace, level, fit.coef)
    lower, best, upper = found.values()
    laplace, level, coef = best
    # glmer stops where its deviance moves by less than its optimiser's 1e-10 or so of the
    # standard deviation; ten digits were recorded
    assert laplace == pytest.approx(of["log_likelihood"]["laplace"], abs=1e-5)
    np.testing.assert_allclose(coef[:2], of["coefficient"][["V4", "lage"]], rtol=2e-5)
    assert level == pytest.approx(of["coefficient"]["(Intercept)"], rel=2e-5)
    effect = of["effect"]
    effect.index = effect.index.astype(int)
    np.testing.assert_allclose(coef[2:], effect.loc[subjects], atol=2e-5)
    assert laplace > max(lower[0], upper[0])


def p_spline(fishing, sd):
    """Our curve of depth at a prior standard deviation, its lambda, and its B-spline basis."""
    smooth = Smooth(name="meandepth", low=LOW_M, high=HIGH_M)
    depth = fishing.columns["meandepth"].to_numpy()
    step = (HIGH_M - LOW_M) / 9
    knots = LOW_M + step * np.arange(-3, 13)

    def basis(x):
        return np.column_stack([bspline(knots[i : i + 5], x) for i in range(12)])

    grid = np.linspace(LOW_M, HIGH_M, 200)
    to_basis, *_ = np.linalg.lstsq(basis(grid), smooth.design(grid)[:, 2:], rcond=None)
    third = np.diff(to_basis, 3, axis=0)
    # third differences of the coefficients are our deviations times one number
    np.testing.assert_allclose(third, np.eye(9) * third[0, 0], atol=1e-6 * abs(third[0, 0]))
    return smooth, depth, basis, (1 / (sd * third[0, 0])) ** 2


def bspline(knots, x):
    """Return a cubic B-spline on five knots by its truncated powers, written out for the test."""
    step = knots[1] - knots[0]
    z = (np.asarray(x, dtype=float)[:, None] - knots) / step
    return (np.maximum(z, 0.0) ** 3 @ np.array([1.0, -4.0, 6.0, -4.0, 1.0])) / 6


def ours(fishing, smooth, sd, *, shape=0.0):
    design = smooth.design(fishing.columns["meandepth"].to_numpy())
    precision = np.concatenate([np.zeros(2), np.full(9, sd**-2)])
    rows = np.arange(len(fishing.count))
    if shape:
        design = np.column_stack([design, np.ones(len(rows))])
        precision = np.append(precision, 0.0)
    stratum = rows if shape else np.zeros_like(rows)
    data = group(design, fishing.count, fishing.log_effort, stratum, stratum, shape=shape)
    return maximise(data, np.diag(precision), tolerance=1e-14), precision


class Given(UnivariateGamSmoother):
    """A basis and penalty made elsewhere, for statsmodels."""

    def __init__(self, x, basis, penalty):
        self._made = (basis, None, None, penalty)
        super().__init__(x)

    def _smooth_basis_for_single_variable(self):
        return self._made


class GivenOnly(AdditiveGamSmoother):
    def __init__(self, x, basis, penalty):
        self._parts = (basis, penalty)
        super().__init__(x, include_intercept=False)

    def _make_smoothers_list(self):
        return [Given(self.x[:, 0], *self._parts)]


@pytest.mark.parametrize("sd", [0.3, 3.0])
def test_smooth_against_the_additive_model_of_statsmodels(fishing, sd):
    """Equal basis and penalty: equal curves."""
    smooth, depth, basis, lam = p_spline(fishing, sd)
    mine, _ = ours(fishing, smooth, sd)
    # 11 of 12 functions: the constant takes the place of the twelfth, as they sum to one
    third = np.diff(np.eye(12), 3, axis=0)
    penalty = third.T @ third
    given = GivenOnly(depth, basis(depth)[:, :-1], penalty[:-1, :-1])
    other = GLMGam(
        fishing.count,
        exog=np.ones((len(depth), 1)),
        smoother=given,
        alpha=lam / 2,  # it takes off alpha b'Sb, without the half
        family=sm.families.Poisson(),
        offset=fishing.log_effort,
    ).fit(maxiter=500, tol=1e-13)
    theirs = basis(depth)[:, :-1] @ other.params[1:]
    curve = smooth.design(depth) @ mine.coef
    difference = curve - theirs
    np.testing.assert_allclose(difference, difference.mean(), atol=1e-5)


@pytest.mark.parametrize("sd", [0.3, 3.0])
def test_smooth_against_pygam(fishing, sd):
    """The same with effort as exposure: equal curves, but for its small ridge on everything."""
    smooth, depth, _, lam = p_spline(fishing, sd)
    mine, _ = ours(fishing, smooth, sd)

    def third(n, coef):
        difference = np.diff(np.eye(n), 3, axis=0)
        return csc_matrix(difference.T @ difference)

    other = PoissonGAM(
        s(0, n_splines=12, lam=lam, penalties=third, edge_knots=[LOW_M, HIGH_M]),
        max_iter=500,
        tol=1e-12,
    ).fit(depth[:, None], fishing.count, exposure=np.exp(fishing.log_effort))
    theirs = np.log(other.predict_mu(depth[:, None]))
    difference = smooth.design(depth) @ mine.coef - theirs
    # it keeps exposures in single precision, seven digits
    np.testing.assert_allclose(difference, difference.mean(), atol=2e-5)


@pytest.mark.parametrize(
    ("family", "lam", "shape"),
    [("poisson", 10.0, 0.0), ("poisson", 10000.0, 0.0), ("negative binomial", 1.0, 1.832)],
)
def test_smooth_against_a_recorded_run_of_mgcv(fishing, published, family, lam, shape):
    recorded = published("additive_model").query("family == @family and `lambda` == @lam")
    smooth, _, _, at_one = p_spline(fishing, 1.0)
    mine, precision = ours(fishing, smooth, np.sqrt(at_one / lam), shape=shape)
    at = smooth.design(recorded["meandepth"].to_numpy(dtype=float))
    curve = at @ mine.coef[:11]
    # ten digits were recorded
    np.testing.assert_allclose(curve - curve[0], recorded["curve"], atol=1e-6)
    # standard errors of the curve about its own mean over the sites, as mgcv centres it
    centre = smooth.design(fishing.columns["meandepth"].to_numpy()).mean(axis=0)
    covariance = np.linalg.inv(mine.information + np.diag(precision))[:11, :11]
    about = at - centre
    se = np.sqrt(np.einsum("ij,jk,ik->i", about, covariance, about))
    # mgcv uses expected information; observed is the same for Poisson, not quite for the other
    tolerance = 1e-5 if family == "poisson" else 0.15
    np.testing.assert_allclose(se, recorded["se"], rtol=tolerance)


def test_row_with_a_bare_frame_gives_the_table():
    frame = pd.DataFrame({"deep": [0.0, 0.0, 1.0, 1.0]})
    fit = fit_counts(frame, np.array([2.0, 4.0, 6.0, 12.0]), np.log([1.0, 2.0, 1.0, 2.0]))
    # 6 in 3 hours against 18 in 3 hours
    np.testing.assert_allclose(fit.table["ratio"], [2.0, 3.0], rtol=1e-9)
    np.testing.assert_allclose(fit.table["se"], [6**-0.5, (1 / 6 + 1 / 18) ** 0.5], rtol=1e-9)
