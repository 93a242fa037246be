"""Owns what the commands share: exit codes, the bar that moves, where a review goes."""

import argparse
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from analysis.places import default_reports

GOOD = 0
CANNOT = 1
WRONG_USE = 2

LOGS = "season folder with boat.toml and its tables; without one, the demo season"


class Once(argparse.Action):
    """An option that may stand once: of two, nobody could know which is meant."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,
    ) -> None:
        """Keep the first, and refuse another."""
        if getattr(namespace, self.dest) is not None:
            parser.error(f"{option_string} stands there twice: give one, and run it once for each")
        setattr(namespace, self.dest, values)


def whole_number(text: str) -> int:
    """Read a whole number, or say that it is none in words that are not a programmer's."""
    try:
        return int(text)
    except ValueError as error:
        msg = f"{text!r} is no whole number"
        raise argparse.ArgumentTypeError(msg) from error


def usual_folder(logs: Sequence[Path]) -> Path:
    """Return where the review of some logs goes by default; without any it is the demo's."""
    return default_reports() / (logs[0].resolve().name if logs else "demo")


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
