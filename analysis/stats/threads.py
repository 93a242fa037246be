"""One thread for the linear algebra of small matrices."""

from __future__ import annotations

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from threadpoolctl import threadpool_limits

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")


def one_thread(work: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """Let the linear algebra use one thread while some work is done.

    The models' matrices are small: more threads only wait for each other, for minutes on a busy
    machine. The limit is the process's: where several fits run beside each other, what starts
    them holds it too, lest the first to end lifts it for the others.
    """
    alone: Callable[_Given, _Made] = threadpool_limits.wrap(limits=1)(work)
    return alone
