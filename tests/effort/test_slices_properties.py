"""Owns what must hold of all slices, checked against an account kept minute by minute."""

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from analysis.effort.slices import cut, fishable_sets, reading_changes
from analysis.effort.strikes import place
from analysis.log.schema import blank_table

# shrinking frames takes minutes and these examples are small anyway
NO_SHRINK = [Phase.explicit, Phase.reuse, Phase.generate]
DAY = pd.Timestamp("2026-07-04 04:00", tz="UTC")
TRIPS = pd.DataFrame({"trip": ["A", "B"], "start": DAY, "end": DAY + pd.Timedelta(minutes=60)})
TRIPS["start"] += pd.to_timedelta([0, 1440], unit="m")
TRIPS["end"] += pd.to_timedelta([0, 1440], unit="m")

SET = st.tuples(
    st.sampled_from("AB"),
    st.sampled_from(["P1", "S1"]),
    st.integers(-10, 65),
    st.integers(1, 40),
)
READING = st.tuples(
    st.sampled_from("AB"),
    st.integers(-10, 70),
    st.sampled_from([1.0, 2.0, np.nan]),
    st.sampled_from([10.0, np.nan]),
)
TURN = st.tuples(
    st.sampled_from("AB"),
    st.integers(-10, 70),
    st.sampled_from([0.0, 0.01, np.nan]),
)
STRIKE = st.tuples(st.sampled_from("AB"), st.sampled_from(["P1", "S1", "P9"]), st.integers(0, 60))


def clock(trip, minute):
    return DAY + pd.Timedelta(minutes=minute + 1440 * (trip == "B"))


def frame(name, rows):
    """Return clean rows of a table, the other columns empty."""
    dtypes = blank_table(name).dtypes
    columns = {}
    for column, dtype in dtypes.items():
        missing = "" if dtype == "str" else None
        columns[column] = pd.Series([row.get(column, missing) for row in rows], dtype=dtype)
    return pd.DataFrame(columns)


def sets_frame(sets):
    found = frame(
        "sets",
        [
            {
                "trip": trip,
                "rod": rod,
                "line": line,
                "gear": "rigger",
                "line_out_m": 20.0 + line,
                "time_in": clock(trip, begin),
                "time_out": clock(trip, begin + length),
            }
            for line, (trip, rod, begin, length) in enumerate(sets, start=2)
        ],
    )
    return found.assign(table="sets", source="sets", set=found["line"])


def readings_frame(readings):
    return frame(
        "readings",
        [
            {
                "trip": trip,
                "time": clock(trip, minute),
                "line": line,
                "speed_mps": speed,
                "speed_kind": "water",
                "surface_temp_c": temp,
            }
            for line, (trip, minute, speed, temp) in enumerate(readings, start=2)
        ],
    )


def turns_frame(turns):
    """One rate a trip and minute, the last of those drawn; NaN before the first, as read."""
    told = {(trip, -20): np.nan for trip, *_ in turns}
    told |= {(trip, minute): rate for trip, minute, rate in turns}
    rows = [(trip, clock(trip, minute), rate) for (trip, minute), rate in sorted(told.items())]
    found = pd.DataFrame(rows, columns=["trip", "time", "turn_rad_s"])
    return found.astype({"time": "datetime64[us, UTC]", "turn_rad_s": "float64"})


def by_minute(sets):
    """Say which set each rod fished in each minute: the account of the rules in plain loops."""
    begun = {}
    for line, (trip, rod, begin, length) in enumerate(sets, start=2):
        begun.setdefault((trip, rod, begin), []).append((line, begin + length))
    fished = {}
    for (trip, rod, first), together in sorted(begun.items()):
        for minute in range(first, 120):  # a new set ends the one before
            fished.pop((trip, rod, minute), None)
        if len(together) == 1:
            ((line, last),) = together
            fished |= {(trip, rod, minute): line for minute in range(first, last)}
    fished = {key: line for key, line in fished.items() if 0 <= key[2] < 60}
    return fished


@settings(max_examples=60, phases=NO_SHRINK)
@given(
    sets=st.lists(SET, max_size=8),
    readings=st.lists(READING, max_size=8),
    turns=st.lists(TURN, max_size=6),
)
def test_slices_agree_with_an_account_by_minutes(sets, readings, turns):
    zone = ZoneInfo("Europe/Oslo")
    kept, aside, _ = fishable_sets(sets_frame(sets), TRIPS, zone)
    slices = cut(kept, reading_changes(readings_frame(readings), turns_frame(turns)))
    assert len(kept) + len(aside) == len(sets)
    assert (slices["hours"] > 0).all()
    assert np.isclose(slices["hours"].sum(), kept["hours"].sum(), rtol=0, atol=1e-9)
    expected = by_minute(sets)
    found = {}
    for row in slices.itertuples():
        offset = clock(row.trip, 0)
        begin, end = ((t - offset).total_seconds() / 60 for t in (row.start, row.end))
        for minute in range(round(begin), round(end)):
            assert (row.trip, row.rod, minute) not in found
            found[row.trip, row.rod, minute] = row
    assert {key: row.set for key, row in found.items()} == expected

    for (trip, _, minute), row in found.items():
        for column, place_of in (("speed_mps", 2), ("surface_temp_c", 3)):
            told = sorted(r[1] for r in readings if r[0] == trip and not np.isnan(r[place_of]))
            if not told:
                assert np.isnan(getattr(row, column))
                continue
            when = max([t for t in told if t <= minute], default=told[0])
            values = [r[place_of] for r in readings if r[0] == trip and r[1] == when]
            assert np.isclose(getattr(row, column), np.nanmean(values))
        rates = {when: rate for of, when, rate in turns if of == trip and when <= minute}
        expected = rates[max(rates)] if rates else np.nan
        assert np.isclose(row.turn_rad_s, expected, equal_nan=True)


@settings(max_examples=60, phases=NO_SHRINK)
@given(sets=st.lists(SET, max_size=8), strikes=st.lists(STRIKE, max_size=6))
def test_each_strike_is_in_the_set_its_rod_fished_then_or_in_none(sets, strikes):
    zone = ZoneInfo("Europe/Oslo")
    slices = cut(
        fishable_sets(sets_frame(sets), TRIPS, zone)[0], reading_changes(None, turns_frame([]))
    )
    rows = [
        {"trip": trip, "rod": rod, "time": clock(trip, minute), "line": line}
        for line, (trip, rod, minute) in enumerate(strikes, start=2)
    ]
    placed = place(frame("strikes", rows), slices, {"A", "B"}, frame("sets", []))
    fished = by_minute(sets)
    assert len(placed) == len(strikes)
    assert ((placed["reason"] == "") == placed["placed"]).all()
    for row in placed.itertuples():
        trip, rod, minute = strikes[row.line - 2]
        # the minute that ends with the strike, else the one that begins with it
        before = fished.get((trip, rod, minute - 1), fished.get((trip, rod, minute)))
        assert (slices.loc[row.slice, "set"] if row.placed else None) == before
