"""How long reviews, cards and weeks take, against a notebook that only imports; from the root:

    PYTHONPATH=. python tests/benchmarks/review_speed.py --rounds 3

Whole commands on the demo's last season, in rounds that interleave what is compared; medians of the
rounds. Wall seconds, and seconds of processor time with those of second processes and kernels. On
a machine with other work only the latter tell anything: how much it had is said. A card is written
from the stored fit, and the second week of a round from the figures that the first one stored.
"""

import argparse
import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from weekly_speed import Times, only_imports, timed

from analysis.places import DEMO
from analysis.report.weekly.workers import cores

BOATS = ("dunlin", "petrel", "whimbrel")
AIMS = {
    "one boat": "10",
    "a card, one boat": "2",
    "a week of three boats, from nothing": "15",
    "another week of them": "3",
    "three boats": "25",
}
"""Wall seconds on two cores with nothing else to do."""
BARE = "papermill, a notebook that only imports"


def measure(rounds: int, folder: Path) -> dict[str, list[Times]]:
    """Return the seconds of each round, by what was run."""
    command = [sys.executable, "-m", "analysis.cli"]
    logs = [str(DEMO / f"{boat}-2026") for boat in BOATS]
    one = ["--out", str(folder / "one")]
    day = ["--date", "2026-07-12", "--surface", "64 F"]
    weeks = folder / "weeks"
    steps = {
        BARE: only_imports(folder),
        "one boat": [*command, "review", logs[0], *one],
        "a card, one boat": [*command, "card", logs[0], *day, *one],
        "a week of three boats, from nothing": [
            *(*command, "weekly", *logs, "--week", "2026-W28", "--out", str(weeks))
        ],
        "another week of them": [
            *(*command, "weekly", *logs, "--week", "2026-W29", "--out", str(weeks))
        ],
        "three boats": [*command, "review", *logs, "--out", str(folder / "three")],
    }
    runs: dict[str, list[Times]] = {name: [] for name in steps}
    for _ in range(rounds):
        shutil.rmtree(weeks, ignore_errors=True)
        for name, step in steps.items():
            runs[name].append(timed(step))
            sys.stderr.write(f"{name}: {runs[name][-1]}\n")
    return runs


def table(runs: dict[str, list[Times]]) -> str:
    """Return the medians as Markdown."""
    median = {
        name: [statistics.median(column) for column in zip(*times, strict=True)]
        for name, times in runs.items()
    }
    lines = ["| what | wall, s | processor, s | processor ratio | aim, wall |"]
    lines += ["| --- | --- | --- | --- | --- |"]
    for name, (wall, used) in median.items():
        ratio = used / median[BARE][1]
        lines.append(f"| {name} | {wall:.1f} | {used:.1f} | {ratio:.2f} | {AIMS.get(name, '')} |")
    return "\n".join(lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    with tempfile.TemporaryDirectory() as scratch:
        found = measure(parser.parse_args().rounds, Path(scratch))
    busy = os.getloadavg()[2]
    sys.stdout.write(f"{cores()} cores, load of the last quarter of an hour {busy:.1f}.\n\n")
    sys.stdout.write(f"{table(found)}\n")
