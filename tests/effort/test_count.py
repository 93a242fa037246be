"""Owns the tests of a season's account: hours, strikes, and what does not count."""

import numpy as np
import pandas as pd
import pytest

from analysis.effort.strikes import NO_SETS, NOT_DOWN
from analysis.names import FRAMES


def hours_by(effort, *columns):
    return effort.slices.groupby(list(columns))["hours"].sum().round(9).to_dict()


def test_usual_season(counted):
    log, effort = counted()
    assert tuple(effort.slices.columns) == FRAMES["slices"]
    assert effort.set_aside.empty
    assert effort.changed.empty
    assert effort.strikes_only_trips == []
    assert hours_by(effort, "trip", "rod") == {
        ("T1", "P1"): pytest.approx(2 + 230 / 60),
        ("T1", "S1"): 6.0,
        ("T2", "P1"): 6.0,
    }
    assert effort.slices["strikes"].sum() == len(log.strikes) == 3
    assert effort.slices["landed"].sum() == 1


def test_slices_split_where_a_reading_changes_and_only_there(counted):
    _, effort = counted()
    rigger = effort.slices.loc[effort.slices["rod"] == "S1"]
    assert rigger["start"].dt.strftime("%H:%M").tolist() == ["04:00", "05:00", "07:00"]
    assert rigger["end"].dt.strftime("%H:%M").tolist() == ["05:00", "07:00", "10:00"]
    assert rigger["speed_mps"].tolist() == pytest.approx(np.array([2.4, 2.6, 2.6]) * 0.44704)
    assert rigger["surface_temp_c"].tolist() == pytest.approx(np.array([28, 28, 30]) / 1.8)
    assert (rigger["set"] == 4).all()


def test_equal_readings_do_not_split(counted):
    rows = "".join(f"T1,{h:02d}:00,2.5,water,60\n" for h in range(6, 12))
    _, effort = counted(readings="trip,time,speed,speed_kind,surface_temp\n" + rows)
    assert (effort.slices["rod"] == "S1").sum() == 1


def test_first_reading_holds_before_it_and_a_blank_one_changes_nothing(counted):
    header = "trip,time,speed,speed_kind,surface_temp\n"
    _, effort = counted(readings=header + "T1,07:00,2,ground,\nT1,08:00,,,50\nT1,09:00,3,,\n")
    rigger = effort.slices.loc[effort.slices["rod"] == "S1"]
    assert rigger["end"].dt.strftime("%H:%M").tolist() == ["06:00", "07:00", "10:00"][1:]
    assert rigger["speed_mps"].tolist() == pytest.approx([2 * 0.44704, 3 * 0.44704])
    assert rigger["speed_kind"].tolist() == ["ground", ""]
    assert rigger["surface_temp_c"].tolist() == pytest.approx([10, 10])


def test_readings_of_one_minute_are_averaged_and_ground_if_either_is(counted):
    header = "trip,time,speed,speed_kind,surface_temp\n"
    _, effort = counted(readings=header + "T1,06:00,2,water,50\nT1,06:00,3,ground,52\n")
    rigger = effort.slices.loc[effort.slices["rod"] == "S1"].iloc[0]
    assert rigger["speed_mps"] == pytest.approx(2.5 * 0.44704)
    assert rigger["speed_kind"] == "ground"
    assert rigger["surface_temp_c"] == pytest.approx(19 / 1.8)


def test_trip_without_readings_has_no_speed(counted, season_files):
    kept = [row for row in season_files.READINGS.splitlines() if not row.startswith("T2")]
    _, effort = counted(readings="\n".join(kept) + "\n")
    night = effort.slices.loc[effort.slices["trip"] == "T2"]
    assert night["speed_mps"].isna().all()
    assert (night["speed_kind"] == "").all()
    assert len(night) == 1


def test_strike_at_the_end_of_a_set_belongs_to_it(counted):
    _, effort = counted()
    strike = effort.strikes.loc[effort.strikes["line"] == 2].iloc[0]
    assert effort.slices.loc[strike["slice"], "set"] == 2
    assert effort.slices.loc[strike["slice"], "end"] == strike["time"]


def test_strike_at_the_change_of_two_sets_belongs_to_the_first(counted, season_files):
    sets = season_files.SETS.replace("08:10", "08:00")
    _, effort = counted(sets=sets)
    strike = effort.strikes.loc[effort.strikes["line"] == 2].iloc[0]
    assert effort.slices.loc[strike["slice"], "set"] == 2


def test_strike_at_the_very_beginning_belongs_to_the_set(counted, season_files):
    _, effort = counted(strikes=season_files.add("strikes", "T1,08:10,P1,,missed,,,"))
    strike = effort.strikes.loc[effort.strikes["line"] == 5].iloc[0]
    assert effort.slices.loc[strike["slice"], "set"] == 3


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("T1,08:05,P1,,missed,,,", NOT_DOWN),
        ("T1,09:00,P2,,missed,,,", "the trip has usable sets of P1, S1, not of this rod"),
        ("T2,23:00,S1,,missed,,,", "the trip has usable sets of P1, not of this rod"),
    ],
)
def test_strike_on_a_rod_that_was_not_down_is_reported(counted, season_files, row, reason):
    log, effort = counted(strikes=season_files.add("strikes", row))
    lost = effort.strikes.loc[~effort.strikes["placed"]]
    assert lost["line"].tolist() == [5]
    assert lost["reason"].tolist() == [reason]
    assert lost["slice"].tolist() == [-1]
    assert effort.set_aside[["table", "row"]].to_numpy().tolist() == [["strikes", 5]]
    assert effort.set_aside["reason"].item().startswith(reason)
    assert effort.slices["strikes"].sum() == 3
    assert len(effort.strikes) == len(log.strikes) == 4


