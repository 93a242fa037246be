"""Owns the test that boats put together keep their own strikes, trips and errors."""

import made_exposure as made
import numpy as np
import pandas as pd
import pytest

from analysis.rates.build_exposure import combine


def test_each_strike_stays_with_its_boats_slice():
    parts = [
        made.with_table(
            made.exposure(seed, trips=4, shared_sd=0.1 * seed), lure=pd.Categorical([""] * 120)
        )
        for seed in (1, 2, 3)
    ]
    both = combine(parts)
    assert len(both.table) == sum(len(part.table) for part in parts)
    assert both.trip.max() + 1 == 12
    taken = np.bincount(both.strike_row, minlength=len(both.table))
    np.testing.assert_array_equal(taken, both.table["strikes"])
    assert taken.sum() == sum(len(part.strike_row) for part in parts) > 10
    inside = (both.start[both.strike_row] < both.strike_time) & (
        both.strike_time <= both.end[both.strike_row]
    )
    assert inside.all()
    depth = np.concatenate([part.depth_m for part in parts])
    assert both.depth_m == pytest.approx(depth)
    assert both.layer_correlation.shape == (12, 12)
    # each boat's gears err on their own: two columns a boat, nothing beside its rows
    assert both.loadings.shape == (360, 6)
    for number, part in enumerate(parts):
        rows = slice(120 * number, 120 * number + 120)
        own = both.loadings[rows]
        np.testing.assert_array_equal(own[:, 2 * number : 2 * number + 2], part.loadings)
        assert np.count_nonzero(own) == np.count_nonzero(part.loadings) == 120
