"""Owns work done beside the person at the controls: the newest wish alone, older ones given up."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TypeVar

from analysis.errors import reason_of
from analysis.stats.stopping import StoppedError, go_on, stopping_when

Made = TypeVar("Made")
PAUSE_S = 0.25
"""How long the controls must rest before a fit begins: a slider that is dragged moves on."""


class Newest:
    """Answers the newest of several wishes in threads of its own, and shows nothing older after it.

    What is quick is shown at once. What takes longer begins when the wishes rest; once overtaken it
    is given up at its next `analysis.stats.stopping.go_on`, and what it made is dropped. Two such
    works beside each other would hold each other up, so they are done one at a time. Whoever wishes
    is never kept waiting: a kernel that draws while a knob is moved would hear of the next move
    late, and of those in between in an order that nobody made them in.

    Examples
    --------
    >>> told = []
    >>> newest = Newest(pause_s=0.0)
    >>> newest.do(lambda: told.append("quick"), told.append, (lambda: 7, told.append))
    >>> newest.wait(10)
    True
    >>> told
    ['quick', 7]
    """

    def __init__(self, pause_s: float = PAUSE_S) -> None:
        self._pause_s = pause_s
        self._shows, self._works = threading.Lock(), threading.Lock()
        self._wish = _Wish()
        self._wish.shown.set()
        self._wish.answered.set()

    def do(
        self,
        at_once: Callable[[], object],
        failed: Callable[[str], object],
        at_rest: tuple[Callable[[], Made], Callable[[Made], object]] | None = None,
    ) -> None:
        """Begin to answer a wish and give up what is under way; returns at once.

        Parameters
        ----------
        at_once : callable
            Shows what is quick. Of wishes that come quicker than it shows them, only the newest is
            shown.
        failed : callable
            Takes the reason, in words, where anything failed.
        at_rest : (callable, callable), optional
            Long work, and what shows that which it made, unless it was overtaken.
        """
        wish = self._wish = _Wish()

        def overtaken() -> bool:
            return self._wish is not wish

        def show(what: Callable[[], object]) -> None:
            with self._shows:
                if overtaken():
                    raise StoppedError
                what()

        def answer() -> None:
            show(at_once)
            wish.shown.set()
            if at_rest is None:
                return
            work, then = at_rest
            time.sleep(self._pause_s)
            with self._works, stopping_when(overtaken):
                go_on()
                made = work()
            show(lambda: then(made))

        def run() -> None:
            with suppress(StoppedError):
                try:
                    answer()
                except StoppedError:
                    raise
                except Exception as error:  # noqa: BLE001 - whatever it is, the person must see it
                    reason = reason_of(error)
                    show(lambda: failed(reason))
            wish.shown.set()
            wish.answered.set()

        threading.Thread(target=run, daemon=True).start()

    def wait(self, timeout_s: float) -> bool:
        """Wait until the newest wish is answered whole; whether it is."""
        return self._wish.answered.wait(timeout_s)

    def wait_shown(self, timeout_s: float) -> bool:
        """Wait until what is quick of the newest wish is shown; whether it is."""
        return self._wish.shown.wait(timeout_s)


@dataclass(frozen=True, eq=False)
class _Wish:
    """How far a wish was answered, or given up."""

    shown: threading.Event = field(default_factory=threading.Event)
    answered: threading.Event = field(default_factory=threading.Event)
