"""Owns the fixture that writes and reads a small season in one go."""

import pytest

from analysis.log import read_log


@pytest.fixture
def read(tmp_path, season_files):
    """Write the usual season, changed as told, and read it."""

    def write_and_read(**changes):
        return read_log(season_files.write(tmp_path / "Dunlin-2026", **changes))

    return write_and_read


@pytest.fixture
def aside(read, season_files):
    """Add rows to a usual table; return what was set aside from them as (line, column, reason)."""

    def add_and_read(table, *rows, **changes):
        log = read(**{table: season_files.add(table, *rows)}, **changes)
        counted = log.rows.set_index("table").loc[table]
        assert counted["read"] == counted["kept"] + counted["set_aside"]
        found = log.set_aside.loc[log.set_aside["table"] == table]
        return list(zip(found["row"], found["column"], found["reason"], strict=True))

    return add_and_read
