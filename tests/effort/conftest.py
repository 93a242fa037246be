"""Owns fixtures of the effort tests: a season read and counted in one go."""

import pytest

from analysis.effort import count_effort
from analysis.log import read_log


@pytest.fixture
def counted(tmp_path, season_files):
    """Write the usual season, changed as told; return its log and effort."""

    def write_read_count(**changes):
        log = read_log(season_files.write(tmp_path / "Dunlin-2026", **changes))
        return log, count_effort(log)

    return write_read_count
