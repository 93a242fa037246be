"""Owns the tests of work on long columns: two threads make what one makes, in its order."""

import threading

import pandas as pd
import pytest

from analysis import at_once as owner
from analysis.at_once import LONG, at_once
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.log.files import plain
from analysis.places import DEMO
from analysis.rates.build_exposure import BoatSeason, join


def test_long_work_goes_on_at_once_and_comes_back_in_order() -> None:
    both = threading.Barrier(2, timeout=10)  # passed only where two wait at it

    def work(number: int) -> int:
        both.wait()
        return 10 * number

    assert at_once(work, range(4), rows=LONG) == [0, 10, 20, 30]


def test_what_fails_in_a_thread_fails_here() -> None:
    with pytest.raises(ZeroDivisionError, match="by zero"):
        at_once(lambda number: 1 / number, [1, 0], rows=LONG)


def test_a_log_read_by_two_threads_is_the_same_log(monkeypatch: pytest.MonkeyPatch) -> None:
    one = read_log(DEMO / "whimbrel-2026")
    monkeypatch.setattr(owner, "LONG", 1)
    monkeypatch.setattr(plain, "LONG", 1)
    two = read_log(DEMO / "whimbrel-2026")
    for name in ("trips", "sets", "strikes", "stretches", "set_aside", "changed", "rows"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(two, name))
    assert one.hashes == two.hashes
    seasons = (BoatSeason.of(log, count_effort(log)) for log in (one, two))
    tables = [join([season]).table for season in seasons]
    pd.testing.assert_frame_equal(*tables)
