"""Owns the tests of the comparison with the field's other models."""

import numpy as np
import pytest

from analysis.diagnostics.sensitivity import COMPARED, compare_strata


@pytest.fixture(scope="module")
def chased(known):
    """Fish at a fixed depth, a captain who goes where he had strikes."""
    return known("chasing_confounded", 2)


@pytest.fixture(scope="module")
def compared(chased):
    answer = chased.answer
    return compare_strata(
        answer.exposure,
        answer.choice.model,
        answer.hours,
        answer.season.judged,
        np.random.default_rng(1),
    )


def test_every_way_tells_every_judged_band(compared, chased):
    assert tuple(compared["strata"].unique()) == COMPARED
    judged = chased.answer.season.judged.sum()
    assert (compared["strata"].value_counts() == judged).all()
    assert (compared["low"] < compared["ratio"]).all()
    assert (compared["ratio"] < compared["high"]).all()
    np.testing.assert_allclose(compared.groupby("strata")["p_best"].sum(), 1.0)


def test_pooled_counts_follow_the_captain_and_same_time_strata_the_fish(compared, chased):
    """Shared statistics: pooled models are biased by good days, rods at one time are not."""
    edges = chased.answer.hours.edges_m
    rates = chased.simulated.truth.band_rates(edges).query("period == 'season'")["rate"].to_numpy()
    judged = chased.answer.season.judged
    truth = np.log(rates[judged])
    truth -= truth.mean()
    error = {
        strata: np.sqrt(np.mean((np.log(rows["ratio"].to_numpy()) - truth) ** 2))
        for strata, rows in compared.groupby("strata")
    }
    assert error["same time"] < error["season"]


def test_one_judged_band_compares_nothing(chased):
    answer = chased.answer
    alone = np.zeros_like(answer.season.judged)
    alone[np.flatnonzero(answer.season.judged)[0]] = True
    rng = np.random.default_rng(1)
    found = compare_strata(answer.exposure, answer.choice.model, answer.hours, alone, rng)
    assert found.empty
    assert "p_best" in found
