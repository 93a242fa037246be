"""Owns the tests of how many more strikes would part the two leading bands."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analysis.decision.answer import Period
from analysis.decision.bands import judge
from analysis.decision.leads import more_strikes, what_they_follow


def period(apart, *, strikes=50.0, others=()):
    """Two bands whose log rates lie ``apart`` standard deviations of their difference."""
    difference = np.tile([-1.0, 1.0], 50) + apart  # a standard deviation of 1
    draws = np.exp(np.vstack([difference, np.zeros(100), *(np.full(100, at) for at in others)]))
    flags = np.ones(len(draws), dtype=bool)
    return Period(
        name="season",
        at_depth=draws[:, None],
        rod_hours=np.full(len(draws), 50.0),
        strikes=np.append(np.full(len(draws) - 1, 0.0), strikes),
        judged=flags,
        judgement=judge(draws, flags),
    )


@pytest.mark.parametrize(
    ("apart", "more"),
    [
        # 1.3 standard deviations part them nine times in ten; the doubt falls as the root of the
        # strikes, so half as far apart takes four times as many: three times as many more
        (0.65, 150),
        (1.3 / np.sqrt(2), 50),
        # nearer than 0.3 is taken for 0.3: 50 times 17.8
        (0.3, 890),
        (0.1, 890),
        # they are apart: half as many again confirm it
        (2.0, 20),
    ],
)
def test_strikes_needed_grow_as_the_doubt_squared(apart, more):
    assert more_strikes(None, period(apart)) == more


def test_bands_that_are_far_behind_do_not_matter():
    assert more_strikes(None, period(0.65, others=(-3.0, -4.0))) == 150


def test_at_least_ten_and_at_most_a_thousand_are_told():
    assert more_strikes(None, period(2.0, strikes=0.0)) == 10
    assert more_strikes(None, period(0.1, strikes=500.0)) == 1000
    few, ten = period(0.65, strikes=2.0), period(0.65, strikes=10.0)
    assert more_strikes(None, few) == more_strikes(None, ten) == 30


def test_bands_not_judged_take_no_part():
    whole = period(0.65, others=(0.64,))
    judged = np.array([True, True, False])
    assert more_strikes(None, replace(whole, judged=judged)) == 150
    assert more_strikes(None, whole) != 150


def scored(**scores):
    """An answer of whose choice only scores and their doubt are asked."""
    names = {
        "warm": "temperature alone",
        "deep": "depth alone",
        "drifting": "depth drifting with the season",
    }
    rows = [(names[name], score, 1.0) for name, score in scores.items()]
    table = pd.DataFrame(rows, columns=["model", "score", "behind_se"])
    measured = SimpleNamespace(water_unseen=False)
    return SimpleNamespace(choice=SimpleNamespace(table=table), exposure=measured)


@pytest.mark.parametrize(
    ("scores", "follow"),
    [
        # the doubt of a difference is root two where each is in doubt by one
        ({"warm": 5.0, "deep": 3.0, "drifting": 3.5}, "temperature"),
        ({"warm": 5.0, "deep": 3.0, "drifting": 3.7}, "unknown"),
        ({"warm": 5.0, "deep": 3.7, "drifting": 3.0}, "unknown"),
        ({"warm": 3.0, "deep": 4.5, "drifting": 3.0}, "depth"),
        ({"warm": 3.0, "deep": 3.0, "drifting": 4.5}, "depth"),
        ({"warm": 3.0, "deep": 4.3, "drifting": 4.3}, "unknown"),
        ({"deep": 9.0, "drifting": 1.0}, "unknown"),
    ],
)
def test_fish_follow_what_foretells_trips_better_by_more_than_its_doubt(scores, follow):
    assert what_they_follow(scored(**scores)) == follow


@pytest.mark.parametrize(
    ("followed", "follow"), [(0.95, "temperature"), (0.6, "unknown"), (0.05, "depth")]
)
def test_where_strikes_told_the_water_its_own_prediction_is_not_believed(followed, follow):
    answer = scored(warm=9.0, deep=1.0, drifting=1.0)
    latent = SimpleNamespace(followed=followed)
    answer.exposure = SimpleNamespace(water_unseen=True, latent=latent)
    assert what_they_follow(answer) == follow
