"""Owns the tests of what is named and how sure, from rates whose odds are set by hand.

The limits stand here as the shared rules have them: a band is as good as the best from 0.9 of its
rate on, clear from 90 chances in 100, leaning from 60, a neighbour named from 20.
"""

import numpy as np
import pandas as pd
import pytest

from analysis.decision.bands import judge, spread_share

POOR, GOOD = 0.5, 1.0


def first_is_best_in(chances, *, other=GOOD, bands=2):
    """Hundred draws of bands: in ``chances`` the first is best and the rest poor, else the last."""
    draws = np.full((bands, 100), POOR)
    draws[0, :chances] = GOOD
    draws[-1, chances:] = other
    return draws


def judged(draws, which=None, **options):
    flags = np.ones(len(draws), dtype=bool)
    if which is not None:
        flags[:] = np.isin(np.arange(len(draws)), which)
    return judge(np.asarray(draws, dtype=float), flags, **options)


@pytest.mark.parametrize(
    ("chances", "verdict", "named"),
    [
        (100, "clear", [0]),
        (92, "clear", [0]),  # a chance of 92 in 100 is enough
        (91, "leaning", [0]),  # the neighbour that follows is too far off to be named
        (60, "leaning", [0]),
        (59, "open", [0]),
        (51, "open", [0]),
        (49, "open", [3]),
    ],
)
def test_a_verdict_is_as_sure_as_the_draws(chances, verdict, named):
    """Of four bands the outer two are good in turn, so that no neighbour is worth naming."""
    found = judged(first_is_best_in(chances, bands=4))
    assert (found.verdict, list(np.flatnonzero(found.named))) == (verdict, named)
    share = max(chances, 100 - chances) / 100
    assert found.p_near == found.p_named == pytest.approx(share)
    assert found.p_best == pytest.approx([chances / 100, 0, 0, 1 - chances / 100])
    assert found.p_matters == 1.0


@pytest.mark.parametrize(("rate", "near"), [(0.905, 1.0), (0.895, 0.8)])
def test_near_is_a_tenth_below_the_best(rate, near):
    """Third of three bands, so that it is no neighbour: best in 20 draws, first near it there."""
    draws = np.full((3, 100), POOR)
    draws[0], draws[0, 80:], draws[2, 80:] = GOOD, rate, GOOD
    found = judged(draws)
    assert list(found.named) == [True, False, False]
    assert found.p_near == pytest.approx(near)
    assert found.verdict == ("clear" if near == 1 else "leaning")
    assert found.p_named == pytest.approx(0.8)


def test_never_bad_is_named_before_often_best():
    """The first is best 6 times in 10, by a little, and poor else: it gives up more."""
    draws = np.array([[GOOD] * 60 + [0.1] * 40, [POOR] * 100, [0.95] * 60 + [GOOD] * 40])
    found = judged(draws)
    assert found.p_best == pytest.approx([0.6, 0.0, 0.4])
    assert list(found.named) == [False, False, True]
    # it is within a tenth of the best always, though it is the best in 40 of 100 alone
    assert found.p_near == 1.0
    assert found.p_named == pytest.approx(0.4)
    assert found.verdict == "clear"


@pytest.mark.parametrize(("beats", "named"), [(20, [0]), (21, [0, 1]), (45, [0, 1])])
def test_a_neighbour_that_may_well_be_better_is_named_too(beats, named):
    found = judged(first_is_best_in(100 - beats))
    assert list(np.flatnonzero(found.named)) == named
    assert found.p_near == pytest.approx(1.0 if len(named) == 2 else 0.8)
    assert found.verdict == ("clear" if len(named) == 2 else "leaning")


def test_a_band_that_is_near_the_best_anyway_needs_no_neighbour():
    """The neighbour is better half the time, by a twentieth: naming it would tell less."""
    draws = np.full((3, 100), POOR)
    draws[0] = GOOD
    draws[1, ::2] = 1.05 * GOOD
    found = judged(draws)
    assert list(found.named) == [True, False, False]
    assert found.verdict == "clear"


def test_of_two_neighbours_the_likelier_is_named_and_never_both():
    draws = np.full((3, 100), POOR)
    draws[1, :45], draws[0, 45:70], draws[2, 70:] = GOOD, GOOD, GOOD
    assert list(judged(draws).named) == [False, True, True]
    assert list(judged(draws[::-1]).named) == [True, True, False]
    assert judged(draws).p_near == pytest.approx(0.75)


