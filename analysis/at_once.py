"""Owns work on long columns that is done at once, for NumPy and Arrow let go of Python's lock."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

_Given = TypeVar("_Given")
_Made = TypeVar("_Made")

LONG = 200_000
"""Rows from which on a second thread gains more than it costs."""


def at_once(work: Callable[[_Given], _Made], each: Iterable[_Given], *, rows: int) -> list[_Made]:
    """Do one piece of work of each, two at a time where the columns are long.

    Parameters
    ----------
    work : callable
        Changes nothing that others read meanwhile.
    each : iterable
    rows : int
        Of each.

    Returns
    -------
    list
        What was made, in order.

    Examples
    --------
    >>> at_once(sum, [range(3), range(5)], rows=5)
    [3, 10]
    """
    if rows < LONG:
        return [work(one) for one in each]
    with ThreadPoolExecutor(2) as threads:
        return list(threads.map(work, each))
