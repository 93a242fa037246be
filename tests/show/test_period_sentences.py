"""Owns the tests of the sentence of a period: which bands it names, and how much it claims.

Rates are set by hand: bands of 10 ft of which one or two are good in so many of 100 draws.
"""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import Period, answer
from analysis.decision.bands import judge
from analysis.show.sentences.answer import missing, period_sentence, spread_sentences
from analysis.units import Units, to_si

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
EDGES_M = to_si(np.arange(0.0, 70.0, 10.0), "depth", "ft")
POOR, GOOD = 0.05, 0.25


@pytest.fixture(scope="module")
def made_answer():
    """A fitted season with bands of feet; its periods are replaced."""
    season = made.exposure(3, trips=16)
    rng = np.random.default_rng(1)
    found = answer(season, made.temperature_at, np.asarray(EDGES_M), rng, checked=False)
    return replace(found, choice=replace(found.choice, tells_depth=True))


def period(good, *, name="season", hours=100.0, judged=True, strikes=20, may_be_clear=True):
    """Six bands; ``good`` tells of some of them in which of 100 draws they are the good ones."""
    draws = np.full((6, 100), POOR)
    for band, which in good.items():
        draws[band, which] = GOOD
    flags = np.full(6, judged)
    return Period(
        name=name,
        draws=draws,
        rod_hours=np.full(6, hours) + np.arange(6),
        strikes=np.full(6, strikes),
        judged=flags,
        judgement=judge(draws, flags, may_be_clear=may_be_clear),
    )


ALWAYS = slice(None)


def test_a_clear_band_is_told_with_its_rate_interval_hours_and_odds(made_answer):
    found = period_sentence(made_answer, period({2: slice(95)}), FEET)
    # 95 draws of 0.25 and 5 of 0.05: the lower bound lies between them
    assert found.startswith("Over the season 20–30 ft produced best: 0.250 strikes per rod-hour (")
    assert "102 rod-hours there" in found
    assert found.endswith("; over 95 % sure that it holds a band within a tenth of the best.") or (
        found.endswith("; 100 % sure that it holds a band within a tenth of the best.")
    ) or found.endswith(" sure that it holds a band within a tenth of the best.")
