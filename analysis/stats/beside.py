"""Owns work done beside other work: in a second process, where the system can fork this one."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.reduction import ForkingPickler
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from analysis.stats.stopping import go_on

_Made = TypeVar("_Made")
_WAIT_S = 0.1
PATIENCE_S = 60.0
"""Longest that an answer is waited for beyond three times what went on beside it."""


def _read_only(content: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(content)


# Records of a log hold read-only mappings, which Python does not send by itself.
ForkingPickler.register(MappingProxyType, lambda view: (_read_only, (dict(view),)))


class Beside(Generic[_Made]):
    """Some work that goes on in a process of its own; see :func:`beside`."""

    def __init__(self, work: Callable[[], _Made], *, worth: bool) -> None:
        self._work = work
        self._begun_s = time.monotonic()
        self._process: Any = None
        if worth and _can_fork():
            fork = multiprocessing.get_context("fork")
            self._answers, tell = fork.Pipe(duplex=False)
            self._process = fork.Process(target=_tell, args=(work, tell), daemon=True)
            with warnings.catch_warnings():
                # Newer Pythons warn of forking beside threads, for locks that these may hold. The
                # child works and ends; it neither prints nor shows a window nor asks a kernel.
                warnings.simplefilter("ignore", DeprecationWarning)
                self._process.start()
            tell.close()

    def result(self) -> _Made:
        """Return what was made; wait for it, or make it now where there is no second process.

        A process forked beside threads may, very seldom, wait for a lock that nobody holds any
        more: one that takes far too long is ended, and the work done here.

        Raises
        ------
        Exception
            Whatever the work raised.
        StoppedError
            Where nobody wants it any more.
        """
        if self._process is None:
            return self._work()
        asked_s = time.monotonic()
        until_s = asked_s + PATIENCE_S + 3.0 * (asked_s - self._begun_s)
        while not self._answers.poll(_WAIT_S):
            go_on()
            if time.monotonic() > until_s:
                self.stop()
                return self._work()
        try:
            good, made = self._answers.recv()
        except EOFError:  # the process was ended from outside, or what it made cannot be sent
            self.stop()
            return self._work()
        self.stop()
        if not good:
            return self._work()  # and raises here what it raised there
        found: _Made = made
        return found

    def stop(self) -> None:
        """End the process if it still runs."""
        process, self._process = self._process, None
        if process is not None:
            self._answers.close()
            process.terminate()
            process.join()


@contextmanager
def beside(work: Callable[[], _Made], *, worth: bool = True) -> Iterator[Beside[_Made]]:
    """Do some work in a second process while this one goes on; what it makes is sent back.

    Arithmetic on many small arrays holds Python's lock, so a second thread does not quicken it. A
    forked process has all that this one knew at that moment, and changes nothing of it. There is
    one at most: further work waits until it is asked for, and is done by who asks. So is all work
    where the system does not fork safely (anything but Linux), has a single processor to give, or
    where a thread other than the main one asks.

    Parameters
    ----------
    work : callable
        Without arguments; what it returns can be pickled. Where it raises it is done anew by who
        asks, and raises there.
    worth : bool
        Whether it takes longer than a fork: some hundredths of a second.

    Examples
    --------
    >>> with beside(lambda: sum(range(5))) as ten:
    ...     other = sum(range(3))
    ...     print(other, ten.result())
    3 10
    """
    begun = Beside(work, worth=worth)
    try:
        yield begun
    finally:
        begun.stop()


@dataclass
class Errand(Generic[_Made]):
    """Some work that :func:`share_out` gives to whichever process is free.

    Attributes
    ----------
    work : callable
        As that of :func:`beside`.
    stays : bool
        Whether this process must do it, since what it learns on the way is wanted here.
    made : what it returned
        Once it was shared out.
    """

    work: Callable[[], _Made]
    stays: bool = False
    made: _Made = field(init=False)


def share_out(errands: Sequence[Errand[Any]], *, worth: bool = True) -> None:
    """Do errands in two processes, each taking the next one when it is free.

    Neither waits for the other while errands are left, however long each takes, so the longest
    come first. What has no second process (see :func:`beside`) is done here in order.

    Parameters
    ----------
    errands : sequence of Errand
        At most 256, none of which rests on another. Those that stay are done first.
    worth : bool
        Whether they take longer than a fork.

    Examples
    --------
    >>> ten, two = Errand(lambda: sum(range(5))), Errand(lambda: 1 + 1)
    >>> share_out([ten, two])
    >>> ten.made, two.made
    (10, 2)
    """
    numbers = bytes(number for number, errand in enumerate(errands) if not errand.stays)
    queue, enter = os.pipe()  # a byte is read by one process alone, whoever comes first
    os.write(enter, numbers)
    os.close(enter)

    def whilst_any() -> dict[int, Any]:
        made = {}
        while number := os.read(queue, 1):
            go_on()
            made[number[0]] = errands[number[0]].work()
        return made

    try:
        with beside(whilst_any, worth=worth) as others:
            made = {at: errand.work() for at, errand in enumerate(errands) if errand.stays}
            made |= whilst_any()
            made |= others.result()
    finally:
        os.close(queue)
    for number, errand in enumerate(errands):
        # What the second process took and did not bring back is done, or raises, here.
        errand.made = made[number] if number in made else errand.work()


def in_halves(
    work: Callable[[range], _Made], count: int, *, worth: bool = True
) -> tuple[_Made, _Made]:
    """Do some numbered things in two processes, the first half of them in the second process.

    Parameters
    ----------
    work : callable
        Of the numbers to do; as that of :func:`beside`.
    count : int
    worth : bool
        Whether half of them take longer than a fork.

    Examples
    --------
    >>> in_halves(sum, 5)
    (1, 9)
    """
    half = count // 2
    with beside(lambda: work(range(half)), worth=worth) as others:
        rest = work(range(half, count))
        return others.result(), rest


def _can_fork() -> bool:
    """Whether a second process is safe and of use."""
    return (
        sys.platform == "linux"
        and len(os.sched_getaffinity(0)) > 1
        and threading.current_thread() is threading.main_thread()
        and not multiprocessing.current_process().daemon
        and not multiprocessing.active_children()
    )


def _tell(work: Callable[[], object], tell: Connection) -> None:
    """Send what some work made, or that it failed: not every error can be sent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who asked is interrupted too, and ends this
    try:
        answer = True, work()
    except Exception:  # noqa: BLE001 - raised again where it is waited for
        answer = False, None
    tell.send(answer)
    tell.close()
