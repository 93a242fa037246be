"""Owns the tests of where nearly every depth will do."""

import numpy as np
import pytest

from analysis.decision.answer import Period
from analysis.decision.bands import judge
from analysis.decision.wide import most_lost, wide_choice


def period(rates, *, judged=None, draws=200):
    """Bands of given rates, each its own in every draw; an array (bands, draws) as it is."""
    rates = np.asarray(rates, dtype=float)
    rates = rates if rates.ndim == 2 else np.repeat(rates[:, None], draws, axis=1)
    flags = np.ones(len(rates), dtype=bool) if judged is None else np.asarray(judged)
    return Period(
        name="2026-10",
        at_depth=rates[:, None],
        rod_hours=np.full(len(rates), 50.0),
        strikes=np.full(len(rates), 20),
        judged=flags,
        judgement=judge(rates, flags),
    )


def test_bands_within_a_fifth_of_the_best_are_one_wide_choice():
    found = wide_choice(period([0.3, 0.85, 1.0, 0.9, 0.82, 0.5]))
    assert (found.first, found.last, found.chance) == (1, 4, 1.0)


@pytest.mark.parametrize(
    "rates", [[0.5, 0.85, 1.0, 0.5], [0.1, 0.2, 0.85, 1.0, 0.9, 0.2, 0.1, 0.1]]
)
def test_two_bands_or_a_small_part_of_those_fished_are_no_wide_choice(rates):
    assert wide_choice(period(rates)) is None


def test_a_band_that_was_hardly_fished_ends_it():
    rates, judged = [0.85, 0.9, 1.0, 0.95, 0.9], [True, True, True, False, True]
    found = wide_choice(period(rates, judged=judged))
    assert (found.first, found.last) == (0, 2)


def test_all_its_bands_must_do_at_once(rng):
    """Each of four is poor in its own 4 of 100 draws: one is in 8, two in 12 of them."""
    rates = np.repeat([[0.9], [0.95], [1.0], [0.95], [0.9], [0.2]], 100, axis=1)
    for place, band in enumerate((0, 1, 3, 4)):
        rates[band, 4 * place : 4 * place + 4] = 0.1
    found = wide_choice(period(rates))
    assert found.last - found.first + 1 == 3
    assert found.chance == pytest.approx(0.92)


def test_a_log_that_cannot_tell_says_nothing_of_it():
    """Every band as good in one half of the draws as poor in the other."""
    rates = np.ones((4, 100))
    rates[:2, :50] = rates[2:, 50:] = 0.1
    assert wide_choice(period(rates)) is None


def test_what_the_worst_band_gave_up_holds_nine_times_in_ten():
    """A band that is down by 3 in one draw, 6 in the next, and so on: of 100 draws ten exceed."""
    rates = np.ones((3, 100))
    rates[1] = 1.0 - 0.003 * np.arange(1, 101)
    lost = most_lost(period(rates))
    assert np.mean(1.0 - rates[1] > lost) == pytest.approx(0.1)


def test_a_band_hardly_fished_gives_nothing_up():
    assert most_lost(period([0.1, 0.9, 1.0], judged=[False, True, True])) == pytest.approx(0.1)
