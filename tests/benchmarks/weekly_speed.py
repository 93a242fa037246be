"""How long weekly reports take, against a notebook that only imports; from the repository's root:

    python tests/benchmarks/weekly_speed.py --rounds 3

Whole commands on the demo (three boats, two seasons), in rounds that interleave what is compared;
medians of the rounds. Wall seconds, and seconds of processor time with those of kernels and
browsers: on a machine with other work, which slows several processes at once more than one alone,
the latter is the steadier measure.
The season's fit is a fixed cost: one fit serves one week or all of them. It is timed by itself
(reading the logs, the fit, the figures of every week), and the reports are timed on its figures,
as when a run goes on after a stop or writes another week.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import nbformat
import numpy as np
from nbformat.v4 import new_code_cell, new_notebook

from analysis.places import demo_logs
from analysis.report.weekly.store import NOTEBOOK, STORE
from analysis.report.weekly.workers import cores

ONE = ("2026-W27", "2026-W27")
TWENTY = ("2026-W20", "2026-W39")


Times = tuple[float, float]
"""Wall and processor seconds."""


def timed(command: list[str]) -> Times:
    """Return the seconds a command takes; a failing one ends the benchmark."""
    start, used = time.perf_counter(), _children()
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    seconds = time.perf_counter() - start, _children() - used
    if done.returncode:
        sys.exit(f"{' '.join(command)} failed:\n{done.stderr}")
    return seconds


def _children() -> float:
    """Return the processor seconds of all commands so far, their own commands included."""
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


def only_imports(folder: Path) -> list[str]:
    """Return the command that runs, by papermill, a notebook with the report's imports alone."""
    report = nbformat.read(NOTEBOOK, as_version=4)
    imports = [
        line
        for cell in report.cells
        if cell.cell_type == "code"
        for line in cell.source.splitlines()
        if line.startswith(("import ", "from "))
    ]
    metadata = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    bare = new_notebook(cells=[new_code_cell("\n".join(imports))], metadata=metadata)
    nbformat.write(bare, folder / "bare.ipynb")
    source, target = str(folder / "bare.ipynb"), str(folder / "ran.ipynb")
    return [sys.executable, "-m", "papermill", "--no-progress-bar", source, target]


def weekly(weeks: tuple[str, str], out: Path) -> list[str]:
    """Return the command that writes some weeks of the demo."""
    logs = [str(log) for log in demo_logs()]
    command = [sys.executable, "-m", "analysis.cli", "weekly", *logs]
    return [*command, "--weeks", ":".join(weeks), "--out", str(out)]


def measure(rounds: int, folder: Path) -> dict[str, list[Times]]:
    """Return the seconds of each round, by what was run."""
    stored = folder / "stored"
    bare = only_imports(folder)
    runs: dict[str, list[Times]] = {"fit": [], "imports": [], "one": [], "twenty": [], "skip": []}

    def on_stored_figures(weeks: tuple[str, str]) -> Times:
        out = folder / "out"
        shutil.rmtree(out, ignore_errors=True)
        out.mkdir()
        shutil.copy(stored / STORE, out)
        return timed(weekly(weeks, out))

    steps: dict[str, Callable[[], Times]] = {
        "imports": lambda: timed(bare),
        "one": lambda: on_stored_figures(ONE),
        "twenty": lambda: on_stored_figures(TWENTY),
        "skip": lambda: timed(weekly(TWENTY, folder / "out")),
    }
    for number in range(rounds):
        shutil.rmtree(stored, ignore_errors=True)
        whole = timed(weekly(ONE, stored))
        for name, step in steps.items():
            runs[name].append(step())
        runs["fit"].append((whole[0] - runs["one"][-1][0], whole[1] - runs["one"][-1][1]))
        sys.stderr.write(f"round {number + 1}: { ({k: v[-1] for k, v in runs.items()}) }\n")
    return runs


def table(runs: dict[str, list[Times]]) -> str:
    """Return the medians and ratios as Markdown."""
    median = {
        name: np.array([statistics.median(column) for column in zip(*times, strict=True)])
        for name, times in runs.items()
    }
    bare, one, twenty, fit = (median[name] for name in ("imports", "one", "twenty", "fit"))
    rows = [
        ("papermill, a notebook that only imports", bare, None, ""),
        ("one week", one, bare, "2.0"),
        ("20 weeks", twenty, 20 * bare, "0.5"),
        ("20 weeks again, nothing changed", median["skip"], None, ""),
        ("once for all weeks: reading, fit, figures", fit, None, ""),
        ("one week, fit and all", one + fit, bare, ""),
        ("20 weeks, fit and all", twenty + fit, 20 * bare, ""),
    ]
    lines = ["| what | wall, s | processor, s | wall ratio | processor ratio | aim |"]
    lines += ["| --- | --- | --- | --- | --- | --- |"]
    for what, seconds, against, aim in rows:
        ratio = ("", "") if against is None else tuple(f"{x:.2f}" for x in seconds / against)
        cells = (what, *(f"{x:.1f}" for x in seconds), *ratio, aim)
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    with tempfile.TemporaryDirectory() as scratch:
        found = measure(parser.parse_args().rounds, Path(scratch))
    sys.stdout.write(f"{cores()} cores.\n\n{table(found)}\n")
