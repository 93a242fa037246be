"""Owns the tests of strikes whose hour or depth is in doubt: many of them, and nothing is clear."""

import pytest
from crafted_logs import moved, of_trip, sound, written

from analysis.effort.losses import losses
from analysis.report.check import examine
from analysis.season import _log_caps, read_seasons


@pytest.fixture
def checked(tmp_path, season_files):
    """Check the sound crafted season, changed as told, with the caps of its review."""

    def check(rows):
        folder = season_files.write(tmp_path / "log", casts=None, soaks=None, **written(rows))
        return examine(folder), _log_caps(read_seasons([folder]))

    return check


def clock_slow(rows, trips):
    for trip in rows["trips"][:trips]:
        trip["start"] = "05:30"
        for row in of_trip(rows, "strikes", trip["trip"]):
            row["time"] = moved(row["time"], -60)
    return rows


def test_many_strikes_by_a_slow_clock_are_said_first_and_cap_every_verdict(checked):
    told, caps = checked(clock_slow(sound(), 4))  # 24 of 96 strikes
    first = " ".join(told.text.splitlines()[:2])
    assert first.startswith("24 of 96 strikes are in doubt (its trip's strikes fall on")
    assert "no verdict will be clear" in first
    assert told.passes()  # every row is kept: it is told, not refused
    assert [cap.loss.doubted for cap in caps] == [True]


def test_few_of_them_are_a_finding_only(checked):
    told, caps = checked(clock_slow(sound(), 2))  # 12 of 96
    assert (told.losses, caps) == ((), ())
    assert any(finding.doubted for finding in told.findings)


def test_trips_written_twice_count_as_in_doubt_and_a_heavy_fish_does_not(checked):
    rows = sound()
    for trip in ("T5", "T6", "T7"):
        for table in rows:
            rows[table] += [row | {"trip": f"{trip}b"} for row in of_trip(rows, table, trip)]
    for row in rows["strikes"][:30]:
        row["weight"] = "88"
    told, caps = checked(rows)
    assert [(loss.lost, loss.read) for loss in told.losses if loss.doubted] == [(18, 114)]
    assert len(caps) == 1
    log = read_seasons([told.log.folder])[0]
    assert losses(log.log, log.effort) == told.losses


def test_a_doubted_line_out_moves_the_strikes_of_its_sets(checked):
    rows = sound()
    for trip in ("T8", "T9", "T10"):
        for row in of_trip(rows, "sets", trip):
            row["line_out"] = f"{float(row['line_out']) * 0.3048:.0f}"
    told, _ = checked(rows)
    (loss,) = [loss for loss in told.losses if loss.doubted]
    assert loss.lost == 18
    assert "only in m" in loss.reason
