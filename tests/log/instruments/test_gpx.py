"""Owns the tests of GPX 1.1: speeds of its own or from the way, and files that are no track."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from made_instruments import gpx

from analysis.log.instruments.gpx import distance_m, read_gpx
from analysis.log.instruments.track import NoTrackError

NOON = datetime(2026, 7, 4, 12, tzinfo=UTC)
DEGREE_M = 111_194.93  # a degree of a great circle of 6371.0088 km: 2 pi R / 360


def northward(mps: float, seconds: int, step: int = 1, jitter_m: float = 0.0) -> str:
    """A boat going north at a steady speed."""
    rng = np.random.default_rng(3)
    points = []
    for second in range(0, seconds + 1, step):
        off = rng.normal(0, jitter_m) / DEGREE_M
        points.append(
            (NOON + timedelta(seconds=second), 61.2 + mps * second / DEGREE_M + off, 9.8, "")
        )
    return gpx(points)


def test_the_speed_of_the_way():
    speeds = read_gpx(northward(1.1, 600)).samples["ground_mps"].dropna()
    assert len(speeds) == 10
    assert speeds.to_numpy() == pytest.approx(1.1, rel=1e-3)


def test_a_receiver_that_jitters_makes_no_speed():
    """Point to point the jitter alone would be some 1.7 m/s (mean of |N(0, 1.5 sqrt 2)|)."""
    speeds = read_gpx(northward(1.1, 1800, jitter_m=1.5)).samples["ground_mps"].dropna()
    assert speeds.mean() == pytest.approx(1.1, abs=0.03)


def test_a_long_silence_has_no_speed():
    points = [(NOON + timedelta(minutes=m), 61.2 + m / 1000, 9.8, "") for m in (0, 1, 20, 21)]
    assert read_gpx(gpx(points)).samples["ground_mps"].notna().sum() == 2


def test_speed_and_temperature_of_its_own_count():
    more = "<x:Point><x:wtemp>14.5</x:wtemp><x:speed>1.2</x:speed></x:Point>"
    points = [(NOON + timedelta(minutes=m), 61.2 + m, 9.8, more) for m in range(3)]
    frame = read_gpx(gpx(points)).samples
    assert frame["ground_mps"].tolist() == [1.2] * 3
    assert frame["surface_temp_c"].tolist() == [14.5] * 3
    assert frame["line"].tolist() == [5, 6, 7]


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ("<x:wtemp>cold</x:wtemp>", "its wtemp is not a number"),
        ("<x:wtemp>61.2</x:wtemp>", "a water temperature that is not from -2 to 40 C"),
        ("<x:speed>-3</x:speed>", "a speed that is not from 0 to 40 m/s"),
    ],
)
def test_an_odd_value_is_set_aside_with_its_line(more, reason):
    points = [(NOON, 61.2, 9.8, ""), (NOON + timedelta(minutes=1), 61.3, 9.8, more)]
    track = read_gpx(gpx(points))
    assert [(bad.line, bad.reason) for bad in track.bad] == [(6, reason)]
    assert track.read == 2


def test_a_point_without_a_time_is_set_aside():
    text = gpx([(NOON, 61.2, 9.8, ""), (NOON, 61.3, 9.8, "")])
    text = text.replace("<time>2026-07-04T12:00:00Z</time>", "", 1)
    (bad,) = read_gpx(text).bad
    assert (bad.line, bad.reason) == (5, "this point has no time")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("dear diary", "this file cannot be read as GPX"),
        ("<gpx><trk>", "this file cannot be read as GPX"),
        ('<gpx version="1.1"><wpt lat="61" lon="9"/></gpx>', "no track point with a time"),
        (gpx([(NOON, 61.2, 9.8, "")]).replace("61.200000", "north"), "cannot be read as GPX"),
        (gpx([(NOON, 61.2, 9.8, "")]).replace("2026-07-04T", "noon "), "no track point with a"),
        ('<!DOCTYPE x [<!ENTITY a "aaaa">]><gpx>&a;</gpx>', "defines parts of its own"),
    ],
)
def test_what_is_no_track_is_refused(text, reason):
    with pytest.raises(NoTrackError, match=reason):
        read_gpx(text)


def test_a_quarter_of_a_great_circle():
    """From the pole to the equator is a quarter of the circumference, 2 pi R / 4."""
    quarter = np.pi / 2 * 6_371_008.8
    zero = np.zeros(1)
    assert distance_m(zero + 90.0, zero, zero, zero + 33.0) == pytest.approx(quarter)
