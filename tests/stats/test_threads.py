"""Owns the tests of the limit on threads: it belongs to each fit, whoever calls it."""

import made_exposure as made
import numpy as np
import pytest
from threadpoolctl import threadpool_info, threadpool_limits

from analysis.rates import fit
from analysis.rates import model_averaging as average
from analysis.rates import model_selection as choice
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates, choose_model
from analysis.stats import counts
from analysis.stats import marginal_likelihood as smoothing


def threads() -> int:
    """Most threads that the linear algebra would use now."""
    return max(pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas")


@pytest.fixture
def seen(monkeypatch):
    """Threads at each refit, while the caller lets the linear algebra have two."""
    found: list[int] = []
    for module in (choice, fit, smoothing):
        monkeypatch.setattr(module, "climb", _noting(found, module.climb))
    monkeypatch.setattr(counts, "maximise", _noting(found, counts.maximise))
    with threadpool_limits(2):
        if threads() < 2:
            pytest.skip("this linear algebra has one thread")
        yield found
        assert threads() == 2, "the caller's own limit must come back"


def _noting(found, work):
    def noted(*args, **kwargs):
        found.append(threads())
        return work(*args, **kwargs)

    return noted


def test_a_model_chosen_and_fitted_directly_uses_one_thread(seen):
    whole = made.exposure(1, trips=8, rods=3, hours=2, fish=made.Fish(rate=0.3))
    rng = np.random.default_rng(0)
    chosen = choose_model(whole)
    fit_rate(whole, candidates(whole)["depth alone"], rng)
    average.fit_average(whole, chosen.model, chosen.members, rng, each=2)
    assert seen
    assert set(seen) == {1}


def test_counts_fitted_directly_use_one_thread(seen, ships):
    counts.fit_counts(ships.columns, ships.count, ships.log_effort)
    assert seen
    assert set(seen) == {1}
