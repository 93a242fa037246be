"""Checks how often the log is said to tell depths apart: where it does, and where it does not."""

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.rates.model_selection import CONSTANT, TACKLE, choose_model
from analysis.show.sentences import first_lines
from analysis.units import Units

NO_WATER = made.Fish(width_m=np.inf)
SEASONS = 20


def with_gear_effect(seed):
    """Riggers take four times the strikes of divers; depth and water do not matter."""
    whole = made.exposure(seed, fish=made.Fish(width_m=np.inf, rate=0.3))
    rigger = (whole.table["gear_setting"] == "rigger").to_numpy()[whole.strike_row]
    few = np.random.default_rng(seed).uniform(size=len(rigger)) < 0.25
    return whole.with_strikes(rigger | few)


def share_told(seasons):
    return np.mean([choose_model(season).tells_depth for season in seasons])


@pytest.mark.parametrize("trips", [20, 40])
def test_chance_seldom_passes_for_a_depth(trips):
    """Of 20 seasons without one at most 2: with a true rate of 1 in 20, more in one of 13 tries."""
    noise = (made.exposure(seed, trips=trips, fish=NO_WATER) for seed in range(SEASONS))
    assert share_told(noise) <= 0.10


def test_a_best_depth_is_mostly_told():
    assert share_told(made.exposure(seed, trips=40) for seed in range(SEASONS)) >= 0.8


def test_a_gear_that_fishes_better_tells_no_depth():
    found = [choose_model(with_gear_effect(seed)) for seed in range(20)]
    assert np.mean([CONSTANT in choice.not_beaten for choice in found]) <= 0.1
    assert np.mean([TACKLE in choice.not_beaten for choice in found]) >= 0.8


def test_a_log_that_tells_no_depth_says_so_first():
    """Whatever is as good is named, no verdict is above open, and none is said to be sure."""
    units = Units(
        length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
    )
    for season, simple in (
        (made.exposure(3, fish=NO_WATER), "a constant rate"),
        (with_gear_effect(3), "gear and leader alone"),
    ):
        told = answer(season, made.temperature_at, made.EDGES_M, np.random.default_rng(1))
        assert told.fit.strikes > 30
        lines = first_lines(told, units)
        assert lines[0] == (
            "This log cannot tell which depth produced: trips that the model has not seen are "
            f"foretold no better by depth and water than by {simple}."
        )
        assert not any(line.startswith("No verdict") and simple in line for line in lines)
        assert {period.judgement.verdict for period in told.periods} == {"open"}
        assert not any(" sure" in line for line in lines)
        failed = [check.name for check in told.checks if not check.passed]
        assert f"predicts better than {simple}" in failed


@pytest.mark.parametrize("seed", [109, 113])
def test_what_depth_does_beside_temperature_is_told_by_the_models_that_have_it(seed):
    """Depth hardly matters, and a model without it weighs much: its effect is small, not known.

    Mixed with draws that say exactly nothing, nine in ten ended at a ratio of 1.
    """
    fish = made.Fish(best_m=14.0, width_m=40.0, rate=0.35, best_c=10.0, width_c=2.0)
    season = made.exposure(seed, trips=50, fish=fish)
    rng = np.random.default_rng(seed)
    told = answer(season, made.temperature_at, made.EDGES_M, rng, checked=False)
    assert told.choice.members["temperature alone"].weight > 0.4
    curve = told.effects.query("term == 'depth_m' and at != reference")
    from_best = (curve[["at", "reference"]] - fish.best_m) / fish.width_m
    true = np.exp(-0.5 * (from_best["at"] ** 2 - from_best["reference"] ** 2))
    assert np.mean((curve["low"] <= true) & (true <= curve["high"])) > 0.9
    assert (curve["low"] < 1.0).all()
    assert (curve["high"] > np.minimum(true, 1.0)).all()
