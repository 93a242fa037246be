"""Owns what must hold of every short log, however it is written."""

import tempfile
from pathlib import Path

import pandas as pd
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.effort import count_effort
from analysis.log import read_log

ROOM = settings(max_examples=30, suppress_health_check=list(HealthCheck))
TRIPS = (
    "trip,date,start,end,spread\n"
    "A,2026-07-04,06:00,08:00,usual\nB,2026-07-05,22:00,01:00,\nC,2026-07-06,06:00,06:04,usual\n"
)
SPREADS = (
    "spread,rod,side,gear,setting,line_out\n"
    "usual,P1,port,diver,1,80\nusual,PR,port,rigger,,50\nusual,S1,starboard,diver,2,60\n"
)
CHANGES = "trip,time,rod,what,gear,setting,line_out,lure,ended_by\n"
STRIKES = "trip,time,rod,gear,setting,line_out\n"


def one_of(*words):
    return st.sampled_from(words)


CLOCK = one_of("", "06:00", "06:01", "06:03", "06:30", "06:34", "07:10", "07:58", "08:00", "23:30")
ROD = one_of("P1", "PR", "s1", "P1 S1", "all", "X9", "")
CHANGE = st.tuples(
    one_of("A", "B", "C"), CLOCK, ROD, one_of("", "in", "out", "what"),
    one_of("", "diver", "rigger", "divr"), one_of("", "", "2", "x"), one_of("", "90", "8O"),
    one_of("", "plug"), one_of("", "moved", "tangle"),
)  # fmt: skip
STRIKE = st.tuples(
    one_of("A", "B", "C"), CLOCK, one_of("P1", "PR", "S1", "X9"),
    one_of("", "diver"), one_of("", "3"), one_of("", "70"),
)  # fmt: skip


def table(header, rows):
    return header + "".join(",".join(row) + "\n" for row in rows)


def read(season_files, changes, strikes):
    with tempfile.TemporaryDirectory() as folder:
        return read_log(
            season_files.write(
                Path(folder),
                **dict.fromkeys(("sets", "readings", "casts", "soaks")),
                **{"trips": TRIPS, "spreads": SPREADS},
                changes=table(CHANGES, changes),
                strikes=table(STRIKES, strikes),
            )
        )


@ROOM
@given(changes=st.lists(CHANGE, max_size=8), strikes=st.lists(STRIKE, max_size=4))
def test_no_rod_hour_counts_twice_or_outside_its_trip_and_no_row_is_lost(
    season_files, changes, strikes
):
    log = read(season_files, changes, strikes)
    counted = log.rows.set_index("table")
    assert counted.loc["changes", "read"] == len(changes)
    assert (counted["read"] == counted["kept"] + counted["set_aside"]).all()
    sets = log.stretches.sort_values(["trip", "rod", "time_in"])
    assert (sets["time_in"] < sets["time_out"]).all()
    before = sets.groupby(["trip", "rod"])["time_out"].shift()
    assert (before.isna() | (before <= sets["time_in"])).all()
    trips = log.trips.set_index("trip").loc[sets["trip"]]
    assert (sets["time_in"].to_numpy() >= trips["start"].to_numpy()).all()
    assert (sets["time_out"].to_numpy() <= trips["end"].to_numpy()).all()
    assert sets["set"].is_unique
    # every set has what its depth needs, and the sets count as they are
    assert sets["line_out_m"].notna().all()
    assert (sets["setting"].notna() == (sets["gear"] == "diver")).all()
    effort = count_effort(log)
    assert effort.changed.empty
    assert len(effort.sets) == len(sets)


@ROOM
@given(data=st.data(), changes=st.lists(CHANGE, max_size=6), strikes=st.lists(STRIKE, max_size=3))
def test_the_order_of_rows_changes_nothing(season_files, data, changes, strikes):
    one = read(season_files, changes, strikes)
    mixed = data.draw(st.permutations(changes))
    other = read(season_files, mixed, data.draw(st.permutations(strikes)))
    told = ["trip", "rod", "time_in", "time_out", "gear", "setting", "line_out_m", "lure", "source"]
    pd.testing.assert_frame_equal(
        one.stretches[told].reset_index(drop=True), other.stretches[told].reset_index(drop=True)
    )
