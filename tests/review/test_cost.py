"""Owns the tests of what poor water cost, against the simulator's truth."""

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.review.cost import cost_table, deepest_m
from analysis.show.sentences.season import HELD, cost_sentences

BENCHMARK = Path(__file__).parents[1] / "benchmarks" / "season_cost.py"


@pytest.fixture(scope="module")
def true_gain():
    """Return the benchmark's account of what the true rate gives more."""
    spec = importlib.util.spec_from_file_location("season_cost", BENCHMARK)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return lambda season: module.true_gain(season.simulated, season.answer, season.seasons)


# some of them other tests look at, too, so that few are fitted for this one
CASES = [
    ("chasing_confounded", 2),
    ("chasing_confounded", 3),
    ("chasing_confounded", 4),
    ("temperature_chasing", 2),
    ("temperature_chasing", 3),
    ("temperature_chasing", 11),
]


def test_the_cost_is_near_the_truth_and_its_interval_holds_it_mostly(known, true_gain):
    rows = []
    for scenario, seed in CASES:
        season = known(scenario, seed)
        cost = cost_table(season.answer, season.seasons, np.random.default_rng(seed))
        true = true_gain(season)
        rows.append(cost.assign(true=cost["period"].map(true), case=f"{scenario} {seed}"))
    table = pd.concat(rows)
    inside = (table["true"] >= table["more_low"]) & (table["true"] <= table["more_high"])
    whole = table["period"] == "season"
    # of six seasons at 90 % five or more hold the truth nine times in ten (0.89)
    assert inside[whole].sum() >= 5
    assert inside[~whole].mean() >= 0.8
    off = (table["more"] - table["true"]).abs() / table["strikes_fished"]
    assert off[whole].max() < 0.25
    assert off[whole].mean() < 0.12


def test_the_season_is_the_sum_of_its_months(warm, rng):
    cost = cost_table(warm.answer, warm.seasons, rng)
    whole, months = cost.iloc[0], cost.iloc[1:]
    assert whole["period"] == "season"
    for column in ("rod_hours", "moved_hours", "strikes_fished"):
        assert whole[column] == pytest.approx(months[column].sum())
    assert whole["more"] == pytest.approx(months["more"].sum(), rel=0.1)
    assert (cost["low"] < cost["strikes_best"]).all()
    assert (cost["strikes_best"] < cost["high"]).all()
    assert (cost["moved_hours"] <= cost["rod_hours"]).all()
    np.testing.assert_allclose(cost["strikes_best"] - cost["strikes_fished"], cost["more"])


def test_a_gear_reaches_as_deep_as_its_longest_line_runs(warm):
    table = warm.answer.exposure.table
    reach = pd.Series(deepest_m(warm.answer, warm.seasons)).groupby(table["gear"]).max()
    deepest = table.groupby("gear")["depth_m"].max()
    # slow trips run deeper than the usual speed makes of the same line, a core by far the most
    assert (reach / deepest)[["diver", "rigger"]].between(0.75, 1.1).all()
    assert (reach / deepest)["core"] < 1.0
    assert reach["core"] < reach["diver"] < reach["rigger"]


def test_rods_that_cannot_reach_cost_nothing(warm, rng):
    deepest = len(warm.answer.hours.edges_m) - 2
    periods = []
    for period in warm.answer.periods:
        named = np.zeros_like(period.judgement.named)
        named[deepest] = True
        periods.append(replace(period, judgement=replace(period.judgement, named=named)))
    beyond = replace(warm.answer, periods=tuple(periods))
    cost = cost_table(beyond, warm.seasons, rng)
    core = warm.answer.exposure.table["gear"] == "core"
    hours = warm.answer.exposure.table["hours"]
    assert cost.iloc[0]["moved_hours"] <= hours[~core].sum() + 1e-6


def test_no_named_band_no_cost(warm, rng):
    nothing = [
        replace(
            period,
            judgement=replace(
                period.judgement, named=np.zeros_like(period.judgement.named), verdict="open"
            ),
        )
        for period in warm.answer.periods
    ]
    cost = cost_table(replace(warm.answer, periods=tuple(nothing)), warm.seasons, rng)
    assert cost.empty
    assert "cannot be told" in cost_sentences(cost, warm.answer)[0]
    told = cost_sentences(cost_table(warm.answer, warm.seasons, rng), warm.answer)
    assert "more" in told[0]
    assert told[1] == HELD


def test_the_word_on_the_interval_is_what_the_benchmark_printed():
    rows = BENCHMARK.with_suffix(".md").read_text(encoding="utf-8").splitlines()
    held = [
        [int(number) for number in row.split(" | ")[5].split(" of ")]
        for row in rows
        if row.startswith(("| temperature_chasing", "| all_troubles"))
    ]
    inside, seasons = np.sum(held, axis=0)
    assert f"{inside} of {seasons} simulated seasons" in HELD
