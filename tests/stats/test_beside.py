"""Work in a second process gives what it gives in this one, raises what it raises, and ends."""

import multiprocessing
import os
import threading
from functools import partial
from types import MappingProxyType

import pytest

from analysis.errors import LogError
from analysis.stats.beside import Errand, beside, in_halves, share_out
from analysis.stats.stopping import StoppedError, stopping_when

pytestmark = pytest.mark.skipif(
    len(getattr(os, "sched_getaffinity", lambda _: [0])(0)) < 2, reason="a single processor"
)


def test_work_is_done_in_another_process_and_sent_back():
    with beside(lambda: (os.getpid(), bytes(1 << 20))) as work:
        where, much = work.result()
    assert where != os.getpid()
    assert len(much) == 1 << 20
    assert not multiprocessing.active_children()


def test_what_is_not_worth_a_process_is_done_here():
    with beside(os.getpid, worth=False) as work:
        assert work.result() == os.getpid()


def test_work_beside_work_is_done_by_who_asks():
    def both():
        with beside(os.getpid) as within:
            return os.getpid(), within.result()

    with beside(both) as work, beside(os.getpid) as further:
        outer, inner = work.result()
        assert outer == inner != os.getpid()
        assert further.result() == os.getpid()


def test_a_thread_does_its_work_itself():
    found = []

    def ask():
        with beside(os.getpid) as work:
            found.append(work.result())

    thread = threading.Thread(target=ask)
    thread.start()
    thread.join()
    assert found == [os.getpid()]


def test_a_process_that_hangs_is_ended_and_its_work_done_here(monkeypatch):
    monkeypatch.setattr("analysis.stats.beside.PATIENCE_S", 0.2)
    here = os.getpid()

    def hangs_elsewhere():
        if os.getpid() != here:
            threading.Event().wait()
        return os.getpid()

    with beside(hangs_elsewhere) as work:
        assert work.result() == here
    assert not multiprocessing.active_children()


def test_an_error_is_raised_where_it_is_waited_for():
    def fails():
        return {}["no such rod"]

    with beside(fails) as work, pytest.raises(KeyError, match="no such rod"):
        work.result()


def test_an_error_that_cannot_be_sent_is_raised_whole():
    def fails():
        msg = "there is no trip"
        raise LogError(msg, file="trips.csv", remedy="write one")

    with beside(fails) as work, pytest.raises(LogError, match="write one") as raised:
        work.result()
    assert raised.value.file == "trips.csv"


def test_work_of_a_process_that_was_ended_is_done_here():
    here = os.getpid()

    def ended():
        if os.getpid() != here:
            os._exit(9)
        return "done"

    with beside(ended) as work:
        assert work.result() == "done"


def test_a_process_is_ended_with_an_error_of_its_asker():
    with pytest.raises(KeyError), beside(threading.Event().wait):
        raise KeyError
    assert not multiprocessing.active_children()


def test_unwanted_work_is_given_up():
    forever = threading.Event().wait
    with beside(forever) as work, pytest.raises(StoppedError), stopping_when(lambda: True):
        work.result()
    assert not multiprocessing.active_children()


def test_a_read_only_mapping_comes_back_from_the_second_process(capfd) -> None:
    with beside(lambda: MappingProxyType({"rod": os.getpid()})) as work:
        found = work.result()
    assert isinstance(found, MappingProxyType)
    assert found["rod"] != os.getpid()
    assert capfd.readouterr().err == ""  # no process failed and left its work to this one


def test_errands_are_shared_out_to_whichever_process_is_free():
    first, last = os.pipe()

    def waits_for_the_last():
        return os.read(first, 1), os.getpid()

    def ends_the_wait():
        os.write(last, b"x")
        return os.getpid()

    # Done in order by one process alone, the first would wait for ever.
    errands = [Errand(waits_for_the_last), *(Errand(os.getpid) for _ in range(5))]
    errands.append(Errand(ends_the_wait))
    share_out(errands)
    waited, one = errands[0].made
    others = {errand.made for errand in errands[1:]}
    assert waited == b"x"
    assert one not in others
    assert len(others) == 1
    assert not multiprocessing.active_children()


def test_an_errand_that_stays_is_done_here():
    errands = [*(Errand(os.getpid) for _ in range(3)), Errand(os.getpid, stays=True)]
    share_out(errands)
    assert errands[-1].made == os.getpid()


def test_halves_are_done_at_once_and_told_in_order():
    first, rest = in_halves(lambda some: (os.getpid(), list(some)), 5)
    assert (first[1], rest[1]) == ([0, 1], [2, 3, 4])
    assert first[0] != os.getpid() == rest[0]
    assert in_halves(list, 1) == ([], [0])


def test_errands_of_a_process_that_was_ended_are_done_here():
    here = os.getpid()

    def ended():
        if os.getpid() != here:
            os._exit(9)
        threading.Event().wait(0.1)
        return "done"

    errands = [Errand(ended) for _ in range(4)]
    share_out(errands)
    assert [errand.made for errand in errands] == ["done"] * 4


def test_errands_without_a_second_process_are_done_in_order():
    found: list[int] = []
    share_out([Errand(partial(found.append, number)) for number in range(4)], worth=False)
    assert found == [0, 1, 2, 3]


def test_an_errand_that_fails_raises():
    def fails():
        return {}["no such rod"]

    with pytest.raises(KeyError, match="no such rod"):
        share_out([Errand(os.getpid), Errand(fails)])
    assert not multiprocessing.active_children()
