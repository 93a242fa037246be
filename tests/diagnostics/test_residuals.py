"""Checks the analysis of variance of residuals against scipy's."""

import numpy as np
import pytest
from scipy.stats import f_oneway

from analysis.diagnostics.residuals import _same_means


def test_the_chance_of_means_as_different_is_that_of_scipy():
    rng = np.random.default_rng(0)
    groups = [rng.normal(0.2 * place, 1.0, (size, 3)) for place, size in enumerate((6, 9, 30))]
    assert _same_means(groups) == pytest.approx(f_oneway(*groups).pvalue)
