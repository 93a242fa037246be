"""Owns fixtures of the report's tests: a made-up season, and a club's weekly reports."""

import json
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest
from filelock import FileLock
from made_instruments import with_tracks


@pytest.fixture
def made_up_season(made_up: ModuleType) -> SimpleNamespace:
    """What the report needs of a season: tables and a summary."""
    return SimpleNamespace(tables=made_up.season_tables(), summary=made_up.season_summary())


@dataclass(frozen=True, kw_only=True)
class Weekly:
    """A club's logs, and the folder of its weekly reports."""

    logs: list[Path]
    out: Path

    def text(self, week: str, form: str) -> str:
        """Read one file of a week's report."""
        return (self.out / f"{week}.{form}").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def weekly(club_files: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Weekly:
    """Weekly reports of a club of four that types markup wherever it can: weeks 26 to 29.

    One process of a parallel run makes them and the others read its files; none changes them.
    """
    from analysis.report.weekly.run import write_weeks

    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    out, done = shared / "weekly", shared / "weekly.json"
    with FileLock(shared / "weekly.lock"):
        if not done.exists():
            logs = club_files.write_club(shared / "weekly-club", hostile=True)
            with_tracks(logs[0], [datetime(2026, 6, 30, 4, tzinfo=UTC)])
            run = write_weeks(logs, [f"2026-W{week}" for week in range(26, 30)], out)
            assert run.problems == {}
            assert run.no_pdf == []
            done.write_text(json.dumps([str(log) for log in logs]), encoding="utf-8")
    logs = [Path(log) for log in json.loads(done.read_text(encoding="utf-8"))]
    return Weekly(logs=logs, out=out)
