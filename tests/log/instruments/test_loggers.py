"""Owns the tests of the table and folder `loggers` on a small season: what is given and refused."""

import re
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from made_instruments import logger_csv, trace

from analysis.log import read_log
from analysis.report.fingerprints import inputs_digest

HEAD = "file,trip,rod,time_in,time_out,offset\n"
ROW = "td.csv,T1,P1,06:00,12:00,\n"
START = datetime(2026, 7, 4, 6, tzinfo=UTC)  # by the clock on board
# what P1 of the usual season fished on T1, in minutes after 06:00, and depths it may run at, in ft
SETS = [(0.0, 120.0, 42.0), (130.0, 360.0, 45.0)]
FT = 0.3048


def recorded(sets=SETS, *, begin=-15.0, end=375.0, warm=False, **how) -> str:
    """A logger's file in feet and F."""
    minute, depth = trace(begin, end, sets)
    depth = depth + np.random.default_rng(1).normal(0, 0.3, len(depth))
    return logger_csv(START, minute, depth, 60.0 - 0.3 * depth if warm else None, **how)


@pytest.fixture
def season(tmp_path, season_files):
    """Write the usual season with loggers, changed as told, and read it."""

    def write(rows=ROW, files=None, **changes):
        folder = season_files.write(tmp_path / "Dunlin-2026", **changes)
        (folder / "loggers.csv").write_text(HEAD + rows, encoding="utf-8")
        (folder / "loggers").mkdir(exist_ok=True)
        for name, text in (files or {"td.csv": recorded()}).items():
            (folder / "loggers" / name).write_text(text, encoding="utf-8")
        return read_log(folder)

    return write


def aside(log):
    found = log.set_aside.loc[log.set_aside["table"] == "loggers"]
    return list(zip(found["row"], found["column"], found["reason"], strict=True))


def clock(log):
    return log.changed.loc[log.changed["table"] == "loggers", "reason"].tolist()


def made(log):
    return log.soaks.loc[log.soaks["note"].str.startswith("loggers/")]


def test_steady_stretches_are_soaks_of_their_sets(season):
    log = season()
    soaks = made(log)
    assert soaks["setting"].tolist() == [1.0, 2.5]
    assert soaks["line_out_m"].tolist() == pytest.approx([80 * FT, 100 * FT])
    assert soaks["depth_m"].tolist() == pytest.approx([42 * FT, 45 * FT], abs=0.03)
    assert soaks["speed_mps"].tolist() == pytest.approx([2.5 * 0.44704, 2.6 * 0.44704], abs=0.02)
    assert set(soaks["date"]) == {pd.Timestamp("2026-07-04")}
    assert set(soaks["line"]) == {2}
    assert soaks["note"].iloc[0].startswith("loggers/td.csv, 06:03 to ")
    assert (aside(log), clock(log)) == ([], [])
    assert len(log.soaks) == 2 + 3  # beside those typed
    counted = log.rows.set_index("table")
    assert counted.loc["loggers"].tolist() == [1, 1, 0]
    assert counted.loc["loggers/td.csv"].tolist() == [780, 780, 0]
    assert "loggers/td.csv" in log.hashes


def test_the_lure_ran_deeper_by_the_offset(season):
    soaks = made(season(rows="td.csv,T1,P1,06:00,12:00,5\n"))
    assert soaks["depth_m"].tolist() == pytest.approx([47 * FT, 50 * FT], abs=0.03)


def amount(said: str, unit: str) -> float:
    return float(re.search(rf"about ([0-9.]+) {unit}", said)[1])


