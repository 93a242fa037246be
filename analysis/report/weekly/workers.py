"""Owns making several weeks' reports at once: a kernel and a browser for each core.

Kernels and browsers take a second to start, in which this process does its own heavy imports;
that is why those of `analysis.report.weekly.pages` wait until then.
"""

import os
import queue
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path

from jupyter_core.utils import ensure_event_loop

from analysis.errors import reason_of
from analysis.render.chromium import Printing
from analysis.render.kernels import KeptKernel
from analysis.report.weekly.done import Done
from analysis.report.weekly.store import Figures

MOST_WORKERS = 8
"""Each holds a kernel of about 150 MB, and a browser."""
_IMPORTS = "from rodhours.show import week"


def make_weeks(
    weeks: Sequence[Figures], out_dir: Path, workers: int | None = None
) -> Iterator[Done]:
    """Make several weeks' files, as many at once as there are cores; a failing one stops no other.

    Parameters
    ----------
    weeks : sequence of dict
    out_dir : Path
    workers : int, optional
        How many at once.

    Yields
    ------
    Done
        As they get done, in no order.
    """
    waiting: queue.SimpleQueue[Figures] = queue.SimpleQueue()
    done: queue.SimpleQueue[Done] = queue.SimpleQueue()
    for week in weeks:
        waiting.put(week)
    stopping = threading.Event()

    def work() -> None:
        try:
            with Printing() as printing, KeptKernel(_IMPORTS) as kernel:
                while not stopping.is_set():
                    try:
                        week = waiting.get_nowait()
                    except queue.Empty:
                        return
                    done.put(_attempt(week, out_dir, kernel, printing))
        finally:
            ensure_event_loop().close()  # the thread's own, which nobody else would close

    count = min(workers or cores(), MOST_WORKERS, len(weeks))
    threads = [threading.Thread(target=work, name=f"weekly-{n}") for n in range(count)]
    for thread in threads:
        thread.start()
    try:
        for _ in weeks:
            yield done.get()
    finally:
        stopping.set()
        for thread in threads:
            thread.join()


def _attempt(week: Figures, out_dir: Path, kernel: KeptKernel, printing: Printing) -> Done:
    """Make one week; whatever goes wrong becomes its problem."""
    from analysis.report.weekly.pages import make_week

    try:
        return make_week(week, out_dir, kernel, printing)
    except Exception as error:  # noqa: BLE001 - a fault of one week must not stop the others
        problem = reason_of(error)
    kernel.stop()
    return Done(week=week["week"], problem=problem)


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
