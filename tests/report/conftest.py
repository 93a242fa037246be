"""Owns fixtures of the report's tests: a made-up season, and a club's weekly reports."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest
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
    """Weekly reports of a club of four that types markup wherever it can: weeks 26 to 29."""
    from analysis.report.weekly.run import write_weeks

    logs = club_files.write_club(tmp_path_factory.mktemp("club"), hostile=True)
    with_tracks(logs[0], [datetime(2026, 6, 30, 4, tzinfo=UTC)])
    out = tmp_path_factory.mktemp("weekly")
    run = write_weeks(logs, [f"2026-W{week}" for week in range(26, 30)], out)
    assert run.problems == {}
    assert run.no_pdf == []
    return Weekly(logs=logs, out=out)
