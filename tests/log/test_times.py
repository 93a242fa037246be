"""Owns the tests of local times: midnight, clock changes, and what cannot be a time.

Clock changes of Europe/Oslo in 2026: 29 March 02:00 -> 03:00, 25 October 03:00 -> 02:00.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from analysis.log.times import NAT, NOT_ON_CLOCK, UNREADABLE, parse, resolve

OSLO = ZoneInfo("Europe/Oslo")
ZONES = ["Europe/Oslo", "Europe/Dublin", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kolkata"]


def micro(moment):
    return (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)


def one(text, *, date, start=None, end=None, zone=OSLO, sequence=None):
    """Resolve texts against one trip; return ISO texts in UTC, or the reason."""
    texts = [text] if isinstance(text, str) else text
    midnight = parse(pd.Series([date]))["date_us"].iloc[0]
    whole = np.ones(len(texts), dtype=np.int64)
    instants, reasons = resolve(
        parse(pd.Series(texts)),
        zone=zone,
        date_us=whole * midnight,
        not_before=whole * (NAT if start is None else micro(datetime.fromisoformat(start))),
        not_after=whole * (NAT if end is None else micro(datetime.fromisoformat(end))),
        sequence=(lambda: whole) if sequence else None,
    )
    assert ((instants == NAT) == (reasons != "")).all()
    shown = [
        reason or datetime.fromtimestamp(instant / 1e6, UTC).strftime("%dT%H:%M:%S")
        for instant, reason in zip(instants, reasons, strict=True)
    ]
    return shown[0] if isinstance(text, str) else shown


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-07-04 05:30", "04T03:30:00"),
        ("2026-07-04 05:30:15", "04T03:30:15"),
        ("2026-07-04T05:30", "04T03:30:00"),
        ("2026-7-4 5:30", "04T03:30:00"),
        ("05:30", "04T03:30:00"),
        ("5:30:01", "04T03:30:01"),
        ("2026-07-06 05:30", "06T03:30:00"),
    ],
)
def test_written_forms(text, expected):
    assert one(text, date="2026-07-04") == expected


@pytest.mark.parametrize(
    "text",
    [
        *("", "dawn", "24:00", "12:60", "12:00:60", "2026-02-29 12:00", "2026-13-01 12:00"),
        *("2026-07-04", "12.30", "1230", "12:30 PM", "2026-07-04 05:30+02:00", "04.07.2026 05:30"),
        *("-1:30", "2026-07-0405:30", "9999-12-31 23:59", "0001-01-01 00:00", "٠٥:٣٠", "\n05:30"),
    ],
)
def test_no_time(text):
    assert one(text, date="2026-07-04") == UNREADABLE


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("20:00", "04T18:00:00"),  # equal to the start: the same day
        ("23:59", "04T21:59:00"),
        ("00:00", "04T22:00:00"),
        ("02:00", "05T00:00:00"),
        ("19:59", "05T17:59:00"),  # earlier than the start: the next day, whatever the end
        ("2026-07-04 19:00", "04T17:00:00"),  # a date says what it says
    ],
)
def test_bare_time_before_the_start_is_the_next_day(text, expected):
    start, end = "2026-07-04T20:00+02:00", "2026-07-05T04:00+02:00"
    assert one(text, date="2026-07-04", start=start, end=end) == expected


@pytest.mark.parametrize(
    ("text", "start", "expected"),
    [
        # the trip began before the change: the first 02:30 unless something tells otherwise
        ("02:30", "2026-10-25T01:00+02:00", "25T00:30:00"),
        ("03:00", "2026-10-25T01:00+02:00", "25T02:00:00"),
        # the trip began in the second 02:10, so the first 02:30 was before it
        ("02:30", "2026-10-25T02:10+01:00", "25T01:30:00"),
        # ... and in the first 02:40: 02:30 came again 50 minutes later, on the same day
        ("02:30", "2026-10-25T02:40+02:00", "25T01:30:00"),
        ("2026-10-25 02:30", "2026-10-25T02:40+02:00", "25T01:30:00"),
        ("02:30", "2026-10-24T22:00+02:00", "25T00:30:00"),
    ],
)
def test_repeated_hour_is_read_within_the_trip(text, start, expected):
    end = "2026-10-25T08:00+01:00"
    assert one(text, date=start[:10], start=start, end=end) == expected


def test_repeated_hour_before_an_early_end_is_the_first():
    start, end = "2026-10-25T01:00+02:00", "2026-10-25T02:40+02:00"
    assert one("02:30", date="2026-10-25", start=start, end=end) == "25T00:30:00"


def test_rows_in_order_of_time_tell_the_two_hours_apart():
    written = ["01:50", "02:00", "02:20", "02:40", "02:00", "02:20", "02:40", "03:00"]
    told = one(
        written,
        date="2026-10-24",
        start="2026-10-24T22:00+02:00",
        end="2026-10-25T08:00+01:00",
        sequence=True,
    )
    expected = ["24T23:50", "25T00:00", "25T00:20", "25T00:40", "25T01:00", "25T01:20"]
    assert told == [f"{time}:00" for time in [*expected, "25T01:40", "25T02:00"]]


def test_rows_without_order_are_all_read_as_the_first_hour():
    written = ["02:40", "02:20", "02:50", "02:00"]
    span = {"start": "2026-10-24T22:00+02:00", "end": "2026-10-25T08:00+01:00"}
    told = one(written, date="2026-10-24", sequence=True, **span)
    assert told == ["25T00:40:00", "25T00:20:00", "25T00:50:00", "25T00:00:00"]


@pytest.mark.parametrize("text", ["02:00", "02:59", "2026-03-29 02:30"])
def test_time_that_the_clock_skipped_is_no_time(text):
    start = "2026-03-28T22:00+01:00"
    assert one(text, date="2026-03-28", start=start) == NOT_ON_CLOCK


@pytest.mark.parametrize(("text", "hour"), [("01:59", "00:59"), ("03:00", "01:00")])
def test_times_beside_the_skipped_hour(text, hour):
    start = "2026-03-28T22:00+01:00"
    assert one(text, date="2026-03-28", start=start) == f"29T{hour}:00"


def test_bare_time_skipped_on_the_trip_date_may_belong_to_the_next_day():
    start = "2026-03-29T20:00+02:00"
    assert one("02:30", date="2026-03-29", start=start) == "30T00:30:00"


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("month", [3, 4, 9, 10])
def test_dated_times_agree_with_the_standard_library(zone, month):
    zone = ZoneInfo(zone)
    quarter = timedelta(minutes=15)
    written = [
        datetime(2026, month, 1, tzinfo=zone).replace(fold=0) + i * quarter for i in range(2880)
    ]
    told = one([f"{time:%Y-%m-%d %H:%M}" for time in written], date="2026-01-01", zone=zone)
    expected = []
    for time in written:
        utc = time.astimezone(UTC)
        exists = utc.astimezone(zone).replace(tzinfo=None) == time.replace(tzinfo=None)
        expected.append(f"{utc:%dT%H:%M:%S}" if exists else NOT_ON_CLOCK)
    assert told == expected