@pytest.mark.parametrize(
    ("slow", "unit", "off", "way"), [(7.0, "minutes", 7, "slow"), (-120.0, "hours", 2, "fast")]
)
def test_a_clock_that_is_off_is_found_and_said(season, slow, unit, off, way):
    """To a minute: a line takes two to sink."""
    log = season(files={"td.csv": recorded(slow_min=slow, warm=True)})
    (said,) = clock(log)
    assert abs(amount(said, unit) - off) <= 1.0 / (60.0 if unit == "hours" else 1.0)
    assert f"{unit} {way}" in said
    right = season(files={"td.csv": recorded(warm=True)})
    assert len(made(log)) == 2
    pd.testing.assert_frame_equal(
        made(log)[["depth_m", "speed_mps"]], made(right)[["depth_m", "speed_mps"]], atol=0.05
    )
    apart = (log.logged["time"].min() - right.logged["time"].min()).total_seconds()
    assert abs(apart) <= 90


def test_temperatures_are_those_of_the_water_it_hung_in(season):
    log = season(files={"td.csv": recorded(warm=True)})
    warm = log.logged
    assert set(warm["trip"]) == {"T1"}
    fahrenheit = 60.0 - 0.3 * warm["depth_m"] / FT
    assert warm["temp_c"].to_numpy() == pytest.approx((fahrenheit - 32) / 1.8, abs=0.1)
    # neither in the air nor on its way down, when it shows the water it left
    assert warm["depth_m"].min() > 40 * FT


def test_empty_times_are_the_whole_trip(season):
    assert len(made(season(rows="TD.csv,T1,P1,,,\n"))) == 2


def test_times_without_a_date_are_the_trips(season):
    log = season(files={"td.csv": recorded(form="%H:%M:%S", slow_min=7)})
    assert len(made(log)) == 2
    assert abs(amount(clock(log)[0], "minutes") - 7) <= 1


@pytest.mark.parametrize(
    "form", ["%Y-%m-%dT%H:%M:%S.250", "%Y-%m-%dT%H:%M:%S+02:00", "%d %B %Y %H:%M:%S"]
)
def test_times_as_loggers_write_them(season, form):
    log = season(files={"td.csv": recorded(form=form)})
    assert (len(made(log)), clock(log)) == (2, [])


def test_dates_that_may_be_two_days_are_asked(season):
    log = season(files={"td.csv": recorded(form="%d/%m/%Y %H:%M:%S")})
    ((_, _, reason),) = aside(log)
    assert "its dates can be read in two ways: line 2" in reason


def test_a_time_in_utc_is_read_as_such(season):
    """06:00 in Oslo is 04:00 UTC in July."""
    utc = recorded(form="%Y-%m-%dT%H:%M:%SZ", slow_min=120)
    log = season(files={"td.csv": utc})
    assert (len(made(log)), clock(log)) == (2, [])


def test_own_headings_and_units(season, season_files):
    text = recorded([(a, b, d * FT) for a, b, d in SETS]).replace("time,depth", "When,Tiefe")
    boat = season_files.BOAT.replace("[units]\n", "[units]\nloggers.depth = 'm'\n")
    boat += '[columns.loggers]\n"When" = "time"\n"Tiefe" = "depth"\n'
    log = season(files={"td.csv": text}, boat=boat)
    assert made(log)["depth_m"].tolist() == pytest.approx([42 * FT, 45 * FT], abs=0.1)


def test_a_unit_in_the_heading_is_read(season):
    text = recorded([(a, b, d * FT) for a, b, d in SETS]).replace("depth", "Depth (m)")
    assert len(made(season(files={"td.csv": text}))) == 2


def test_a_file_in_another_unit_is_no_calibration(season):
    log = season(files={"td.csv": recorded([(a, b, d * FT) for a, b, d in SETS], warm=True)})
    ((row, column, reason),) = aside(log)
    assert (row, column) == (2, "file")
    assert "they may be written in m" in reason
    assert made(log).empty
    assert log.logged.empty


def test_temperatures_that_no_water_has_are_not_used(season):
    text = recorded(warm=True).replace("\n", "\n")
    cold = "\n".join(
        line if i == 0 else f"{line.rsplit(',', 1)[0]},8.0"
        for i, line in enumerate(text.splitlines())
    )
    log = season(files={"td.csv": cold})
    assert log.logged.empty
    assert any("temperatures cannot be those of water" in reason for reason in clock(log))
    assert len(made(log)) == 2


