"""Owns the tests of what a slice's covariates become when its depth or its water is moved."""

import made_exposure as made
import numpy as np
import pytest

from analysis.rates.exposure import trip_spans
from analysis.rates.model_selection import candidates
from analysis.rates.standardised import BoatHours

ROWS = np.arange(0, 300, 7)
DOUBT_M = 1.5


@pytest.fixture(scope="module")
def whole():
    return made.exposure(2, layer_doubt_m=DOUBT_M)


@pytest.fixture(scope="module")
def fullest(whole):
    return candidates(whole)["depth and temperature"]


def test_a_rod_that_runs_deeper_is_in_the_water_of_that_depth(whole, fullest):
    for log_shift in (-0.5, -0.08, 0.0, 0.3):
        found = whole.values(fullest, ROWS, log_shift)
        depth = whole.depth_m[ROWS] * np.exp(log_shift)
        assert found["depth_m"] == pytest.approx(depth)
        day = whole.table["day"].to_numpy()[ROWS]
        # laid down a tenth of log depth apart and read off straight between
        assert found["lure_temp_c"] == pytest.approx(made.temperature(depth, day), abs=0.2)


def test_deeper_layers_put_a_lure_in_shallower_water_where_it_runs(whole, fullest):
    rows = ROWS[whole.depth_m[ROWS] > 8.0]
    found = whole.values(fullest, rows, 0.0, 1.0)
    assert found["depth_m"] == pytest.approx(whole.depth_m[rows])
    day = whole.table["day"].to_numpy()[rows]
    warmer = made.temperature(whole.depth_m[rows] - DOUBT_M, day)
    assert found["lure_temp_c"] == pytest.approx(warmer, abs=0.2)


def test_every_trip_has_its_first_start_and_last_end():
    trip = np.array([1, 0, 1, 2])
    first, last = trip_spans(trip, np.array([30, 10, 20, 50]), np.array([40, 15, 35, 60]))
    assert first.tolist() == [10, 20, 50]
    assert last.tolist() == [15, 40, 60]


def test_hours_in_layers_that_lie_deeper_have_the_temperature_of_so_much_shallower(whole):
    hours = BoatHours.of(whole, made.EDGES_M, made.temperature_at)
    step = np.diff(hours.depth_m.ravel()[:2])[0]
    count = len(hours.trip)
    still = hours.temp_c.reshape(count, -1)
    deeper = hours.displaced(np.full(count, 2 * step)).reshape(count, -1)
    np.testing.assert_allclose(deeper[:, 2:], still[:, :-2])
    np.testing.assert_allclose(deeper[:, :2], still[:, :1].repeat(2, axis=1))
    half = hours.displaced(np.full(count, -0.5 * step)).reshape(count, -1)
    np.testing.assert_allclose(half[:, :-1], 0.5 * (still[:, :-1] + still[:, 1:]))
