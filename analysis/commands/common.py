"""Owns what the commands share: exit codes, the bar that moves, words of help."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

GOOD = 0
CANNOT = 1
WRONG_USE = 2

LOGS = "season folder with boat.toml and its tables; without one, the demo season"


@contextmanager
def progress() -> Iterator[Callable[[str, float], None]]:
    """Show a bar on the error stream; the callback takes what is being done and how far it is."""
    from tqdm import tqdm

    with tqdm(total=100, desc="Reading", unit="%", bar_format="{desc:<24} {bar} {n:3.0f} %") as bar:

        def show(stage: str, share: float) -> None:
            bar.set_description_str(stage, refresh=False)
            bar.n = min(100.0, 100.0 * share)
            bar.refresh()

        yield show
