"""Owns the tests of adding rows to a log's own files: whole, alone, and to be taken back."""

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from filelock import FileLock

from analysis.errors import LogError
from analysis.keeping import append
from analysis.keeping.append import COPIES, Appender

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 7, 4, 21, 30, tzinfo=UTC)


@pytest.fixture
def strikes(tmp_path):
    file = tmp_path / "strikes.csv"
    file.write_bytes(b"trip,Fish on,rod,note\nT1,06:40,P1,first")
    return file


def typed(rod, note=""):
    return {"trip": "T1", "time": "07:00", "rod": rod, "note": note}


RENAMES = {"Fish on": "time"}


def test_a_row_goes_under_the_files_own_headings_and_the_file_is_kept_as_it_was(strikes):
    before = strikes.read_bytes()
    window = Appender(strikes.parent, NOW)
    window.append(strikes, typed("S1", 'said "no", then\nwent'), RENAMES)
    window.append(strikes, typed("S2"), RENAMES)
    assert strikes.read_bytes() == (
        before + b'\nT1,07:00,S1,"said ""no"", then\nwent"\nT1,07:00,S2,\n'
    )
    (copy,) = (strikes.parent / COPIES).iterdir()
    assert copy.name == "strikes 2026-07-04 21.30.00.csv"
    assert copy.read_bytes() == before


def test_line_ends_and_byte_order_mark_stay(tmp_path):
    file = tmp_path / "trips.csv"
    file.write_bytes(b"\xef\xbb\xbftrip,date\r\nT1,2026-07-04\r\n")
    Appender(tmp_path, NOW).append(file, {"trip": "T2", "date": "2026-07-05"}, {})
    assert file.read_bytes() == b"\xef\xbb\xbftrip,date\r\nT1,2026-07-04\r\nT2,2026-07-05\r\n"


def test_what_has_no_heading_is_refused_and_nothing_written(strikes):
    before = strikes.read_bytes()
    with pytest.raises(LogError, match=r"column outcome: this table has no column outcome"):
        Appender(strikes.parent, NOW).append(strikes, {"outcome": "lost"}, RENAMES)
    assert strikes.read_bytes() == before


def test_only_ones_own_row_is_taken_back(strikes):
    one, other = Appender(strikes.parent, NOW), Appender(strikes.parent, NOW)
    added = one.append(strikes, typed("S1"), RENAMES)
    other.append(strikes, typed("S2"), RENAMES)
    one.take_back(added)
    assert strikes.read_text().splitlines()[2:] == ["T1,07:00,S2,"]
    with pytest.raises(LogError, match=r"not there any more as it was written"):
        one.take_back(added)


ADD_MANY = """
import sys
from datetime import datetime, timezone
from pathlib import Path
from analysis.keeping.append import Appender

file, rod = Path(sys.argv[1]), sys.argv[2]
window = Appender(file.parent, datetime.now(timezone.utc))
for _ in range(25):
    row = {"trip": "T1", "time": "07:00", "rod": rod}
    window.append(file, row, {"Fish on": "time"})
"""


def test_two_windows_at_once_lose_no_row(strikes):
    command = [sys.executable, "-c", ADD_MANY, str(strikes)]
    windows = [subprocess.Popen([*command, rod], cwd=ROOT) for rod in ("S1", "S2")]
    assert [window.wait(60) for window in windows] == [0, 0]
    rows = strikes.read_text().splitlines()
    assert rows[:2] == ["trip,Fish on,rod,note", "T1,06:40,P1,first"]
    assert sorted(rows[2:]) == ["T1,07:00,S1,"] * 25 + ["T1,07:00,S2,"] * 25


def test_a_write_that_fails_leaves_the_file_as_it_was(strikes, monkeypatch):
    before = strikes.read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(append.os, "fsync", full)
    with pytest.raises(LogError, match=r"No space left on device\); it is as it was"):
        Appender(strikes.parent, NOW).append(strikes, typed("S1"), RENAMES)
    assert strikes.read_bytes() == before
    assert not [p for p in strikes.parent.iterdir() if p.name.startswith(".strikes")]


def test_a_window_that_hangs_is_not_waited_for_without_end(strikes, monkeypatch):
    monkeypatch.setattr(append, "_PATIENCE_S", 0.05)
    with (
        FileLock(strikes.parent / ".rodhours.lock"),
        pytest.raises(LogError, match=r"another window is writing"),
    ):
        Appender(strikes.parent, NOW).append(strikes, typed("S1"), RENAMES)
