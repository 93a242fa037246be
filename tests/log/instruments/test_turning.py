"""Owns the tests of how fast the boat turned: circles, wrapped headings, jitter, and gaps.

A boat that goes round a circle of the radius R at the speed U turns at U / R (any text on
mechanics).
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from made_instruments import gpx, nmea, rmc
from season_files import add, write

from analysis.log import read_log
from analysis.log.instruments.gpx import course_deg
from analysis.log.instruments.turning import LONGEST_GAP_S, turns_of

START = datetime(2026, 7, 4, 4, tzinfo=UTC)
SPEED_MPS = 1.1
DEGREE_M = 111_194.93  # 2 pi R / 360 for a globe of 6371.0088 km


def legs(*legs_s, radius_m=80.0, step_s=1.0):
    """Seconds and headings on legs: (seconds, way), the way 1 to starboard, -1 to port."""
    rate = np.concatenate([np.full(int(s / step_s), way / radius_m) for s, way in legs_s])
    heading = 300.0 + np.degrees(np.cumsum(rate) * SPEED_MPS * step_s)
    return step_s * np.arange(len(rate)), heading % 360.0


def turns(seconds, heading):
    frame = pd.DataFrame({"heading_deg": heading, "trip": "T1"})
    frame["time"] = (START.timestamp() * 1e6 + 1e6 * seconds).astype("int64")
    found = turns_of(frame)
    minute = (found["time"] - pd.Timestamp(START)).dt.total_seconds() / 60
    return list(zip(minute, found["turn_rad_s"], strict=True))


def test_a_steady_circle_turns_at_speed_over_radius_past_north_too():
    """Twice round, to port and to starboard; nothing is known of the minutes at its ends."""
    for way in (1.0, -1.0):
        (before, rate, after) = turns(*legs((960, way)))
        assert [before[0], rate[0], after[0]] == [0, 1, 15]
        assert rate[1] == pytest.approx(way * SPEED_MPS / 80.0, abs=6e-4)  # told to 0.001 rad/s
        assert np.isnan([before[1], after[1]]).all()


def test_a_turn_between_straight_legs_goes_as_far_as_it_went():
    half = np.pi * 80.0 / SPEED_MPS
    found = turns(*legs((600, 0), (half, -1), (600, 0)))
    assert [np.sign(rate) for _, rate in found][1:-1] == [0, -1, 0]
    (_, (_, _), (begins, rate), (ends, _), _) = found
    assert rate * 60 * (ends - begins) == pytest.approx(-np.pi, abs=0.06 * np.pi)


@pytest.mark.parametrize("step_s", [60.0, 90.0])
def test_a_compass_read_by_eye_sees_turns_and_makes_none(step_s):
    """5 degrees off each time (a card is marked so; from memory)."""
    rng = np.random.default_rng(5)
    seconds, heading = legs((36_000, 0), step_s=step_s)
    straight = turns(seconds, (heading + rng.normal(0, 5, len(seconds))) % 360)
    assert [rate for _, rate in straight][1:-1] == [0.0]
    seconds, heading = legs((1800, 0), (600, 1), (1800, 0), step_s=step_s, radius_m=100.0)
    found = turns(seconds, (heading + rng.normal(0, 5, len(seconds))) % 360)
    assert max(rate for _, rate in found[1:-1]) == pytest.approx(0.011, abs=0.0015)


def test_headings_that_swing_by_themselves_are_no_turn():
    seconds, _ = legs((3600, 0))
    found = turns(seconds, (10.0 + 12.0 * np.sin(2 * np.pi * seconds / 90)) % 360)
    assert [rate for _, rate in found][1:-1] == [0.0]


def test_nothing_is_known_between_headings_too_far_apart():
    assert turns(np.arange(0.0, 7200.0, LONGEST_GAP_S + 1), np.arange(72.0)) == []
    seconds, heading = legs((3600, 1))
    seen = (seconds < 1200) | (seconds > 1800)
    found = turns(seconds[seen], heading[seen])
    known = [(minute, np.isfinite(rate)) for minute, rate in found]
    assert known == [(0, False), (1, True), (19, False), (31, True), (59, False)]


def track(radius_m, jitter_m, step_s=1):
    """A boat north-west for 20 minutes, round to starboard for 20, and on; its receiver's noise.

    The noise wanders over a minute, as a receiver's does (from memory).
    """
    seconds, heading = legs((1200, 0), (1200, 1), (1200, 0), radius_m=radius_m)
    north, east = (np.cumsum(SPEED_MPS * f(np.radians(heading))) for f in (np.cos, np.sin))
    noise = np.random.default_rng(7).normal(0, 1, (2, len(seconds)))
    wander = np.exp(-1 / 60)
    for at in range(1, len(seconds)):
        noise[:, at] = wander * noise[:, at - 1] + np.sqrt(1 - wander**2) * noise[:, at]
    north, east = north + jitter_m * noise[0], east + jitter_m * noise[1]
    narrower = np.cos(np.radians(61.2))
    return (
        seconds,
        heading,
        [
            (
                START + timedelta(seconds=int(seconds[at])),
                61.2 + north[at] / DEGREE_M,
                9.8 + east[at] / DEGREE_M / narrower,
                "",
            )
            for at in range(0, len(seconds), step_s)
        ],
    )


def read(tmp_path, name, text):
    folder = write(tmp_path / "Dunlin-2026")
    (folder / "tracks").mkdir(exist_ok=True)
    (folder / "tracks" / name).write_text(text, encoding="utf-8")
    return read_log(folder)


@pytest.mark.parametrize(("jitter_m", "step_s"), [(0.0, 1), (3.0, 1), (3.0, 30)])
def test_a_track_tells_turns_and_its_jitter_makes_none(tmp_path, jitter_m, step_s):
    *_, points = track(80.0, jitter_m, step_s)
    found = read(tmp_path, "t1.gpx", gpx(points)).turns
    assert set(found["trip"]) == {"T1"}
    rates = found["turn_rad_s"].to_numpy()[1:-1]
    assert rates.tolist() == [0.0, pytest.approx(SPEED_MPS / 80.0, rel=0.12), 0.0]
    begins = (found["time"] - pd.Timestamp(START)).dt.total_seconds().to_numpy()[2:4]
    assert begins == pytest.approx([1200, 2400], abs=121)


def test_the_course_of_a_recording_counts_where_no_heading_is_typed(tmp_path, season_files):
    seconds, heading, _ = track(80.0, 0.0)
    lines = [
        rmc(START + timedelta(seconds=int(s)), 2.14).replace("084.4", f"{h:05.1f}")
        for s, h in zip(seconds[::5], heading[::5], strict=True)
    ]

    text = "\n".join(nmea(line[1:-3]) for line in lines)
    rates = read(tmp_path, "t1.nmea", text).turns["turn_rad_s"].to_numpy()[1:-1]
    assert rates.tolist() == [0.0, pytest.approx(SPEED_MPS / 80.0, abs=0.001), 0.0]


def test_headings_typed_too_seldom_are_said_and_bad_ones_set_aside(tmp_path):
    head = "trip,time,speed,speed_kind,heading\n"
    rows = "T1,06:00,2.4,water,359\nT1,06:10,2.4,water,1\nT1,06:20,2.4,water,370\nT1,06:30,,,20\n"
    log = read_log(write(tmp_path / "Dunlin-2026", readings=head + rows))
    assert log.turns.empty
    assert (
        "the headings of one trip tell no turns: write one at least every 100 seconds" in log.notes
    )
    assert log.readings["heading_deg"].dropna().tolist() == [359, 1, 20]
    (told,) = log.changed.to_dict("records")
    assert (told["row"], told["column"], told["value"]) == (4, "heading", "370")


def test_a_course_is_that_of_the_tangent_of_the_great_circle():
    """By vectors from the middle of the globe: the way there less its part straight up."""
    rng = np.random.default_rng(2)
    north, to_north = np.degrees(np.arcsin(rng.uniform(-1, 1, (2, 50))))
    east, to_east = rng.uniform(-180, 180, (2, 50))

    def out(n, e):
        n, e = np.radians(n), np.radians(e)
        return np.stack([np.cos(n) * np.cos(e), np.cos(n) * np.sin(e), np.sin(n)])

    here, there = out(north, east), out(to_north, to_east)
    pole = np.array([0.0, 0.0, 1.0])[:, None]
    ahead = pole - here * (here * pole).sum(axis=0)
    right = np.cross(ahead.T, here.T).T
    way = there - here * (here * there).sum(axis=0)
    expected = np.degrees(np.arctan2((way * right).sum(axis=0), (way * ahead).sum(axis=0)))
    off = (course_deg(north, east, to_north, to_east) - expected + 180) % 360 - 180
    np.testing.assert_allclose(off, 0.0, atol=1e-6)


def test_no_heading_at_all_is_no_turn(tmp_path):
    log = read_log(write(tmp_path / "Dunlin-2026", readings=add("readings")))
    assert log.turns.empty
    assert log.turns["time"].dtype == "datetime64[us, UTC]"
