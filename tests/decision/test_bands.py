"""Owns the tests of the judgement of bands: what is named, and the rate that is told of it."""

import numpy as np
import pytest

from analysis import labels
from analysis.decision.bands import judge
from analysis.show.sentences import best_rows

DRAWS = 4000
NAMED = ("named_rate", "named_rate_low", "named_rate_high")


def lognormal(rng, middle, *, shared=0.3, own=0.1):
    """Rates of bands that are good or bad together, and a little each on its own."""
    together = shared * rng.standard_normal(DRAWS)
    apart = own * rng.standard_normal((len(middle), DRAWS))
    return np.array(middle)[:, None] * np.exp(together + apart)


def test_a_pair_has_one_rate_of_its_own_from_the_joint_draws():
    draws = lognormal(np.random.default_rng(0), [0.05, 0.20, 0.19, 0.06])
    found = judge(draws, np.ones(4, dtype=bool))
    assert list(found.named) == [False, True, True, False]
    rate, low, high = found.rate(draws)
    # hours parted equally, 0.195; sd of the log is that of what both share, nearly:
    # sqrt(0.3^2 + 0.1^2 / 2), of a normal distribution 1.645 of these reach its 95 % point
    sd = np.hypot(0.3, 0.1 / np.sqrt(2))
    assert rate == pytest.approx(0.195, rel=0.03)
    assert np.log(high / low) / 2 == pytest.approx(1.645 * sd, rel=0.06)


def test_one_named_band_tells_its_own_rate_and_none_tells_none():
    draws = lognormal(np.random.default_rng(1), [0.02, 0.30, 0.05])
    found = judge(draws, np.ones(3, dtype=bool))
    assert list(found.named) == [False, True, False]
    assert found.rate(draws) == pytest.approx(np.quantile(draws[1], (0.5, 0.05, 0.95)))
    nothing = judge(draws, np.zeros(3, dtype=bool))
    assert np.isnan(nothing.rate(draws)).all()


def test_headline_table_and_summary_tell_one_rate(warm):
    table, rows = warm.answer.table, best_rows(warm.answer, warm.units)
    pairs = 0
    for period, row in zip(warm.answer.periods, rows, strict=True):
        told = table.loc[table["period"] == period.name]
        named = told.loc[told["named"]]
        if not len(named):
            assert row["rate"] is None or np.isnan(row["rate"])
            continue
        pairs += len(named) == 2
        rate, low, high = period.named_rate
        assert (row["rate"], row["rate_low"], row["rate_high"]) == (rate, low, high)
        for column, value in zip(NAMED, (rate, low, high), strict=True):
            assert set(told[column]) == {value}
        joint = period.draws[period.judgement.named].mean(axis=0)
        assert rate == pytest.approx(np.median(joint))
        written, _ = labels.rate_and_interval(rate, low, high)
        in_words = f"{written} strikes per rod-hour" in row["sentence"]
        assert in_words != row["an_average"]
    assert pairs, "a season in which no pair is named shows nothing"