def test_neighbours_are_bands_side_by_side_not_the_next_that_was_judged():
    """Between the two lies a band that was fished too little: they are no one place."""
    draws = first_is_best_in(70, bands=3)
    assert list(judged(draws, [0, 2]).named) == [True, False, False]
    assert list(judged(draws[[0, 2]]).named) == [True, True]


def test_bands_fished_too_little_take_no_part():
    """The middle band has the highest rate of all, and nobody fished it enough."""
    draws = first_is_best_in(95, bands=3)
    draws[1] = 9 * GOOD
    found = judged(draws, [0, 2])
    assert np.isnan(found.p_best[1])
    assert found.p_best[[0, 2]] == pytest.approx([0.95, 0.05])
    assert list(found.named) == [True, False, False]
    assert found.verdict == "clear"


def test_a_rate_that_is_unknown_in_one_draw_is_not_judged():
    draws = first_is_best_in(95, bands=3)
    draws[1] = 9 * GOOD
    draws[1, 7] = np.nan
    found = judged(draws)
    assert np.isnan(found.p_best[1])
    assert list(found.named) == [True, False, False]


@pytest.mark.parametrize(("matters", "verdict"), [(90, "clear"), (89, "open")])
def test_where_every_band_may_be_as_good_nothing_is_told(matters, verdict):
    """The second band is worse than a tenth off the first in so many of 100 draws."""
    draws = np.full((2, 100), GOOD)
    draws[1] = 0.95
    draws[1, :matters] = 0.85
    found = judged(draws)
    assert found.p_matters == pytest.approx(matters / 100)
    assert found.p_near == 1.0
    assert found.verdict == verdict


def test_one_band_alone_is_named_and_open():
    found = judged(first_is_best_in(100), [0])
    assert list(found.named) == [True, False]
    assert found.verdict == "open"
    assert found.p_best[0] == found.p_near == found.p_named == 1.0
    assert found.p_matters == 0.0


def test_none_fished_enough_names_none():
    found = judged(first_is_best_in(100), [])
    assert not found.named.any()
    assert found.verdict == "open"
    assert np.isnan([*found.p_best, found.p_named, found.p_near, found.p_matters]).all()


@pytest.mark.parametrize(("chances", "verdict"), [(95, "leaning"), (70, "leaning"), (55, "open")])
def test_a_cap_lowers_clear_and_nothing_else(chances, verdict):
    draws = first_is_best_in(chances, bands=4)
    free, capped = judged(draws), judged(draws, may_be_clear=False)
    assert capped.verdict == verdict
    assert list(capped.named) == list(free.named)
    assert (capped.p_near, capped.p_named) == (free.p_near, free.p_named)
    assert free.as_open().verdict == "open"
    assert free.as_open().p_near == free.p_near


@pytest.mark.parametrize(("chances", "verdict"), [(95, "clear"), (94, "leaning")])
def test_where_more_is_asked_less_is_clear(chances, verdict):
    draws = first_is_best_in(chances, bands=4)
    assert judged(draws).verdict == "clear"
    assert judged(draws, clear=0.95).verdict == verdict


def test_a_band_not_sure_enough_alone_is_named_with_its_neighbour():
    first = [GOOD] * 63 + [0.95 * GOOD] * 30 + [POOR] * 7
    draws = np.array([first, [POOR] * 63 + [GOOD] * 37, [POOR] * 100])
    assert list(judged(draws).named) == [True, False, False]
    both = judged(draws, clear=0.95)
    assert (list(both.named), both.verdict) == ([True, True, False], "clear")


def test_a_spread_s_share_is_of_rod_hours_not_of_rows():
    slices = pd.DataFrame({"hours": [6.0, 1.0, 1.0], "source": ["sets", "spread", "spread"]})
    assert spread_share(slices) == pytest.approx(0.25)
    assert spread_share(slices.drop(columns="source")) == 0.0
    assert spread_share(slices[:0]) == 0.0


def test_of_two_named_bands_the_likelier_is_told():
    """First good in 60 draws, second in 40, never both: naming two must not hide which."""
    draws = first_is_best_in(60)
    found = judged(draws)
    assert list(found.named) == [True, True]
    assert (found.first, found.rather) == (0, 0)
    assert found.p_near == 1.0
    late = judged(draws[::-1])
    assert (late.first, late.rather) == (1, 1)
    alone = judged(first_is_best_in(95, bands=4))
    assert alone.rather is None
