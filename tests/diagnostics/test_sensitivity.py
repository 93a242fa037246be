"""Owns the tests of the comparison with the field's other models."""

import numpy as np
import pytest

from analysis.diagnostics.sensitivity import COMPARED, compare_strata
from analysis.rates.fit import fit_rate
from analysis.rates.standardised import band_draws
from analysis.rates.trip_rates import trip_levels


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


def test_rods_at_one_time_are_the_conditional_fit_itself(compared, chased):
    """Its rows must be what the season's own way of fitting gives from the same seed."""
    answer = chased.answer
    rng = np.random.default_rng(1)
    fit = fit_rate(answer.exposure, answer.choice.model, rng)
    everything = np.ones(len(answer.hours.trip), dtype=bool)
    levels = trip_levels(answer.exposure, fit, rng)
    (draws,) = band_draws(fit, levels, answer.hours, [everything])
    log_rate = np.log(draws[answer.season.judged])
    relative = np.median(np.exp(log_rate - log_rate.mean(axis=0)), axis=1)
    rows = compared.loc[compared["strata"] == "same time"]
    np.testing.assert_allclose(rows["ratio"], relative)


def test_the_ways_do_not_all_say_the_same(compared):
    """Pooled counts trust where the captain went; rods at one time do not."""
    ratio = compared.pivot(index="band_low_m", columns="strata", values="ratio")
    assert (np.log(ratio["season"] / ratio["same time"]).abs() > 0.05).any()


def test_one_judged_band_compares_nothing(chased):
    answer = chased.answer
    alone = np.zeros_like(answer.season.judged)
    alone[np.flatnonzero(answer.season.judged)[0]] = True
    rng = np.random.default_rng(1)
    found = compare_strata(answer.exposure, answer.choice.model, answer.hours, alone, rng)
    assert found.empty
    assert "p_best" in found
