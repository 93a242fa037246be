"""Owns work done beside the person at the controls: the newest wish alone, older ones given up."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TypeVar

from analysis.errors import reason_of
from analysis.stats.stopping import StoppedError, stopping_when

Made = TypeVar("Made")
PAUSE_S = 0.25
"""How long the controls must rest before a fit begins: a slider that is dragged moves on."""


class Newest:
    """Does the newest of several pieces of work in a thread of its own.

    Work that was overtaken is given up at its next `analysis.stats.stopping.go_on`, and what it
    made is dropped. One piece is done at a time: two fits beside each other hold each other up.

    Examples
    --------
    >>> told = []
    >>> newest = Newest(pause_s=0.0)
    >>> newest.do(lambda: 7, told.append, told.append)
    >>> newest.wait(10)
    True
    >>> told
    [7]
    """

    def __init__(self, pause_s: float = PAUSE_S) -> None:
        self._pause_s = pause_s
        self._turn = threading.Lock()
        self._wish: object = None
        self._rests = threading.Event()
        self._rests.set()

    def do(
        self, work: Callable[[], Made], then: Callable[[Made], None], failed: Callable[[str], None]
    ) -> None:
        """Begin some work and give up what is under way; returns at once.

        Parameters
        ----------
        work : callable
        then : callable
            Takes what was made, unless it was overtaken.
        failed : callable
            Takes the reason, in words, where it failed.
        """
        wish = self._wish = object()
        self._rests.clear()

        def overtaken() -> bool:
            return self._wish is not wish

        def run() -> None:
            time.sleep(self._pause_s)
            with self._turn:
                if overtaken():
                    return
                try:
                    with stopping_when(overtaken):
                        made = work()
                    if not overtaken():
                        then(made)
                except StoppedError:
                    return
                except Exception as error:  # noqa: BLE001 - whatever it is, the person must see it
                    if not overtaken():
                        failed(reason_of(error))
                finally:
                    if not overtaken():
                        self._rests.set()

        threading.Thread(target=run, daemon=True).start()

    def wait(self, timeout_s: float) -> bool:
        """Wait until the newest work is done; whether it is."""
        return self._rests.wait(timeout_s)
