"""Owns making several weeks' reports at once: a kernel and a browser for each core.

Kernels and browsers take a second to start, in which this process does its own heavy imports;
that is why those of `analysis.report.weekly.pages` wait until then.
"""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

from jupyter_core.utils import ensure_event_loop

from analysis.errors import reason_of
from analysis.render.chromium import Printing
from analysis.render.kernels import KeptKernel
from analysis.report.weekly.done import Done
from analysis.report.weekly.store import Figures

MOST_WORKERS = 8
"""Each holds a kernel of about 150 MB, and a browser."""
IMPORTS = (
    "from rodhours.show import week; from rodhours.show.base import pictures; "
    "from rodhours.show.week import picture; "
    "from rodhours.workbook import parameters, season_week"
)
"""What the notebook will import, so that it is there by then."""


class Tools(ExitStack):
    """A kernel and a browser, to make weeks with. To be used by one thread."""

    def __init__(self) -> None:
        super().__init__()
        self.kernel = KeptKernel(IMPORTS)
        self.printing = Printing()
        self._started = False

    def start(self) -> None:
        """Start both, unless that was done; they get ready while other things are done."""
        if not self._started:
            self._started = True
            self.enter_context(self.kernel)
            self.enter_context(self.printing)


def make_weeks(
    weeks: Sequence[Figures], out_dir: Path, tools: Tools, workers: int | None = None
) -> Iterator[Done]:
    """Make several weeks' files, as many at once as there are cores; a failing one stops no other.

    Parameters
    ----------
    weeks : sequence of dict
    out_dir : Path
    tools : Tools
        Those of this thread, which works too; started here if they are not yet.
    workers : int, optional
        How many at once.

    Yields
    ------
    Done
        As they get done, in no order.
    """
    waiting: queue.SimpleQueue[Figures] = queue.SimpleQueue()
    done: queue.SimpleQueue[Done] = queue.SimpleQueue()
    for each in weeks:
        waiting.put(each)
    stopping = threading.Event()

    def work() -> None:
        try:
            with Tools() as own:
                while not stopping.is_set() and (week := _next(waiting)):
                    done.put(_attempt(week, out_dir, own))
        finally:
            ensure_event_loop().close()  # the thread's own, which nobody else would close

    count = min(workers or cores(), MOST_WORKERS, len(weeks))
    threads = [threading.Thread(target=work, name=f"weekly-{n}") for n in range(1, count)]
    for thread in threads:
        thread.start()
    try:
        left = len(weeks)
        while week := _next(waiting):
            done.put(_attempt(week, out_dir, tools))
            while not done.empty():
                left -= 1
                yield done.get()
        for _ in range(left):
            yield done.get()
    finally:
        stopping.set()
        for thread in threads:
            thread.join()


def _next(waiting: queue.SimpleQueue[Figures]) -> Figures | None:
    """Take a week that waits; None where none does."""
    try:
        return waiting.get_nowait()
    except queue.Empty:
        return None


def _attempt(week: Figures, out_dir: Path, tools: Tools) -> Done:
    """Make one week; whatever goes wrong becomes its problem."""
    try:
        tools.start()
        from analysis.report.weekly.pages import make_week

        return make_week(week, out_dir, tools.kernel, tools.printing)
    except Exception as error:  # noqa: BLE001 - a fault of one week must not stop the others
        problem = reason_of(error)
    tools.kernel.stop()
    return Done(week=week["week"], problem=problem)


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
