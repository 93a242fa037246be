"""Owns the tests of a logger's clock: found where sets tell it, unknown where nothing does."""

import numpy as np
import pytest
from made_instruments import trace

from analysis.log.instruments.logger_clock import clock_of

MINUTE = 60_000_000
SETS = [(0.0, 70.0, 15.0), (80.0, 150.0, 12.0), (158.0, 240.0, 20.0)]


def matched(sets, slow_min, begin=-20.0, end=260.0, noise_m=0.15, seed=4):
    """Lay a logger with a slow clock over sets."""
    minute, depth = trace(begin, end, sets)
    depth = depth + np.random.default_rng(seed).normal(0, noise_m, len(depth))
    time = ((minute - slow_min) * MINUTE).astype(np.int64)
    told = [(int(a * MINUTE), int(b * MINUTE)) for a, b, _ in sets]
    return clock_of(time, depth, told, [(0, int(240 * MINUTE))])


@pytest.mark.parametrize("slow", [-95.0, -7.0, 7.0, 60.0, 120.0])
def test_a_clock_that_is_off_is_found(slow):
    clock = matched(SETS, slow)
    assert clock.fits
    assert clock.offset_us / MINUTE == pytest.approx(slow, abs=1.5)


@pytest.mark.parametrize("slow", [-1.0, 0.0, 1.0])
def test_a_clock_that_is_right_stays(slow):
    clock = matched(SETS, slow)
    assert (clock.offset_us, clock.fits) == (0, True)


def test_sets_that_only_change_their_depth_tell_it_too():
    """Moved without coming up: the depths part the sets."""
    sets = [(0.0, 60.0, 8.0), (60.0, 130.0, 20.0), (130.0, 240.0, 12.0)]
    clock = matched(sets, 15.0)
    assert clock.offset_us / MINUTE == pytest.approx(15.0, abs=2.0)


def test_one_long_set_within_a_longer_dive_tells_nothing_and_needs_nothing():
    clock = matched([(-100.0, 340.0, 15.0)], 0.0, begin=-100, end=340)
    assert (clock.offset_us, clock.fits) == (0, True)


def test_a_clock_hours_off_within_one_long_dive_is_unknown():
    minute = np.arange(0.0, 600.0, 0.5)
    time = ((minute + 700) * MINUTE).astype(np.int64)
    clock = clock_of(time, np.full(len(minute), 15.0), [(0, 60 * MINUTE)], [(0, 60 * MINUTE)])
    assert clock.offset_us is None


def test_a_logger_of_another_rod_does_not_fit():
    minute, depth = trace(-20.0, 260.0, [(5.0, 25.0, 15.0), (200.0, 222.0, 15.0)])
    told = [(int(a * MINUTE), int(b * MINUTE)) for a, b in ((30, 110), (118, 240))]
    assert not clock_of((minute * MINUTE).astype(np.int64), depth, told, [told[0]]).fits