@pytest.mark.parametrize(
    ("rows", "column", "reason"),
    [
        ("else.csv,T1,P1,06:00,12:00,\n", "file", "the folder loggers has no file of this name"),
        ("../trips.csv,T1,P1,06:00,12:00,\n", "file", "the folder loggers has no file of this"),
        ("td.csv,T9,P1,06:00,12:00,\n", "trip", "trips has no trip of this id"),
        ("td.csv,T1,P9,06:00,12:00,\n", "file", "no set of this rod lies in these hours"),
        ("td.csv,T1,S1,06:00,12:00,\n", "file", "its depths do not go down and come up"),
        ("td.csv,T1,P1,12:00,06:30,\n", "time_out", "it ends before it begins"),
        ("td.csv,T1,P1,dawn,12:00,\n", "time_in", "this is not a time"),
    ],
)
def test_a_row_of_no_use_is_set_aside(season, rows, column, reason):
    log = season(
        rows=rows,
        files={"td.csv": recorded([(0.0, 30.0, 42.0), (300.0, 330.0, 42.0)])}
        if "S1" in rows
        else None,
    )
    ((row, where, why),) = aside(log)
    assert (row, where) == (2, column)
    assert why.startswith(reason)
    assert made(log).empty
    assert log.logged.empty


def test_two_loggers_on_one_rod_and_one_on_two(season):
    two = {"td.csv": recorded(), "other.csv": recorded()}
    log = season(rows=ROW + "other.csv,T1,P1,11:00,12:00,\n", files=two)
    assert [reason[:31] for *_, reason in aside(log)] == ["two loggers hang on this rod at"] * 2
    log = season(rows=ROW + "td.csv,T1,S1,11:00,12:00,\n")
    assert [reason[:33] for *_, reason in aside(log)] == ["this logger hangs on two rods at "] * 2


def test_one_logger_moves_from_rod_to_rod(season):
    sets = [(0.0, 120.0, 42.0), (180.0, 360.0, 48.0)]
    rows = "td.csv,T1,P1,06:00,08:05,\ntd.csv,T1,S1,09:00,12:00,\n"
    log = season(rows=rows, files={"td.csv": recorded(sets)})
    assert made(log)["gear"].tolist() == ["diver", "rigger"]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "this table is empty"),
        ("when,depth\n", "this column is missing"),
        ("time,light\n2026-07-04 06:00,3\n", "this file has neither depths nor temperatures"),
        ("time,temp\n2026-07-04 06:00,50\n", "the file has no depths"),
        ("time,depth\n2026-07-04 06:00,deep\n", "the file has no depths"),
    ],
)
def test_a_file_of_no_use_sets_its_row_aside(season, text, reason):
    ((row, _, why),) = aside(season(files={"td.csv": text}))
    assert (row, why.startswith(reason)) == (2, True), why


def test_a_bad_line_of_a_file_is_counted(season):
    lines = recorded().splitlines()
    lines[10] = "yesterday,3"
    log = season(files={"td.csv": "\n".join(lines)})
    (bad,) = log.set_aside.to_dict("records")
    assert (bad["table"], bad["row"], bad["reason"]) == ("loggers/td.csv", 11, "this is not a time")
    assert log.rows.set_index("table").loc["loggers/td.csv"].tolist() == [780, 779, 1]
    assert len(made(log)) == 2


def test_a_file_that_no_row_names_is_told_of(season):
    (one,) = season(files={"td.csv": recorded(), "more.csv": recorded()}).unread
    assert (one.name, one.why) == ("loggers/more.csv", "no row of loggers names it")


def test_no_speed_no_soak(season):
    log = season(readings=None)
    assert made(log).empty


def test_a_logger_is_one_of_the_hashed_inputs(season):
    log = season()
    before = inputs_digest([log.folder])
    (log.folder / "loggers" / "td.csv").write_text(recorded(end=380.0))
    assert inputs_digest([log.folder]) != before
