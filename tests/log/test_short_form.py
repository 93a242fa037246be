"""Owns the tests of the short form: the sets that follow from spreads, changes and strikes.

The expected times are the rules of the log's format worked out by hand.
"""

import pandas as pd
import pytest

from analysis.errors import LogError
from analysis.log import read_log

BOAT = """\
boat = "Dunlin"
time_zone = "Europe/Oslo"
[units]
length = "m"
depth = "m"
speed = "m/s"
temperature = "C"
fish_length = "cm"
fish_weight = "kg"
[rods]
counter_scale = { S1 = 1.5 }
[habits]
reset_minutes = 8
minutes_per_rod = 3
[gear.diver]
kind = "diver"
[gear.rigger]
kind = "rigger"
"""
TRIPS = "trip,date,start,end,spread\nT1,2026-07-04,06:00,12:00,usual\n"
SPREADS = """\
spread,rod,side,gear,setting,line_out,lead,leader_length,lure
usual,S1,starboard,diver,2,30,,2,spoon
usual,P1,port,diver,1,25,,2,spoon
usual,PR,port,rigger,,18,6,,plug
"""
CHANGES = "trip,time,rod,what,side,gear,setting,line_out,lead,leader_length,lure,ended_by,note\n"
STRIKES = "trip,time,rod,gear,setting,line_out,leader_length,lure\n"


@pytest.fixture
def short(tmp_path, season_files):
    """Write and read a season in short form."""

    def write_and_read(changes="", strikes="", **other):
        tables = dict.fromkeys(("sets", "readings", "casts", "soaks"))
        tables |= {"trips": TRIPS, "spreads": SPREADS, "strikes": STRIKES + strikes}
        tables |= {"changes": CHANGES + changes} if changes else {}
        tables |= other
        return read_log(season_files.write(tmp_path / "Dunlin", **({"boat": BOAT} | tables)))

    return write_and_read


def fished(log, rod, column="line_out_m"):
    """Return a rod's sets as (in, out, what it fished, how it ended)."""
    rows = log.stretches.loc[log.stretches["rod"] == rod].sort_values("time_in")
    clock = [
        rows[name].dt.tz_convert("Europe/Oslo").dt.strftime("%H:%M")
        for name in ("time_in", "time_out")
    ]
    return list(zip(*clock, rows[column], rows["ended_by"], strict=True))


def test_a_spread_goes_in_and_comes_out_one_rod_after_the_other(short):
    log = short()
    assert fished(log, "S1") == [
        ("06:00", "11:54", 45.0, "end")
    ]  # 30 m on a counter that reads 2/3
    assert fished(log, "P1") == [("06:03", "11:57", 25.0, "end")]
    assert fished(log, "PR") == [("06:06", "12:00", 18.0, "end")]
    assert set(log.stretches["source"]) == {"spread"}
    assert log.stretches[["table", "line"]].to_numpy().tolist() == [
        *(["spreads", 3], ["spreads", 4], ["spreads", 2]),
    ]
    assert log.trips_with_sets == {"T1"}
    rigger = log.stretches.set_index("rod").loc["PR"]
    assert (rigger["side"], rigger["lead_m"], rigger["lure"]) == ("port", 6.0, "plug")
    assert pd.isna(rigger["setting"])


def test_a_strike_ends_the_set_and_the_rod_is_back_as_before(short):
    log = short(strikes="T1,08:00,P1,,,,,\n")
    assert fished(log, "P1") == [
        ("06:03", "08:00", 25.0, "strike"),
        ("08:08", "11:57", 25.0, "end"),
    ]
    assert set(log.stretches["source"]) == {"spread"}


@pytest.mark.parametrize(
    ("change", "back"),
    [
        ("T1,08:05,P1,,,,,40,,,,,", [("08:05", "11:57", 40.0, "end")]),
        (
            "T1,08:20,P1,in,,,,40,,,,,",
            [("08:08", "08:20", 25.0, "moved"), ("08:20", "11:57", 40.0, "end")],
        ),
        ("T1,08:00,P1,,,,,40,,,,,", [("08:08", "11:57", 40.0, "end")]),
        ("T1,08:05,P1,out,,,,,,,,,", []),
        ("T1,08:00,P1,out,,,,,,,,,\nT1,09:00,P1,in,,,,,,,,,", [("09:00", "11:57", 25.0, "end")]),
    ],
)
def test_a_change_says_otherwise_of_a_rod_that_struck(short, change, back):
    log = short(change + "\n", "T1,08:00,P1,,,,,\n")
    assert fished(log, "P1") == [("06:03", "08:00", 25.0, "strike"), *back]
    assert set(log.stretches["source"]) == {"changes"}


