"""Owns the tests of which rods were down when a strike came."""

import numpy as np
import pytest

from analysis.stats.risk_sets import rods_at_strikes

# A day by hand: trip, first and last minute of each slice. Trip 7 has three rods; rod C was lifted
# at minute 30 and put in again at 40. Trip 2 has two, at the same minutes.
SLICES = {
    "A": (7, 0, 60),
    "other A": (2, 0, 60),
    "C": (7, 0, 30),
    "B": (7, 10, 60),
    "other B": (2, 0, 20),
    "C again": (7, 40, 60),
}
NAMES = tuple(SLICES)


def rods_down(strikes):
    """The names of the slices down at each strike, and of those that took it."""
    trip, start, end = np.array(list(SLICES.values())).T
    row = np.array([NAMES.index(name) for name, _ in strikes], dtype=np.intp)
    time = np.array([minute for _, minute in strikes], dtype=np.int64)
    found = rods_at_strikes(trip, start, end, row, time)
    assert found.row.shape == found.moment.shape == found.hit.shape
    assert (np.diff(found.moment) >= 0).all()
    down = [{NAMES[r] for r in found.row[found.moment == n]} for n in range(len(strikes))]
    took = [
        [NAMES[r] for r in found.row[(found.moment == n) & (found.hit == 1)]]
        for n in range(len(strikes))
    ]
    assert set(found.hit) <= {0.0, 1.0}
    assert len(found.row) == sum(map(len, down)), "a rod stands twice in one moment"
    return down, took


@pytest.mark.parametrize(
    ("took", "minute", "down"),
    [
        ("A", 5, {"A", "C"}),  # B is not in yet
        ("A", 20, {"A", "B", "C"}),
        ("A", 35, {"A", "B"}),  # C is out
        ("B", 50, {"A", "B", "C again"}),
        ("other A", 15, {"other A", "other B"}),  # no rod of the other trip
        ("other A", 25, {"other A"}),  # alone
        # a slice covers start < t <= end: rods that go in at the strike's minute are no rivals
        ("A", 10, {"A", "C"}),
        ("A", 11, {"A", "B", "C"}),
        ("C", 30, {"A", "B", "C"}),
        ("A", 40, {"A", "B"}),
        ("other A", 20, {"other A", "other B"}),
        ("A", 60, {"A", "B", "C again"}),
        # a rod that took a strike was fishing, whatever its slice says
        ("B", 10, {"A", "B", "C"}),
        ("C", 33, {"A", "B", "C"}),
    ],
)
def test_the_rods_down_are_those_of_the_trip_that_fished_at_the_moment(took, minute, down):
    assert rods_down([(took, minute)]) == ([down], [[took]])


def test_each_strike_is_a_moment_of_its_own_in_the_order_given():
    """Two strikes in one minute are two moments; trips and times come in any order."""
    strikes = [("B", 50), ("other A", 15), ("A", 5), ("A", 50), ("C", 5)]
    down, took = rods_down(strikes)
    assert took == [[name] for name, _ in strikes]
    assert down == [
        {"A", "B", "C again"},
        {"other A", "other B"},
        {"A", "C"},
        {"A", "B", "C again"},
        {"A", "C"},
    ]


def test_no_strike_is_no_moment():
    assert rods_down([]) == ([], [])
