"""Owns the tests of what is drawn of a boat: how far its trips differ, and its mean level."""

import numpy as np
import pytest

from analysis.rates.boat_levels import drawn_means, drawn_shapes, mean_levels

EXPOSED = np.array([0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 20.0])
ALIKE = np.array([0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0])
APART = np.array([3.0, 0.0, 0.0, 9.0, 0.0, 1.0, 0.0, 30.0, 0.0, 2.0])


def shapes_of(struck, rng, boats=250):
    """Draw shapes of boats whose trips were all the same."""
    of_boat = np.kron(np.eye(boats), np.ones(len(struck)))
    return drawn_shapes(np.tile(struck, boats), np.tile(EXPOSED, boats), of_boat, rng)


def test_trips_that_differ_more_have_a_smaller_shape(rng):
    alike, apart = (shapes_of(struck, rng).mean() for struck in (ALIKE, APART))
    assert apart < 0.5 * alike


@pytest.mark.parametrize(
    ("hours", "trips"), [(np.full(16, 5.0), 16.0), (np.r_[80.0, np.full(15, 1e-6)], 1.0)]
)
def test_a_mean_is_in_doubt_by_strikes_and_by_so_many_trips_that_differ(hours, trips, rng):
    """Sixteen trips alike count as sixteen; one that had all the hours as one."""
    struck, spread, draws = np.full(16, 2.0), np.array([1.5]), 100_000
    exposed = np.broadcast_to(hours[:, None], (16, draws))
    found = drawn_means(struck, exposed, np.ones((1, 16)), spread, rng)[0]
    mean = mean_levels(struck, exposed[:, :1], np.ones((1, 16)), spread[:, None])[0, 0]
    assert found.mean() == pytest.approx(mean, rel=0.02)
    relative = found.var() / found.mean() ** 2
    assert relative == pytest.approx(1 / 32.5 + 1 / (1.5 * trips), rel=0.04)
