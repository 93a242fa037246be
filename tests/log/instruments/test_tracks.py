"""Owns the tests of the folder `tracks`: readings, trips without times, and what is refused."""

from datetime import UTC, datetime, timedelta

import pandas as pd
import pytest
from made_instruments import gpx, nmea, rmc

from analysis.log import read_log
from analysis.report.fingerprints import inputs_digest

KNOT = 1852.0 / 3600.0
# T1 of the usual season fishes from 06:00 to 12:00 in Oslo, which is 04:00 to 10:00 UTC
START = datetime(2026, 7, 4, 4, tzinfo=UTC)


def recording(begin: datetime, minutes: int, knots: float = 2.2, more=()) -> str:
    """A sentence of speed each minute, and further ones behind it."""
    lines = []
    for minute in range(minutes):
        lines.append(rmc(begin + timedelta(minutes=minute), knots))
        lines += [nmea(body) for body in more]
    return "\n".join(lines) + "\n"


@pytest.fixture
def season(tmp_path, season_files):
    """Write the usual season with tracks, changed as told, and read it."""

    def write(files, **changes):
        folder = season_files.write(tmp_path / "Dunlin-2026", **changes)
        (folder / "tracks").mkdir(exist_ok=True)
        for name, text in files.items():
            (folder / "tracks" / name).write_text(text, encoding="utf-8")
        return read_log(folder)

    return write


def found(log, table):
    return log.set_aside.loc[log.set_aside["table"] == table, ["row", "reason"]].to_numpy().tolist()


def test_speeds_and_temperatures_become_readings(season):
    water = ("VWVHW,,T,,M,2.00,N,3.70,K", "YXMTW,14.2,C")
    log = season({"t1.nmea": recording(START, 60, more=water)}, readings=None)
    assert len(log.readings) == 6  # an hour, ten minutes apart
    assert set(log.readings["speed_kind"]) == {"water"}
    assert log.readings["speed_mps"].tolist() == pytest.approx([2.0 * KNOT] * 6)
    assert log.readings["surface_temp_c"].tolist() == pytest.approx([14.2] * 6)
    assert log.readings["time"].min() == pd.Timestamp(START)
    assert set(log.readings["line"]) == {0}


def test_speed_over_ground_is_called_so(season):
    log = season({"t1.log": recording(START, 30)}, readings=None)
    assert set(log.readings["speed_kind"]) == {"ground"}


def test_what_is_typed_goes_before_what_is_recorded(season, season_files):
    """T1 has typed speeds through the water, T2 one over ground: only T2 gains by the sensor."""
    water = ("VWVHW,,T,,M,2.00,N,3.70,K", "YXMTW,14.2,C")
    night = datetime(2026, 7, 10, 18, tzinfo=UTC)
    log = season(
        {"a.nmea": recording(START, 60, more=water), "b.nmea": recording(night, 60, more=water)}
    )
    recorded = log.readings.loc[log.readings["line"] == 0]
    assert set(recorded["trip"]) == {"T2"}
    assert set(recorded["speed_kind"]) == {"water"}
    assert recorded["surface_temp_c"].isna().all()


def test_a_boat_on_its_way_has_no_trolling_speed(season):
    log = season({"t1.nmea": recording(START, 30, knots=25.0)}, readings=None)
    assert log.readings.empty


def test_trips_without_times_have_those_of_their_track(season):
    """Out at 20 kn for 20 minutes, 3 hours of trolling, and home."""
    track = recording(START, 20, 20.0) + recording(START + timedelta(minutes=20), 180)
    track += recording(START + timedelta(minutes=200), 15, 20.0)
    trips = "trip,date,area\nT1,2026-07-04,north arm\n"
    strikes = "trip,time,rod\nT1,08:00,P1\n"
    sets = "trip,rod,gear,setting,line_out,time_in,time_out\nT1,P1,diver,1,80,06:15,09:10\n"
    log = season({"t1.nmea": track}, trips=trips, strikes=strikes, sets=sets, readings=None)
    (trip,) = log.trips.to_dict("records")
    # the set says that lines were in at 06:15 already
    assert trip["start"].tz_convert("Europe/Oslo").strftime("%H:%M") == "06:15"
    assert abs(trip["end"] - pd.Timestamp(START) - pd.Timedelta(minutes=200)) <= pd.Timedelta(
        "5min"
    )
    told = log.changed.loc[log.changed["table"] == "trips", ["column", "reason"]].to_numpy()
    assert [column for column, _ in told] == ["start", "end"]
    assert "by its track the boat trolled from 2026-07-04 06:15" in told[0][1]


def test_a_time_that_is_written_stays(season):
    trips = "trip,date,start,end\nT1,2026-07-04,06:00,\n"
    log = season(
        {"t1.nmea": recording(START, 120)},
        trips=trips,
        sets=None,
        readings=None,
        strikes="trip,time,rod\nT1,06:30,P1\n",
        casts=None,
    )
    assert log.trips["start"].iloc[0] == pd.Timestamp(START)
    assert log.changed["column"].tolist() == ["end"]


def test_two_trips_of_a_day_are_not_told_apart(season):
    trips = "trip,date,start,end\nT1,2026-07-04,06:00,07:00\nT2,2026-07-04,,\n"
    log = season(
        {"t1.nmea": recording(START, 120)},
        trips=trips,
        sets=None,
        readings=None,
        strikes="trip,time,rod\nT1,06:30,P1\n",
        casts=None,
    )
    assert found(log, "trips") == [[3, "missing"]]


@pytest.mark.parametrize(
    ("name", "text", "row", "reason"),
    [
        ("diary.txt", "a calm day\n", 1, "this is no recording of instruments"),
        ("t1.gpx", "a calm day\n", 1, "this file cannot be read as GPX"),
        ("t1.gpx", gpx([]), 1, "this file has no track point with a time"),
        ("t1.nmea", recording(START - timedelta(days=90), 30), 1, "none of its times lies within"),
        ("t1.nmea", "\0\1\2" * 500, 1, "this file is not text"),
    ],
)
def test_a_file_of_no_use_is_a_finding(season, name, text, row, reason):
    log = season({name: text})
    ((line, why),) = found(log, f"tracks/{name}")
    assert (line, why.startswith(reason)) == (row, True)
    counted = log.rows.set_index("table").loc[f"tracks/{name}"]
    assert counted["read"] == counted["kept"] + counted["set_aside"] > 0
    assert counted["kept"] == 0
    assert (log.readings["line"] > 0).all()


def test_a_bad_checksum_is_counted_at_its_line(season):
    lines = recording(START, 30).splitlines()
    lines[4] = lines[4][:-2] + "00"
    log = season({"t1.nmea": "\n".join(lines)}, readings=None)
    ((row, why),) = found(log, "tracks/t1.nmea")
    assert (row, why) == (5, "the sentence does not match its checksum: a part of it was lost")
    assert log.rows.set_index("table").loc["tracks/t1.nmea"].tolist() == [30, 29, 1]


def test_what_lies_there_and_is_no_track_is_named(season):
    (one,) = season({"t1.kml": "<kml/>"}).unread
    assert (one.name, one.why.startswith("tracks are .gpx")) == ("tracks/t1.kml", True)


def test_a_track_is_one_of_the_hashed_inputs(season):
    log = season({"t1.nmea": recording(START, 30)})
    assert "tracks/t1.nmea" in log.hashes
    before = inputs_digest([log.folder])
    (log.folder / "tracks" / "t1.nmea").write_text(recording(START, 31))
    assert inputs_digest([log.folder]) != before