def test_a_change_keeps_what_it_does_not_say(short):
    log = short("T1,07:00,P1 S1,,,,3,20,,,,false release,\nT1,08:00,P1,,,,,,,,plug,,\n")
    assert fished(log, "P1") == [
        ("06:03", "07:00", 25.0, "false release"),
        ("07:00", "08:00", 20.0, "moved"),
        ("08:00", "11:57", 20.0, "end"),
    ]
    assert fished(log, "P1", "setting")[1:] == [
        ("07:00", "08:00", 3.0, "moved"),
        ("08:00", "11:57", 3.0, "end"),
    ]
    assert [lure for *_, lure, _ in fished(log, "P1", "lure")] == ["spoon", "spoon", "plug"]
    assert fished(log, "S1")[1] == ("07:00", "11:54", 30.0, "end")  # the counter's scale again


def test_a_habit_tells_how_long_a_rod_is_out_when_it_is_changed(short):
    boat = BOAT.replace("[habits]\n", "[habits]\nmove_minutes = 4\n")
    changes = "T1,07:00,P1,,,,,20,,,,,\nT1,08:00,PR,,,,,25,,,,,\n"
    log = short(changes, "T1,08:02,PR,,,,,\n", boat=boat)
    assert fished(log, "P1") == [("06:03", "07:00", 25.0, "moved"), ("07:04", "11:57", 20.0, "end")]
    # struck while the habit has it out: it went in half-way, a minute after the change
    assert fished(log, "PR") == [
        ("06:06", "08:00", 18.0, "moved"),
        ("08:01", "08:02", 25.0, "strike"),
        ("08:10", "12:00", 25.0, "end"),
    ]
    assert len(fished(log, "S1")) == 1


def test_the_start_may_change_what_goes_in_but_not_when(short):
    log = short("T1,,P1,,,,,40,,,,,\nT1,,PR,out,,,,,,,,,\nT1,06:02,P1,,,,,,,,plug,,\n")
    assert fished(log, "PR") == []
    # written at 06:02 as fishing: it went in then, and is now the last of two to come out
    assert fished(log, "P1") == [("06:02", "12:00", 40.0, "end")]
    assert fished(log, "S1") == [("06:00", "11:57", 45.0, "end")]


def test_all_means_the_rods_that_fish_and_a_rod_by_its_name_comes_first(short):
    log = short(
        "T1,09:00,P1,out,,,,,,,,,\n"
        "T1,10:00,P1,in,,,,99,,,,,\n"
        "T1,08:00,all,,,,,,,4,,,\nT1,08:00,P1,,,,,,,5,,,\n"
        "T1,11:00,All,out,,,,,,,,tangle,\n"
    )
    assert [cell for *_, cell, _ in fished(log, "P1", "leader_length_m")] == [2.0, 5.0, 5.0]
    assert [cell for *_, cell, _ in fished(log, "S1", "leader_length_m")] == [2.0, 4.0]
    assert {fished(log, rod)[-1][1] for rod in ("S1", "P1", "PR")} == {"11:00"}
    assert fished(log, "PR")[-1][3] == "tangle"


def test_all_does_not_put_in_what_was_taken_out(short):
    log = short("T1,09:00,P1,out,,,,,,,,,\nT1,10:00,all,,,,,,,4,,,\n")
    assert fished(log, "P1") == [("06:03", "09:00", 25.0, "")]
    assert len(fished(log, "S1")) == 2


def test_a_strike_shows_a_change_that_nobody_wrote_half_way(short):
    log = short(strikes="T1,08:03,P1,diver,3,25,,\nT1,10:00,P1,,,,,\n")
    assert fished(log, "P1", "setting") == [
        ("06:03", "07:03", 1.0, ""),
        ("07:03", "08:03", 3.0, "strike"),
        ("08:11", "10:00", 3.0, "strike"),
        ("10:08", "11:57", 3.0, "end"),
    ]
    assert log.stretches.loc[log.stretches["table"] == "strikes", "line"].unique().tolist() == [2]


