"""Owns the reading of NMEA 0183 text: speeds and surface temperature by time, positions dropped.

Sentences read: RMC (time, date, course and speed over ground), ZDA (time, date), VTG (course and
speed over ground), VHW (speed through the water), MTW (water temperature). VTG, VHW and MTW carry
no time: they have that of the last RMC or ZDA before them.
"""

import math
from datetime import UTC, datetime
from typing import Any

import pynmea2

from analysis.log.instruments.track import (
    DRIFTING_MPS,
    BadLine,
    NoTrackError,
    OddValueError,
    Track,
    known_course,
    known_speed,
    known_temperature,
    samples_of,
)
from analysis.units import to_si

KINDS = ("RMC", "ZDA", "VTG", "VHW", "MTW")
MOST_BAD = 0.5
"""Share of bad sentences from which a file is no track: something else, or another speed of the
port that recorded it (a rule of ours, no source)."""
_REMEDY = "record the instruments again, or leave the line; it counts nowhere"


def read_nmea(text: str) -> Track:
    """Read a recording of the boat's instruments.

    Parameters
    ----------
    text : str
        Lines, each with a sentence; what stands before the ``$`` of a line is passed over.

    Returns
    -------
    Track

    Raises
    ------
    NoTrackError
        Where there is no sentence of `KINDS`, most of them are broken, or none tells the time.
    """
    rows: list[tuple[float, ...]] = []
    bad: list[BadLine] = []
    read, now = 0, math.nan
    for number, line in enumerate(text.splitlines(), start=1):
        sentence = line[line.find("$") :] if "$" in line else ""
        kind = sentence[3:6]
        if kind not in KINDS:
            continue
        read += 1
        try:
            now, found = _judged(kind, pynmea2.parse(sentence.strip()), now)
        except OddValueError as error:
            bad.append(BadLine(line=number, kind=kind, reason=str(error), remedy=_REMEDY))
        # a parser's own words repeat the sentence, and with it the position
        except pynmea2.ChecksumError:
            reason = "the sentence does not match its checksum: a part of it was lost"
            bad.append(BadLine(line=number, kind=kind, reason=reason, remedy=_REMEDY))
        except (pynmea2.ParseError, ValueError, TypeError, AttributeError, ArithmeticError):
            reason = "the sentence is not whole"
            bad.append(BadLine(line=number, kind=kind, reason=reason, remedy=_REMEDY))
        else:
            if found is not None:
                rows.append((now, *found, number))
    if not read:
        msg = "this is no recording of instruments: it has no sentence RMC, VTG, VHW, MTW or ZDA"
        raise NoTrackError(msg, "move it away, or put the recording in its place")
    if len(bad) > MOST_BAD * read:
        msg = f"{len(bad)} of its {read} sentences are broken, most often so: {bad[0].reason}"
        raise NoTrackError(msg, "record it again", bad[0].line)
    return Track(samples=samples_of(rows), read=read, bad=tuple(bad))


_Found = tuple[float, float, float, float] | None


def _judged(kind: str, sentence: Any, now: float) -> tuple[float, _Found]:
    """Return the time after a sentence, and what it tells: ground, water, temperature, course."""
    unsaid = math.nan
    if kind in ("RMC", "ZDA"):
        if kind == "RMC" and sentence.status != "A":
            return now, None  # no fix yet: neither time nor speed is sure
        now = _time(kind, sentence)
        if kind == "ZDA" or not sentence.data[6]:
            return now, None
        return now, _over_ground(_speed(sentence.spd_over_grnd, "kn"), sentence.true_course)
    if math.isnan(now):
        msg = "nothing before it tells the time"
        raise OddValueError(msg)
    if kind == "MTW":
        if not sentence.data[0]:
            return now, None
        return now, (unsaid, unsaid, known_temperature(float(sentence.temperature)), unsaid)
    if kind == "VHW":
        knots, kmh = sentence.water_speed_knots, sentence.water_speed_km
    else:
        if sentence.faa_mode == "N":
            return now, None
        knots, kmh = sentence.spd_over_grnd_kts, sentence.spd_over_grnd_kmph
    if knots is None and kmh is None:
        return now, None
    speed = _speed(kmh, "km/h") if knots is None else _speed(knots, "kn")
    if kind == "VHW":
        return now, (unsaid, speed, unsaid, unsaid)
    return now, _over_ground(speed, sentence.true_track)


def _over_ground(speed_mps: float, course: Any) -> _Found:
    """Return speed and course over ground, the course where the boat makes way."""
    told = course not in (None, "") and speed_mps >= DRIFTING_MPS
    return speed_mps, math.nan, math.nan, known_course(float(course)) if told else math.nan


def _time(kind: str, sentence: Any) -> float:
    """Return microseconds since 1970 of a sentence that tells date and time."""
    if kind == "RMC":
        moment = datetime.combine(sentence.datestamp, sentence.timestamp)
    else:
        day = (int(sentence.year), int(sentence.month), int(sentence.day))
        moment = datetime(*day, tzinfo=UTC).combine(datetime(*day, tzinfo=UTC), sentence.timestamp)
    return moment.replace(tzinfo=UTC).timestamp() * 1e6


def _speed(value: Any, unit: str) -> float:
    return known_speed(float(to_si(float(value), "speed", unit)))
