"""Owns the test of a killed weekly run: whole reports, old or new, and a next run that goes on."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from analysis.report.weekly.run import Settings, write_weeks
from analysis.report.weekly.store import read_week

ROOT = Path(__file__).parents[3]
WEEKS = ("2026-W26", "2026-W27", "2026-W28", "2026-W29")
PAPERS = {"A4": 595, "letter": 612}


def paper_of(out: Path, week: str) -> str:
    return str(read_week(out / f"{week}.json").made_with.parameters.paper)


@pytest.fixture
def temporary() -> Iterator[Path]:
    """A temporary folder of its own; of a short name, for a browser makes sockets in it."""
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder)


def test_killed_run_leaves_whole_reports_and_the_next_goes_on(
    weekly: Any, tmp_path: Path, temporary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = Path(shutil.copytree(weekly.out, tmp_path / "out"))
    arguments = ["weekly", *map(str, weekly.logs), "--weeks", f"{WEEKS[0]}:{WEEKS[-1]}"]
    run = subprocess.Popen(
        [sys.executable, "-m", "analysis.cli", *arguments, "--paper", "letter", "--out", out],
        cwd=ROOT,
        env=os.environ | {"TMPDIR": str(temporary)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    deadline = time.monotonic() + 120
    while not any(paper_of(out, week) == "letter" for week in WEEKS):
        if run.poll() is not None or time.monotonic() > deadline:
            pytest.fail("the run ended, or did nothing, before it could be killed")
        time.sleep(0.02)
    os.killpg(run.pid, signal.SIGKILL)
    assert run.wait() == -signal.SIGKILL
    for week in WEEKS:
        assert (out / f"{week}.html").read_text(encoding="utf-8").rstrip().endswith("</html>")
        assert (out / f"{week}.txt").read_text(encoding="utf-8").endswith("cautions.\n")
        with pypdfium2.PdfDocument(out / f"{week}.pdf") as pdf:
            width = round(pdf[0].get_size()[0])
        # The figures come last: where they are new, everything is.
        assert width in PAPERS.values()
        assert paper_of(out, week) == "A4" or width == PAPERS["letter"]
    new = [week for week in WEEKS if paper_of(out, week) == "letter"]
    assert list(temporary.glob(".rodhours-*")) != []
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    again = write_weeks(weekly.logs, WEEKS, out, Settings(paper="letter"))
    assert again.problems == {}
    # what was being put in place when it was killed is finished, and needs not be made
    assert set(again.skipped) >= set(new)
    assert list(temporary.glob(".rodhours-*")) == []
    assert list(out.glob(".rodhours-*")) == []
    assert {paper_of(out, week) for week in WEEKS} == {"letter"}
