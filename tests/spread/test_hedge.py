"""Owns the tests of how far apart rods are put that share a doubt."""

import numpy as np
import pytest

from analysis.spread.expected import AS_GOOD, LineRates
from analysis.spread.hedge import hedged, line_at

LINES_M = np.arange(10.0, 71.0)


def bells(best_m, width_m=6.0):
    """Rates of lines about each draw's best line-out."""
    away = LINES_M - np.asarray(best_m)[:, None]
    rate = 0.2 * np.exp(-0.5 * (away / width_m) ** 2)
    return LineRates(line_out_m=LINES_M, depth_m=LINES_M / 2, rate=rate)


def rods_of(rates, count=4):
    return [(rates, (rod + 0.5) / count) for rod in range(count)]


def test_rods_that_know_the_best_line_stand_among_those_that_do_as_well():
    found = hedged(rods_of(bells(np.full(200, 40.0))))
    assert (found.width, found.cost, found.gain) == (AS_GOOD, 0.0, 0.0)


def test_rods_that_share_a_doubt_stand_apart_and_pay_for_it(rng):
    found = hedged(rods_of(bells(40.0 + 8.0 * rng.standard_normal(400))))
    assert found.width > AS_GOOD
    assert found.gain > 0.03
    assert 0.0 < found.cost < found.gain


def test_rods_stay_together_where_half_of_them_win_less_than_all_pay(rng):
    """Curves so flat that their tilt alone is in doubt: 1.9 % won for 2.5 % paid."""
    away = (LINES_M - 40.0) / 30.0
    rate = 0.2 * (1.0 + 0.2 * rng.standard_normal((400, 1)) * away - 0.1 * away**2)
    rods = rods_of(LineRates(line_out_m=LINES_M, depth_m=LINES_M / 2, rate=rate))
    assert hedged(rods).gain == 0.0


def test_cost_and_gain_are_those_of_the_rods_where_they_stand(rng):
    """Counted anew, rod by rod and draw by draw."""
    rates = bells(40.0 + 8.0 * rng.standard_normal(50))
    found = hedged(rods_of(rates))
    every, half = {}, {}
    for width in (AS_GOOD, found.width):
        at = [round(line_at(rates, width, share)) for _, share in rods_of(rates)]
        shares = [
            sorted(rate[line - 10] / max(rate) for line in at) for rate in rates.rate.tolist()
        ]
        every[width] = np.mean(shares)
        half[width] = np.mean([one[-2:] for one in shares])
    assert found.cost == pytest.approx(1 - every[found.width] / every[AS_GOOD], abs=0.01)
    assert found.gain == pytest.approx(half[found.width] / half[AS_GOOD] - 1, abs=0.01)


def test_one_rod_has_nothing_to_hedge_with(rng):
    rates = bells(40.0 + 8.0 * rng.standard_normal(100))
    assert hedged([(rates, 0.5)]).width == AS_GOOD
    assert hedged([]).width == AS_GOOD
