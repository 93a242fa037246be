"""Lets long work be given up part of the way: whoever waits for it has asked for something else."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_NOBODY_STOPS: Callable[[], bool] = bool
_unwanted: ContextVar[Callable[[], bool]] = ContextVar("unwanted", default=_NOBODY_STOPS)


class StoppedError(Exception):
    """Work that was given up because nobody waits for it any more; not a fault."""


@contextmanager
def stopping_when(unwanted: Callable[[], bool]) -> Iterator[None]:
    """Give up the work done within, in this thread, once `unwanted` says so.

    Examples
    --------
    >>> with stopping_when(lambda: True):
    ...     go_on()
    Traceback (most recent call last):
    analysis.stats.stopping.StoppedError
    """
    before = _unwanted.set(unwanted)
    try:
        yield
    finally:
        _unwanted.reset(before)


def go_on() -> None:
    """Return at once, unless the work is unwanted; called between the parts of long work.

    Raises
    ------
    StoppedError
    """
    if _unwanted.get()():
        raise StoppedError
