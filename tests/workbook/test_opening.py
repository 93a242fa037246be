"""Owns the tests of opening: what may be typed for a season, and what is kept of the last time."""

import os
import pickle
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from made_instruments import positions_in, with_tracks

from analysis import season as analysing
from analysis.errors import LogError, UsageError
from analysis.places import DEMO
from analysis.workbook import example, open_season
from analysis.workbook.given import LOG_VARIABLE, find_season
from analysis.workbook.moon import moon_light


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    return example(tmp_path / "logs" / "heron-2026")


def test_a_season_is_found_from_where_one_is(heron, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    for typed in ("logs/heron-2026", "~/logs/heron-2026", "logs\\heron-2026", heron, str(heron)):
        assert find_season(typed).folders == (heron,)
    both = find_season(["logs/heron-2026", "petrel-2026"]).folders
    assert both == (heron, DEMO / "petrel-2026")


def test_the_log_that_lab_was_given_is_every_notebooks_season(heron, monkeypatch) -> None:
    monkeypatch.setenv(LOG_VARIABLE, os.pathsep.join([str(heron), str(DEMO / "petrel-2026")]))
    assert find_season().folders == (heron, DEMO / "petrel-2026")
    monkeypatch.delenv(LOG_VARIABLE)
    assert find_season().folders == (DEMO / "dunlin-2026",)


def test_what_is_no_season_is_refused_with_what_it_is(heron, tmp_path) -> None:
    (tmp_path / "nothing").mkdir()
    for typed, says in (
        (heron / "boat.toml", "this is a file"),
        (tmp_path / "nothing", "the folder is empty"),
        (tmp_path, "it has no boat.toml"),
        (heron.parent, "it holds several seasons: 'heron-2026'"),
        (heron.parent / "heron-2062", "did you mean 'heron-2026'"),
        ([], "no folder is named"),
        (3, "no path"),
    ):
        with pytest.raises(UsageError, match=says):
            find_season(typed)


def test_results_are_told_from_logs(tmp_path) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "summary.json").write_text("{}")
    assert find_season(tmp_path).results == tmp_path / "tables"
    with pytest.raises(UsageError, match="these are results"):
        open_season(tmp_path)


def test_what_was_read_is_kept_until_the_log_changes(heron, store, monkeypatch) -> None:
    first = open_season(heron)
    bands = first.bands

    def refuse(*_: object) -> None:
        raise AssertionError

    read = analysing.read_seasons
    monkeypatch.setattr(analysing, "read_seasons", refuse)
    again = open_season(heron)
    assert again.bands.equals(bands)
    assert len(list(store.glob("*.season"))) == 2
    (heron / "strikes.csv").write_text(
        (heron / "strikes.csv").read_text() + "1,08:00,S1,brown trout,lost,,,\n"
    )
    monkeypatch.setattr(analysing, "read_seasons", read)
    assert len(open_season(heron).strikes) == 2


def test_what_is_kept_holds_no_position_of_a_track(heron, store) -> None:
    with_tracks(heron, [datetime(2026, 7, 4, 3, 20, tzinfo=UTC)])
    season = open_season(heron)
    assert len(season.bands)
    assert len(list(store.glob("*.season"))) == 2
    assert positions_in(heron)
    assert positions_in(store) == []


def test_a_store_that_is_broken_or_closed_costs_time_alone(heron, store, capsys) -> None:
    open_season(heron)
    (kept,) = store.glob("*.season")
    whole = kept.read_bytes()
    for broken in (b"", b"broken", whole[: len(whole) // 2], pickle.dumps(heron)):
        kept.write_bytes(broken)
        assert open_season(heron).boats == ["Heron"]
        assert f"{kept}: what was kept here cannot be read" in capsys.readouterr().err
        assert kept.read_bytes()[:2] == b"PK"
    assert open_season(heron).boats == ["Heron"]
    assert capsys.readouterr().err == ""
    for kept in store.glob("*.season"):
        kept.unlink()
    store.rmdir()
    store.write_text("a file in the store's place")
    assert open_season(heron).boats == ["Heron"]


def test_an_empty_log_and_one_without_strikes(heron) -> None:
    (heron / "strikes.csv").write_text("trip,time,rod,species,outcome,length,weight,note\n")
    season = open_season(heron)
    assert len(season.strikes) == 0
    assert "cannot tell" in repr(season)
    assert "no strikes" in season.card.lines[1]
    (heron / "trips.csv").write_text("trip,date,start,end,area,rods,note\n")
    with pytest.raises(LogError, match="Remedy"):
        open_season(heron)


def test_nothing_is_overwritten_by_the_example(heron) -> None:
    with pytest.raises(UsageError, match="it is there already"):
        example(heron)


@pytest.mark.parametrize(
    ("day", "lit"),
    [
        # Full and new moons of 2024 by the almanac of the US Naval Observatory (from memory).
        (date(2024, 1, 25), 1.0),
        (date(2024, 6, 22), 1.0),
        (date(2024, 11, 15), 1.0),
        (date(2024, 4, 8), 0.0),
        (date(2024, 10, 2), 0.0),
        # First and last quarters.
        (date(2024, 3, 17), 0.5),
        (date(2024, 8, 26), 0.5),
    ],
)
def test_the_moon_is_lit_as_almanacs_say(day: date, lit: float) -> None:
    assert moon_light(day) == pytest.approx(lit, abs=0.12)
