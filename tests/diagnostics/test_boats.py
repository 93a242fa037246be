"""Owns the tests of whether a club's boats met the same fish."""

from dataclasses import replace
from types import SimpleNamespace

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.decision.caps import Cap
from analysis.diagnostics.boats import boats_apart
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.show.sentences.caps import cap_words
from analysis.weekly.depth import _caps as week_caps


def two_boats(seed, best_m, *, boats=True):
    """Two boats with some 80 strikes each, of which the first's fish are at 15 m."""
    mine = made.exposure(seed, fish=made.Fish(rate=0.15))
    yours = made.exposure(seed + 1000, fish=made.Fish(best_m=best_m, rate=0.15))
    return made.joined(mine, yours, boats=boats)


def apart(whole, seed):
    fit = fit_rate(whole, candidates(whole)["depth alone"], np.random.default_rng(seed))
    return boats_apart(whole, fit)


def test_boats_that_met_the_same_fish_give_no_alarm():
    """Thirty pairs at a chance of one in a hundred each: three alarms have a chance of 0.3 %."""
    alarms = sum(bool(apart(two_boats(seed, 15.0), seed)) for seed in range(30))
    assert alarms < 3


@pytest.mark.parametrize("seed", range(5))
def test_boats_whose_fish_lie_six_metres_apart_are_named(seed):
    assert apart(two_boats(seed, 21.0), seed) == ("Dunlin", "Petrel")


def test_one_boat_has_nobody_to_differ_from():
    assert apart(two_boats(0, 21.0, boats=False), 0) == ()


def test_no_verdict_is_clear_where_boats_differ():
    """Each alone is clear about its own fish; together they have no common depth."""

    def told(whole):
        found = answer(whole, made.temperature_at, made.EDGES_M, np.random.default_rng(0))
        return found.caps, {period.judgement.verdict for period in found.periods}

    whole = two_boats(1, 24.0)
    caps, verdicts = told(whole)
    assert Cap(code="boats-apart", boat="Dunlin and Petrel") in caps
    assert "clear" not in verdicts
    caps, _ = told(two_boats(1, 15.0))
    assert not [cap for cap in caps if cap.code == "boats-apart"]


def test_a_week_names_no_boat():
    """Other boats of the club read it."""
    lost = Cap(code="loss", boat="Petrel")
    season = SimpleNamespace(caps_of_less=(Cap(code="boats-apart", boat="Dunlin"), lost))
    of_week = week_caps(season, strikes=100)
    assert cap_words(of_week[0]).startswith("some boats took")
    assert of_week[1] == replace(lost, boat="")
    assert cap_words(season.caps_of_less[0]).startswith("Dunlin took")
