"""Owns the tests of the field's usual models of counts, against rates that need no model."""

import numpy as np
import pytest

from analysis.diagnostics.usual_counts import USUAL, usual_counts
from analysis.stats.cells import band_of


def test_a_poisson_of_bands_alone_is_strikes_over_rod_hours(warm) -> None:
    """One month, so that bands are the only factor: then the likeliest rates are the counts'
    (the score equations of a Poisson model with a factor; McCullagh & Nelder 1989, from memory)."""
    answer = warm.answer
    one = answer.exposure.of_trips((answer.exposure.table["period"] == "2026-07").to_numpy())
    edges = answer.hours.edges_m
    band = band_of(one.depth_m, edges)
    strikes = np.bincount(band[band >= 0], one.table["strikes"][band >= 0], len(edges) - 1)
    hours = np.bincount(band[band >= 0], one.table["hours"][band >= 0], len(edges) - 1)
    judged = (strikes > 3) & (hours > 20)
    assert judged.sum() > 2
    found = usual_counts(one, edges, judged, np.random.default_rng(1))
    counted = np.log(strikes[judged] / hours[judged])
    told = found[found["strata"] == USUAL[0]]
    assert np.log(told["ratio"]).to_numpy() == pytest.approx(counted - counted.mean(), abs=0.06)
    assert (told["low"] < told["ratio"]).all()
    assert (told["ratio"] < told["high"]).all()
    assert set(found["strata"]) == set(USUAL)


def test_one_band_is_compared_with_nothing(warm) -> None:
    answer = warm.answer
    alone = np.arange(len(answer.hours.edges_m) - 1) == 2
    found = usual_counts(answer.exposure, answer.hours.edges_m, alone, np.random.default_rng(1))
    assert len(found) == 0
