"""Owns the tests of NMEA 0183 text: sentences of a published form, and broken ones."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from made_instruments import nmea, rmc

from analysis.log.instruments.nmea import read_nmea
from analysis.log.instruments.track import NoTrackError

KNOT = 1852.0 / 3600.0  # the international nautical mile, NIST SP 811, appendix B
NOON = datetime(2026, 7, 4, 12, tzinfo=UTC)


def test_the_example_that_every_text_on_the_form_prints():
    """The RMC sentence of gpsd's "NMEA Revealed" (E. S. Raymond), from memory."""
    track = read_nmea("$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E*68\n")
    (sample,) = track.samples.to_dict("records")
    when = datetime(1994, 11, 19, 22, 54, 46, tzinfo=UTC)
    assert sample["time"] == when.timestamp() * 1e6
    assert sample["ground_mps"] == pytest.approx(0.5 * KNOT)


def test_each_kind_of_sentence_tells_its_own():
    lines = [
        nmea("GPZDA,120000.00,04,07,2026,00,00"),
        nmea("VWVHW,,T,,M,2.00,N,3.70,K"),
        nmea("YXMTW,14.2,C"),
        rmc(NOON + timedelta(seconds=5), 2.2),
        nmea("GPVTG,84.4,T,,M,2.3,N,4.26,K,A"),
    ]
    track = read_nmea("\n".join(lines))
    frame = track.samples
    assert (track.read, track.bad) == (5, ())
    assert frame["water_mps"].dropna().tolist() == pytest.approx([2.0 * KNOT])
    assert frame["surface_temp_c"].dropna().tolist() == [14.2]
    assert frame["ground_mps"].dropna().tolist() == pytest.approx([2.2 * KNOT, 2.3 * KNOT])
    assert frame["line"].tolist() == [2, 3, 4, 5]
    assert np.diff(frame["time"]).tolist() == [0, 5_000_000, 0]
    assert set(frame) == {"time", "ground_mps", "water_mps", "surface_temp_c", "course_deg", "line"}


def test_a_speed_in_km_h_alone_is_read():
    track = read_nmea(rmc(NOON, 2.0) + "\n" + nmea("VWVHW,,T,,M,,N,7.2,K"))
    assert track.samples["water_mps"].dropna().tolist() == pytest.approx([2.0])


def test_what_stands_before_the_sentence_is_passed_over():
    assert len(read_nmea(f"2026-07-04T12:00:00 port1: {rmc(NOON, 2.0)}").samples) == 1


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (rmc(NOON, 2.0)[:-2] + "00", "the sentence does not match its checksum"),
        (nmea("YXMTW,140.0,C"), "a water temperature that is not from -2 to 40 C"),
        (nmea("VWVHW,,T,,M,900,N,,K"), "a speed that is not from 0 to 40 m/s"),
        (nmea("GPVTG,84.4,T,,M,fast,N,,K,A"), "the sentence is not whole"),
        (nmea("GPRMC,129999,A,6114.07,N,00952.59,E,2.0,,040726,,,A"), "the sentence is not whole"),
        (nmea("GPRMC,120000,A,6114.07,N,00952.59,E,2.0,,990726,,,A"), "the sentence is not whole"),
    ],
)
def test_a_broken_sentence_is_set_aside_without_what_it_says(line, reason):
    track = read_nmea("\n".join([rmc(NOON, 2.0), line, rmc(NOON, 2.1)]))
    (bad,) = track.bad
    assert (bad.line, bad.kind) == (2, line[3:6])
    assert bad.reason.startswith(reason)
    assert "6114" not in repr(track.bad)
    assert (track.read, len(track.samples)) == (3, 2)


def test_a_speed_before_any_time_is_set_aside():
    track = read_nmea("\n".join([nmea("VWVHW,,T,,M,2.00,N,3.70,K"), rmc(NOON, 2.0)]))
    assert [bad.reason for bad in track.bad] == ["nothing before it tells the time"]


def test_a_receiver_without_a_fix_tells_nothing():
    void = nmea("GPRMC,120000.00,V,,,,,,,040726,,,N")
    assert read_nmea(void + "\n" + rmc(NOON, 2.0)).samples["line"].tolist() == [2]


def test_no_sentence_is_no_track():
    with pytest.raises(NoTrackError, match="this is no recording of instruments"):
        read_nmea("dear diary\n$GPGSV,1,1,00*79\n")


def test_mostly_broken_is_no_track():
    broken = rmc(NOON, 2.0)[:-2] + "00"
    with pytest.raises(NoTrackError, match="2 of its 3 sentences are broken") as caught:
        read_nmea("\n".join([rmc(NOON, 2.0), broken, broken]))
    assert caught.value.line == 2
