"""Owns the tests of intervals: statsmodels' against the quantiles that define them, by scipy."""

import pytest
from scipy import stats

from analysis.stats.intervals import rate_interval, share_interval


@pytest.mark.parametrize(("count", "effort"), [(1, 10.0), (4, 100.0), (37, 812.5)])
def test_rates_have_the_exact_interval(count, effort):
    """Garwood 1936 (from memory): gamma quantiles of the count, and of one more."""
    defined = (stats.gamma.ppf(0.05, count) / effort, stats.gamma.ppf(0.95, count + 1) / effort)
    assert rate_interval(count, effort) == pytest.approx(defined)


def test_a_rate_without_a_strike_begins_at_nothing():
    low, high = rate_interval(0, 50.0)
    assert low == 0.0
    assert high == pytest.approx(stats.gamma.ppf(0.95, 1) / 50.0)


@pytest.mark.parametrize(("successes", "trials"), [(7, 10), (1, 30), (29, 30), (50, 400)])
def test_shares_have_the_interval_of_jeffreys(successes, trials):
    """Brown, Cai & DasGupta 2001 (from memory): beta quantiles with half a trial added to each."""
    posterior = stats.beta(successes + 0.5, trials - successes + 0.5)
    assert share_interval(successes, trials) == pytest.approx(posterior.ppf([0.05, 0.95]))


def test_a_share_of_none_or_all_reaches_the_end():
    assert share_interval(0, 5)[0] == 0.0
    assert share_interval(5, 5)[1] == 1.0
