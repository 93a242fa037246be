"""Owns the tests of what becomes of a track's positions: nothing, in any output or cache."""

import pickle
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from made_instruments import EAST, NORTH, nmea, positions_in, rmc, with_tracks

from analysis.cli import main
from analysis.log import read_log
from analysis.season import read_seasons

STARTS = [datetime(2026, 7, 4, 4, tzinfo=UTC), datetime(2026, 7, 10, 18, tzinfo=UTC)]


@pytest.fixture
def tracked(season_files: ModuleType, tmp_path: Path) -> Path:
    """A small season with recordings, tracks, and broken ones."""
    return with_tracks(season_files.write(tmp_path / "log" / "Dunlin-2026"), STARTS)


@pytest.mark.parametrize(
    "text",
    [
        rmc(STARTS[0], 2.2),
        nmea("GPGGA,120000,6114.0736,N,00952.5924,E,1,08,0.9,1.0,M,,,,"),
        f'{{"lat": {NORTH}}}',
        "61°14'04\" N",
        "9,87654",
    ],
)
def test_the_search_finds_a_position(tmp_path, text):
    (tmp_path / ".hidden").write_text(text, encoding="utf-8")
    assert positions_in(tmp_path)


def test_the_search_finds_it_in_numbers(tmp_path, tracked):
    (tmp_path / "cache.bin").write_bytes(b"head" + np.array([1.0, NORTH]).tobytes())
    assert any("cache.bin" in found for found in positions_in(tmp_path))
    assert positions_in(tracked)


def test_check_prints_none(tracked, tmp_path, capsys):
    out = tmp_path / "out"
    out.mkdir()
    for number, options in enumerate(([], ["--json"])):
        main(["check", *options, str(tracked)])
        printed = capsys.readouterr()
        assert "tracks/" in printed.out
        (out / f"{number}.txt").write_text(printed.out + printed.err, encoding="utf-8")
    assert positions_in(out) == []


def test_a_file_named_by_its_position_is_told_without_it(tracked, tmp_path, capsys):
    place = f"{NORTH}N {EAST}E"
    track = (tracked / "tracks" / "t0.gpx").read_bytes()
    for name in (f"{place}.gpx", f"{place}N.gpx", f"{NORTH},{EAST}.gpx"):
        (tracked / "tracks" / name).write_bytes(track)
    (tracked / "tracks" / f"{place}.fit").write_bytes(b"")
    (tracked / f"{place}.kml").write_bytes(b"")
    out = tmp_path / "out"
    out.mkdir()
    main(["check", "--json", str(tracked)])
    printed = capsys.readouterr()
    assert printed.out.count("tracks/(position)") >= 3
    log = read_log(tracked)
    told = [*log.hashes, *(file.name for file in log.unread)]
    (out / "said.txt").write_text("\n".join([printed.out, printed.err, *told]), encoding="utf-8")
    assert sum("(position)" in name for name in told) == 5
    assert len(set(log.hashes)) == len(log.hashes)
    assert positions_in(out) == []


def test_tables_and_what_is_kept_in_memory_hold_none(tracked, tmp_path):
    out = tmp_path / "out"
    assert main(["review", str(tracked), "--tables-only", "--out", str(out)]) == 0
    log = read_seasons([tracked])[0].log
    assert {"tracks/t0.nmea", "tracks/t0.gpx"} <= set(log.hashes)
    (out / "season.pickle").write_bytes(pickle.dumps([log.readings, log.set_aside, log.changed]))
    assert set(log.set_aside["table"]) == {
        *(f"tracks/t{n}.nmea" for n in (0, 1)),
        *(f"tracks/t{n}.gpx" for n in (0, 1)),
        *(f"tracks/bad{n}.{form}" for n in (0, 1) for form in ("gpx", "log")),
    }
    assert positions_in(out) == []


def test_an_error_that_stops_all_says_none(tracked, capsys, tmp_path):
    (tracked / "trips.csv").write_text("trip,date\n")
    assert main(["review", str(tracked), "--tables-only", "--out", str(tmp_path / "out")]) == 1
    (tmp_path / "said").mkdir()
    (tmp_path / "said" / "err.txt").write_text(capsys.readouterr().err, encoding="utf-8")
    assert positions_in(tmp_path / "said") == []