def test_a_strike_that_says_what_its_rod_fishes_changes_nothing(short):
    log = short(strikes="T1,08:00,S1,diver,2,30,,Spoon\n")
    assert fished(log, "S1")[0] == ("06:00", "08:00", 45.0, "strike")


def test_a_strike_while_a_habit_has_the_rod_out_shows_it_went_in_sooner(short):
    log = short(strikes="T1,06:02,PR,,,,,\nT1,06:08,PR,,,,,\n")
    assert fished(log, "PR") == [
        ("06:01", "06:02", 18.0, "strike"),
        ("06:05", "06:08", 18.0, "strike"),
        ("06:16", "12:00", 18.0, "end"),
    ]


def test_a_strike_that_leaves_open_what_its_rod_fished_ends_the_rods_hours(short):
    log = short(strikes="T1,08:06,PR,diver,,,,\n")  # at which setting?
    assert fished(log, "PR") == [("06:06", "07:06", 18.0, "")]


def test_a_rod_is_one_rod_however_a_change_types_it(short):
    log = short("T1,08:00,p1;s1,,,,,40,,,,,\n")
    assert [fished(log, rod)[1][0] for rod in ("P1", "S1")] == ["08:00", "08:00"]
    assert set(log.stretches["rod"]) == {"P1", "S1", "PR"}


def test_a_rod_that_is_out_by_the_record_is_not_put_in_by_a_strike(short):
    log = short("T1,07:00,P1,out,,,,,,,,,\n", "T1,08:00,P1,,,,,\n")
    assert fished(log, "P1") == [("06:03", "07:00", 25.0, "")]


def test_changing_the_gear_drops_what_only_the_old_one_had(short):
    log = short("T1,08:00,PR,,,diver,1,30,,,,,\nT1,09:00,P1,,,rigger,,20,4,,,,\n")
    assert pd.isna(fished(log, "PR", "lead_m")[1][2])
    assert pd.isna(fished(log, "P1", "setting")[1][2])


def test_rows_in_sets_count_and_the_trips_changes_are_set_aside(short):
    sets = "trip,rod,gear,setting,line_out,time_in,time_out\nT1,P1,diver,1,10,06:00,07:00\n"
    log = short("T1,08:00,P1,,,,,40,,,,,\n", sets=sets)
    assert log.stretches[["source", "line_out_m"]].to_numpy().tolist() == [["sets", 10.0]]
    assert log.set_aside[["table", "row"]].to_numpy().tolist() == [["changes", 2]]
    assert log.set_aside["reason"].tolist() == ["the trip has rows in sets, and those count"]
    assert log.rows.set_index("table").loc["changes"].tolist() == [1, 0, 1]


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ("T1,08:00,P1,,,,,4O,,,,,", "not a number"),
        ("T1,08:00,P1,,,planer,,,,,,,", "boat.toml has no gear of this name"),
        ("T1,08:00,P1,ni,,,,,,,,,", "not a known what"),
        ("T1,08:00,PR,,,diver,,30,,,,,", "nothing says the setting of PR then"),
        ("T1,08:00,X9,in,,diver,1,,,,,,", "nothing says the line_out of X9 then"),
    ],
)
def test_after_a_change_that_cannot_be_read_the_rods_hours_do_not_count(short, rows, reason):
    log = short(rows + "\n")
    assert log.set_aside["reason"].tolist() == [reason]
    rod = rows.split(",")[2]
    assert all(out == "08:00" for _, out, _, _ in fished(log, rod))
    again = short(rows + f"\nT1,10:00,{rod},in,,diver,1,30,,,,,\n")
    assert fished(again, rod)[-1][0] == "10:00"


def test_two_changes_of_one_time_that_contradict_are_both_set_aside(short):
    log = short("T1,08:00,P1,,,,,40,,,,,\nT1,08:00,P1,,,,,50,,,,,\n")
    assert log.set_aside["row"].tolist() == [2, 3]
    assert fished(log, "P1") == [("06:03", "08:00", 25.0, "moved")]
    both = short("T1,08:00,P1,,,,,40,,,,,\nT1,08:00,P1,,,,,,,,plug,,\n")
    assert both.set_aside.empty
    assert fished(both, "P1")[1][2] == 40.0


