"""How long season reviews take, against a notebook that only imports; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/review_speed.py --rounds 3

Whole commands on the demo's last season, in rounds that interleave what is compared; medians of the
rounds. Wall seconds, and seconds of processor time with those of second processes and kernels. On
a machine with other work only the latter tell anything. A card is written from the stored fit.
"""

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

from weekly_speed import Times, only_imports, timed

from analysis.places import DEMO
from analysis.report.weekly.workers import cores

BOATS = ("dunlin", "petrel", "whimbrel")
AIMS = {"one boat": "10", "three boats": "25", "a card, one boat": "2"}
"""Wall seconds on two cores with nothing else to do."""


def measure(rounds: int, folder: Path) -> dict[str, list[Times]]:
    """Return the seconds of each round, by what was run."""
    command = [sys.executable, "-m", "analysis.cli"]
    logs = [str(DEMO / f"{boat}-2026") for boat in BOATS]
    one = ["--out", str(folder / "one")]
    day = ["--date", "2026-07-12", "--surface", "64 F"]
    steps = {
        "papermill, a notebook that only imports": only_imports(folder),
        "one boat": [*command, "review", logs[0], *one],
        "a card, one boat": [*command, "card", logs[0], *day, *one],
        "three boats, tables only": [
            *(*command, "review", *logs, "--tables-only"),
            *("--out", str(folder / "tables")),
        ],
        "three boats": [*command, "review", *logs, "--out", str(folder / "three")],
    }
    runs: dict[str, list[Times]] = {name: [] for name in steps}
    for _ in range(rounds):
        for name, step in steps.items():
            runs[name].append(timed(step))
            sys.stderr.write(f"{name}: {runs[name][-1]}\n")
    return runs


def table(runs: dict[str, list[Times]]) -> str:
    """Return the medians as Markdown."""
    lines = ["| what | wall, s | processor, s | aim, wall |", "| --- | --- | --- | --- |"]
    for name, times in runs.items():
        wall, used = (statistics.median(column) for column in zip(*times, strict=True))
        lines.append(f"| {name} | {wall:.1f} | {used:.1f} | {AIMS.get(name, '')} |")
    return "\n".join(lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    with tempfile.TemporaryDirectory() as scratch:
        found = measure(parser.parse_args().rounds, Path(scratch))
    sys.stdout.write(f"{cores()} cores.\n\n{table(found)}\n")