def test_overlapping_sets_count_no_hour_twice(counted, season_files):
    rows = season_files.add("sets", "T1,S1,starboard,rigger,,70,10,,blue plug,10:00,11:00,end")
    _, effort = counted(sets=rows)
    rigger = effort.sets.loc[effort.sets["rod"] == "S1"]
    assert rigger["hours"].tolist() == [4.0, 1.0]
    changed = effort.changed.iloc[0]
    assert changed[["table", "row", "column", "value"]].tolist() == [
        *("sets", 4, "time_out", "2026-07-04 12:00")
    ]
    expected = "overlaps the set on line 6; counted to where that one begins (120 min less)"
    assert changed["reason"] == expected


def test_sets_of_a_rod_that_begin_together_are_all_set_aside(counted, season_files):
    rows = season_files.add("sets", "T1,S1,starboard,rigger,,70,10,,blue plug,06:00,11:00,end")
    _, effort = counted(sets=rows)
    assert "S1" not in set(effort.slices["rod"])
    assert effort.set_aside[["table", "row"]].to_numpy().tolist() == [
        *(["sets", 4], ["sets", 6], ["strikes", 3])
    ]


def test_set_over_the_edge_of_its_trip_is_cut_and_one_outside_is_set_aside(counted, season_files):
    rows = season_files.add(
        "sets",
        "T1,P2,port,rigger,,70,,,plug,2026-07-04 05:30,07:00,end",
        "T1,P3,port,rigger,,70,,,plug,11:00,12:30,end",
        "T1,P4,port,rigger,,70,,,plug,12:00,13:00,end",
        "T1,P5,port,rigger,,70,,,plug,2026-07-04 05:30,06:00,end",
    )
    _, effort = counted(sets=rows)
    hours = hours_by(effort, "rod")
    assert (hours["P2"], hours["P3"]) == (1.0, 1.0)
    assert not {"P4", "P5"} & set(effort.slices["rod"])
    assert effort.changed["row"].tolist() == [6, 7]
    assert effort.set_aside["row"].tolist() == [8, 9]
    assert effort.set_aside["value"].tolist() == ["2026-07-04 12:00", "2026-07-04 05:30"]


def test_trips_without_set_records_never_enter_a_rate(counted, season_files):
    kept = [row for row in season_files.SETS.splitlines() if not row.startswith("T2")]
    log, effort = counted(sets="\n".join(kept) + "\n")
    assert effort.strikes_only_trips == ["T2"]
    night = effort.strikes.loc[effort.strikes["trip"] == "T2"]
    assert night["placed"].tolist() == [False]
    assert night["reason"].tolist() == [NO_SETS]
    assert "T2" not in set(effort.slices["trip"])
    assert effort.set_aside.empty
    assert len(effort.strikes) == len(log.strikes)


def test_trip_whose_sets_are_all_unusable_is_not_a_strikes_only_trip(counted, season_files):
    sets = season_files.SETS.replace("diver,3,120", "diver,3,")
    _, effort = counted(sets=sets)
    assert effort.strikes_only_trips == []
    assert effort.set_aside["reason"].item().startswith("its set was set aside (sets line 5)")


@pytest.mark.parametrize("readings", [None, "trip,time,speed,speed_kind,surface_temp\n"])
@pytest.mark.parametrize("strikes", ["trip,time,rod\n", "trip,time,rod\nT1,07:00,P1\n"])
def test_season_without_sets_has_slices_of_the_same_columns_and_types(counted, readings, strikes):
    _, usual = counted()
    _, effort = counted(sets=None, readings=readings, strikes=strikes)
    assert len(effort.slices) == 0
    assert (effort.slices.dtypes.astype(str) == usual.slices.dtypes.astype(str)).all()
    assert (effort.strikes.dtypes == usual.strikes.dtypes).all()
    assert effort.strikes_only_trips == ["T1", "T2"]


def test_hours_across_a_clock_change_are_hours(counted):
    _, effort = counted(
        trips="trip,date,start,end\nT1,2026-10-24,22:00,08:00\n",
        sets="trip,rod,gear,line_out,time_in,time_out\n"
        "T1,P1,rigger,50,22:00,08:00\nT1,P2,rigger,50,02:30,02:30\nT1,P3,rigger,50,02:50,02:10\n",
        strikes="trip,time,rod\nT1,04:00,P1\n",
        readings=None,
        casts=None,
    )
    # ten hours on the wall clock, eleven by the sun
    assert hours_by(effort, "rod") == {"P1": 11.0, "P3": pytest.approx(20 / 60)}


def test_boat_and_season_are_on_every_slice(counted):
    _, effort = counted()
    assert (effort.slices["boat"] == "Dunlin").all()
    assert (effort.slices["season"] == 2026).all()
    assert isinstance(effort.slices["start"].dtype, pd.DatetimeTZDtype)


def test_extra_columns_may_not_pass_for_the_account(counted):
    strikes = "trip,time,rod,placed,reason,slice\nT1,07:00,P1,no,none,7\n"
    _, effort = counted(strikes=strikes)
    strike = effort.strikes.iloc[0]
    assert strike[["placed", "reason"]].tolist() == [True, ""]
    assert strike[["placed as written", "reason as written"]].tolist() == ["no", "none"]
