"""Checks the comparison of lures against seasons whose lures' effects are known."""

import numpy as np
import pytest

from analysis.rates.build_exposure import join
from analysis.review.gear_effects import told_apart
from analysis.review.lure_effects import lure_effects
from analysis.season import Options, read_seasons, season_answer
from data.scenario import Scenario
from data.simulate import simulate_season


@pytest.fixture(scope="module")
def simulated():
    """A season in which lures differ by a factor of one and a half or so."""
    return simulate_season(Scenario(name="lures", lure_sd=0.5, strikes=600), 7)


@pytest.fixture(scope="module")
def compared(simulated, tmp_path_factory):
    seasons = read_seasons([simulated.write(tmp_path_factory.mktemp("lures") / "dunlin-2026")])
    units = seasons[0].log.boat.units
    answer = season_answer(seasons, join(seasons), Options(lures=True), units, checked=False)
    return lure_effects(answer), answer


def test_lures_are_told_as_they_are(simulated, compared):
    table, _ = compared
    effect = simulated.truth.response.lure_effect
    true = np.array([effect[lure] - effect[table["reference"].iloc[0]] for lure in table["lure"]])
    inside = (np.log(table["low"]) <= true) & (true <= np.log(table["high"]))
    # of some eight intervals of nominal 90 %, which share a reference, three outside is too many
    assert (~inside).sum() <= 2
    assert np.corrcoef(np.log(table["ratio"]), true)[0, 1] > 0.7


def test_every_lure_has_its_effort(compared):
    table, answer = compared
    assert table["rod_hours"].is_monotonic_decreasing
    assert table["rod_hours"].sum() == pytest.approx(answer.exposure.table["hours"].sum())
    assert table["strikes"].sum() == answer.exposure.table["strikes"].sum()
    assert (table.iloc[0][["ratio", "low", "high"]] == 1.0).all()


def test_lures_are_left_out_unless_asked_for(warm, compared):
    _, asked = compared
    assert asked.fit.model.term("lure") is not None
    assert warm.answer.exposure.table["lure"].nunique() > 1
    assert warm.answer.fit.model.term("lure") is None
    assert lure_effects(warm.answer).empty


def test_only_lures_beyond_chance_are_told_apart(compared):
    table, _ = compared
    outside = (table["low"] > 1) | (table["high"] < 1)
    assert table["told_apart"].any()
    assert not (table["told_apart"] & ~outside).any()
    assert not table["told_apart"].iloc[0]


def test_of_many_alike_hardly_any_is_told_apart():
    """Fifteen without a difference, each known within one standard deviation, 200 times over."""
    rng = np.random.default_rng(0)
    estimate = rng.standard_normal((200, 15))
    draws = estimate + rng.standard_normal((4000, 200, 15))
    by_rule = told_apart(draws, 15).any(axis=1)
    low, high = np.quantile(draws, (0.05, 0.95), axis=0)
    by_interval = ((low > 0) | (high < 0)).any(axis=1)
    # nominal 1 in 20 at most; three standard errors of a share of 200 above it
    assert by_rule.mean() < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 200)
    assert by_interval.mean() > 0.5
