"""Owns the tests of intervals, against those of statsmodels."""

import pytest
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

from analysis.stats.intervals import rate_interval, share_interval


@pytest.mark.parametrize(("count", "effort"), [(1, 10.0), (4, 100.0), (37, 812.5)])
def test_rates_have_the_exact_interval(count, effort):
    theirs = confint_poisson(count, effort, method="exact-c", alpha=0.10)
    assert rate_interval(count, effort) == pytest.approx(theirs)


def test_a_rate_without_a_strike_begins_at_nothing():
    low, high = rate_interval(0, 50.0)
    assert low == 0.0
    assert high == pytest.approx(confint_poisson(0, 50.0, method="exact-c", alpha=0.10)[1])


@pytest.mark.parametrize(("successes", "trials"), [(7, 10), (1, 30), (29, 30), (50, 400)])
def test_shares_have_the_interval_of_jeffreys(successes, trials):
    theirs = proportion_confint(successes, trials, alpha=0.10, method="jeffreys")
    assert share_interval(successes, trials) == pytest.approx(theirs)


def test_a_share_of_none_or_all_reaches_the_end():
    assert share_interval(0, 5)[0] == 0.0
    assert share_interval(5, 5)[1] == 1.0