def test_a_duplicate_row_is_no_loss(short):
    log = short(2 * "T1,08:00,P1,,,,,40,,,,,\n")
    assert len(log.set_aside) == 1
    assert fished(log, "P1")[-1] == ("08:00", "11:57", 40.0, "end")


def test_a_change_outside_its_trip_is_set_aside_and_moves_nothing(short):
    log = short("T1,2026-07-04 05:00,P1,out,,,,,,,,,\nT1,12:30,P1,,,,,40,,,,,\n")
    assert len(log.set_aside) == 2
    assert fished(log, "P1") == [("06:03", "11:57", 25.0, "end")]
    assert set(log.stretches["source"]) == {"spread"}


def test_an_unknown_spread_is_told_and_a_rod_twice_in_one_set_aside(short):
    log = short(trips=TRIPS.replace("usual", "usaul"))
    assert log.changed[["column", "reason", "remedy"]].to_numpy().tolist() == [
        [
            "spread",
            "spreads has no spread of this name; field left empty, row kept",
            "did you mean usual?",
        ],
    ]
    assert log.stretches.empty
    assert log.trips_with_sets == frozenset()
    twice = short(spreads=SPREADS + "usual,P1,port,diver,1,70,,,\n")
    assert twice.set_aside["row"].tolist() == [3, 5]
    assert sorted(set(twice.stretches["rod"])) == ["PR", "S1"]


def test_a_trip_too_short_for_its_spread_has_no_time_below_nothing(short):
    log = short(trips=TRIPS.replace("12:00", "06:05"))
    assert fished(log, "S1") == [("06:00", "06:02", 45.0, "end")]
    assert fished(log, "P1") == [("06:03", "06:05", 25.0, "end")]
    assert fished(log, "PR") == []
    assert (log.stretches["time_out"] > log.stretches["time_in"]).all()


def test_order_of_the_changes_rows_changes_nothing(short):
    rows = ["T1,08:00,P1,,,,,40,,,,,", "T1,07:00,all,,,,,,,3,,,", "T1,,PR,,,,,10,,,,,"]
    one = short("\n".join(rows) + "\n").stretches
    other = short("\n".join(reversed(rows)) + "\n").stretches
    pd.testing.assert_frame_equal(one.drop(columns="line"), other.drop(columns="line"))


@pytest.mark.parametrize(
    ("habit", "message"),
    [
        ("reset_minutes = 'eight'", r"habits\.reset_minutes.*must be a number"),
        ("minutes_per_rod = -1", r"habits\.minutes_per_rod.*between 0 and 120"),
        ("minutes_a_rod = 3", r"habits\.minutes_a_rod.*did you mean minutes_per_rod"),
    ],
)
def test_habits_are_checked(short, habit, message):
    boat = BOAT.replace("reset_minutes = 8\nminutes_per_rod = 3", habit)
    with pytest.raises(LogError, match=message):
        short(boat=boat)


def test_a_bare_time_past_midnight_is_of_the_next_day(short):
    trips = "trip,date,start,end,spread\nT1,2026-07-04,20:00,02:00,usual\n"
    log = short("T1,00:30,P1,,,,,40,,,,,\n", "T1,01:10,PR,,,,,\n", trips=trips)
    assert fished(log, "P1") == [("20:03", "00:30", 25.0, "moved"), ("00:30", "01:57", 40.0, "end")]
    assert fished(log, "PR") == [
        ("20:06", "01:10", 18.0, "strike"),
        ("01:18", "02:00", 18.0, "end"),
    ]
    assert log.stretches["time_out"].max() == pd.Timestamp("2026-07-05 00:00", tz="UTC")


@pytest.mark.parametrize("rods", ['"P1, S1"', "P1 S1", '"p1,s1"', "P-1;S1"])
def test_several_rods_of_one_row_change_alike(short, rods):
    log = short(f"T1,07:00,{rods},,,,,20,,,,,\n")
    assert fished(log, "P1")[1] == ("07:00", "11:57", 20.0, "end")
    assert fished(log, "S1")[1] == ("07:00", "11:54", 30.0, "end")
    assert len(fished(log, "PR")) == 1
