"""Owns the tests of comparisons: against statsmodels, and on what they refuse."""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.discrete.conditional_models import ConditionalLogit

from analysis.errors import UsageError
from analysis.stats.clustered import counted_rate
from analysis.stats.side_by_side import side_by_side
from analysis.workbook import Season


def test_the_ratio_side_by_side_is_that_of_a_conditional_logit() -> None:
    """Against statsmodels: one moment a stratum, a row a rod; the prior's pull is within 2 %."""
    rng = np.random.default_rng(3)
    first, second = rng.integers(1, 4, 1500), rng.integers(1, 5, 1500)
    took = (rng.random(1500) < 1.8 * first / (1.8 * first + second)).astype(float)
    rods = first + second
    moment = np.repeat(np.arange(1500), rods)
    place = np.arange(rods.sum()) - np.repeat(np.cumsum(rods) - rods, rods)
    in_first = (place < first[moment]).astype(float)
    struck = place == np.where(took > 0, 0, first)[moment]
    reference = ConditionalLogit(struck.astype(int), in_first[:, None], groups=moment).fit()
    told = side_by_side(took, first.astype(float), second.astype(float), np.arange(1500.0))
    assert told.ratio == pytest.approx(np.exp(reference.params[0]), rel=0.02)
    half = np.log(told.high / told.low) / 2
    assert half == pytest.approx(1.645 * reference.bse[0], rel=0.1)


def test_strikes_that_come_in_bursts_widen_the_ratio() -> None:
    one = np.ones(60)
    took = np.repeat([1.0, 1.0, 0.0], 20)
    apart = side_by_side(took, one, one, np.arange(60.0))
    bursts = side_by_side(took, one, one, np.repeat([0.0, 1.0, 2.0], 20))
    assert np.log(bursts.high / bursts.low) > 2 * np.log(apart.high / apart.low)


def test_a_group_without_a_strike_has_a_ratio_with_ends() -> None:
    one = np.ones(12)
    told = side_by_side(np.zeros(12), one, one, np.arange(12.0))
    assert 0 < told.low < told.high < 0.7


def test_the_dispersion_is_that_of_a_quasi_poisson_fit() -> None:
    """Against statsmodels: a Poisson fit of a constant with an offset, scale by Pearson's X2."""
    rng = np.random.default_rng(8)
    hours = rng.uniform(20, 60, 40)
    strikes = rng.negative_binomial(1.0, 1 / (1 + 0.1 * hours)).astype(float)
    fit = sm.GLM(strikes, np.ones(40), family=sm.families.Poisson(), offset=np.log(hours)).fit(
        scale="X2"
    )
    told = counted_rate(strikes, hours)
    assert told.dispersion == pytest.approx(fit.scale)
    assert told.rate == pytest.approx(np.exp(fit.params[0]))
    width = np.log(told.high / told.low)
    assert width == pytest.approx(2 * 1.645 * fit.bse[0], rel=0.1)


def test_gears_are_compared_while_both_fished(asked: Season) -> None:
    told = asked.where(gear="diver").compare(asked.where(gear="rigger"))
    assert told.together
    assert sum(told.ratio.strikes) > 10
    back = asked.where(gear="rigger").compare(asked.where(gear="diver"))
    assert back.ratio.ratio == pytest.approx(1 / told.ratio.ratio, rel=0.02)


def test_mornings_and_evenings_are_no_comparison_at_equal_conditions(asked: Season) -> None:
    told = asked.where(hours=(4, 9)).compare(asked.where(hours=(9, 22)))
    assert not told.together
    assert "no comparison at equal conditions" in told._repr_html_()


def test_parts_with_common_hours_are_refused(asked: Season) -> None:
    with pytest.raises(UsageError, match="share rod-hours"):
        asked.compare(asked.where(gear="diver"))
    with pytest.raises(UsageError, match="no rod-hours to compare"):
        asked.where(hours=(1, 2)).compare(asked.where(gear="diver"))
