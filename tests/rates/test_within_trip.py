"""Owns the tests of what is told from hours of one trip: speed through the water."""

from types import SimpleNamespace

import made_exposure as made
import numpy as np
import pytest

from analysis.rates.within_trip import (
    CURRENT_SD_MPS,
    SD_DOUBT,
    WATER_SD_MPS,
    _share_of_water,
    fit_speed,
)

BEST_MPS, WIDTH_MPS = 1.1, 0.35
WANTED = SimpleNamespace(draws=np.zeros((400, 1)))


def _towed(seed, *, current_sd, kind, trips=80):
    """Hours of the same rods at speeds that differ within trips, and a current along the track."""
    rng = np.random.default_rng(seed)
    whole = made.exposure(seed, trips=trips)
    moment = np.unique(whole.start, return_inverse=True)[1]
    water = 1.1 + rng.normal(0.0, 0.1, moment.max() + 1)[moment]
    logged = water + rng.normal(0.0, current_sd, moment.max() + 1)[moment]
    rate = 0.08 * np.exp(_log_rate(water))
    table = whole.table.assign(
        speed_mps=logged, speed_kind=kind, strikes=rng.poisson(rate * whole.table["hours"])
    )
    return SimpleNamespace(table=table, trip=whole.trip)


def _log_rate(speed_mps):
    return -0.5 * ((speed_mps - BEST_MPS) / WIDTH_MPS) ** 2


def _fitted(exposure, seed=1):
    hours = exposure.table["hours"].to_numpy()
    return fit_speed(exposure, WANTED, hours, np.random.default_rng(seed))


def test_a_speed_over_ground_that_is_mostly_current_has_no_interval_without_end():
    """One step at the usual speed was once told as 1.05 times, 0.26 to 1.18."""
    for seed in range(4):
        curve = _fitted(_towed(seed, current_sd=0.3, kind="ground"))
        step = np.exp(np.diff(curve.log_rate(np.array([1.1, 1.1447])), axis=0))[0]
        low, high = np.quantile(step, (0.05, 0.95))
        assert 0.6 < low < high < 1.6


def test_the_curve_in_water_speed_is_held_whatever_was_logged():
    at = np.linspace(0.9, 1.3, 9)
    true = _log_rate(at) - _log_rate(1.1)
    held = []
    for seed in range(12):
        for kind, current in (("ground", 0.12), ("water", 0.0)):
            curve = _fitted(_towed(seed, current_sd=current, kind=kind))
            ratio = curve.log_rate(at) - curve.log_rate(np.array([1.1]))
            low, high = np.quantile(ratio, (0.05, 0.95), axis=1)
            held.append(np.mean((low <= true) & (true <= high)))
    assert np.mean(held) > 0.8


def test_a_current_asks_for_a_steeper_curve_than_the_log_shows():
    """A slope against an error-laden speed is too small by the share of its variance that is true.

    Carroll et al., *Measurement Error in Nonlinear Models*, 2nd ed. 2006, sec. 3.2 (from memory).
    """
    rng = np.random.default_rng(5)
    whole = made.exposure(5, trips=400)
    moment = np.unique(whole.start, return_inverse=True)[1]
    speed = 1.1 + rng.normal(0.0, 0.12, moment.max() + 1)[moment]
    strikes = rng.poisson(0.3 * np.exp(2.0 * (speed - 1.1)))
    slopes = {}
    for kind in ("water", "ground"):
        table = whole.table.assign(speed_mps=speed, speed_kind=kind, strikes=strikes)
        curve = _fitted(SimpleNamespace(table=table, trip=whole.trip))
        slopes[kind] = np.median(np.diff(curve.log_rate(np.array([1.05, 1.15])), axis=0)) / 0.1
    within = _within_variance(speed, whole.trip)
    assert slopes["water"] == pytest.approx(2.0, abs=0.4)
    shares = _share_of_water(within)
    assert slopes["ground"] / slopes["water"] == pytest.approx(1 / np.median(shares), rel=0.3)


def _within_variance(value, trip):
    mean = np.bincount(trip, value) / np.bincount(trip)
    return float(np.mean((value - mean[trip]) ** 2))


@pytest.mark.parametrize("scatter_mps", [0.08, 0.15, 0.3])
def test_the_share_of_water_is_that_of_drawn_currents_and_speeds_that_scatter_so(scatter_mps):
    rng = np.random.default_rng(2)
    current, water = (
        (usual * np.exp(SD_DOUBT * rng.standard_normal(2_000_000))) ** 2
        for usual in (CURRENT_SD_MPS, WATER_SD_MPS)
    )
    alike = np.abs((current + water) / scatter_mps**2 - 1.0) < 0.05
    drawn = (water / (current + water))[alike]
    share = _share_of_water(scatter_mps**2)
    steps = (np.arange(len(share)) + 0.5) / len(share)
    assert share == pytest.approx(np.quantile(drawn, steps), abs=0.03)


@pytest.mark.parametrize("variance", [1e-32, 1e-6, 0.01, 25.0])
def test_hardly_any_or_enormous_scatter_is_still_shared_out(variance):
    share = _share_of_water(variance)
    assert np.all((share > 0) & (share < 1))
    assert np.all(np.diff(share) >= 0)
