"""Owns the tests of single rows: what is set aside, what is emptied, and what is said of it."""

import re
import tomllib

import numpy as np
import pandas as pd
import pytest

from analysis.errors import SET_ASIDE_COLUMNS

SET = "T1,P1,port,diver,1,80,,6,spoon,12:00,13:00,end"


def changed_set(**fields):
    """Return a good row of sets with some fields replaced."""
    names = "trip rod side gear setting line_out lead leader_length lure time_in time_out ended_by"
    row = dict(zip(names.split(), SET.split(","), strict=True)) | fields
    return ",".join(row.values())


@pytest.mark.parametrize(
    ("fields", "column", "reason"),
    [
        ({"line_out": ""}, "line_out", "missing"),
        ({"line_out": "-80"}, "line_out", "must be more than 0 ft"),
        ({"line_out": "0"}, "line_out", "must be more than 0 ft"),
        ({"line_out": "9000"}, "line_out", "must be at most 1640 ft"),
        ({"line_out": "80 lb"}, "line_out", "not a number"),
        ({"line_out": "nan"}, "line_out", "not a number"),
        ({"line_out": "inf"}, "line_out", "not a number"),
        ({"line_out": "1_0"}, "line_out", "not a number"),
        ({"line_out": '"1,250"'}, "line_out", "a decimal comma or a thousands mark?"),
        ({"trip": ""}, "trip", "missing"),
        ({"trip": "T9"}, "trip", "trips has no trip of this id"),
        ({"rod": ""}, "rod", "missing"),
        ({"gear": ""}, "gear", "missing"),
        ({"gear": "planer"}, "gear", "boat.toml has no gear of this name"),
        ({"setting": ""}, "setting", "the depth cannot be known without the dial's setting"),
        ({"setting": "one"}, "setting", "a dial's setting must be a number"),
        ({"setting": "9"}, "setting", "off the dial of diver, which goes from 0 to 3"),
        ({"setting": "-1"}, "setting", "off the dial of diver, which goes from 0 to 3"),
        ({"setting": "10"}, "setting", "off the dial of diver, which goes from 0 to 3"),
        ({"time_in": ""}, "time_in", "missing"),
        ({"time_out": ""}, "time_out", "missing: the set was left open"),
        ({"time_out": "noon"}, "time_out", "this is not a time"),
        (
            {"time_in": "09:00", "time_out": "08:00"},
            "time_out",
            "it ends before it begins: were time in and time out swapped?",
        ),
        ({"time_in": "09:00", "time_out": "09:00"}, "time_out", "it lasts no time at all"),
    ],
)
def test_set_that_the_models_cannot_use_is_set_aside(aside, fields, column, reason):
    assert aside("sets", changed_set(**fields)) == [(6, column, reason)]


def test_set_with_several_faults_is_one_row(aside):
    found = aside("sets", changed_set(line_out="", time_out=""))
    assert found == [(6, "line_out", "missing; also time_out: missing: the set was left open")]


def test_misspelt_gear_gets_the_nearest_name_as_remedy(read, season_files):
    log = read(sets=season_files.add("sets", changed_set(gear="driver 2")))
    remedies = log.set_aside["remedy"].tolist()
    assert remedies[0] == 'did you mean diver? If not, add [gear."driver 2"] to boat.toml'


def test_a_gear_to_add_is_written_as_toml_takes_it(read, season_files):
    log = read(sets=season_files.add("sets", changed_set(gear="lead core")))
    (remedy,) = log.set_aside["remedy"]
    heading = re.search(r"\[gear\..*\]", remedy)
    assert tomllib.loads(heading[0]) == {"gear": {"lead core": {}}}


def test_a_dials_own_marks_are_its_limits(read, season_files):
    """Half a step beyond the default dial is kept where boat.toml gives the dial that mark."""
    toml = season_files.BOAT + 'roll_deg = { "0" = 0.0, "3" = 47.0, "3.5" = 51.0 }\n'
    toml = toml.replace('kind = "rigger"\n', "").replace("[gear.rigger]\n", "")
    row = changed_set(setting="3.5")
    assert read(boat=toml, sets=season_files.add("sets", row)).sets["setting"].max() == 3.5
    aside = read(sets=season_files.add("sets", row)).set_aside
    assert aside["remedy"].tolist() == [
        "correct the setting; if the dial has this mark, write its roll as roll_deg under "
        "[gear.diver] in boat.toml"
    ]


def test_a_soak_off_the_dial_is_set_aside(aside):
    found = aside("soaks", "diver,9,80,2.4,42,,")
    assert found == [(5, "setting", "off the dial of diver, which goes from 0 to 3")]


def test_a_trial_deeper_than_its_line_is_set_aside(aside, read, season_files):
    deep = [(5, "depth", "the logger cannot have been deeper than the line is long")]
    assert aside("soaks", "diver,1,80,2.4,90,,") == deep
    # unless its lure dives below the end of the line
    soaks = season_files.add("soaks", "rigger,,80,2.4,82,,blue  plug").replace("note", "lure")
    boat = season_files.BOAT + '[lures]\n"Blue plug" = { diving = "deep" }\n'
    assert 5 in read(soaks=soaks, boat=boat).soaks["line"].tolist()


def test_a_trial_at_rest_is_no_trial(aside):
    assert aside("soaks", "diver,1,80,0,42,,") == [(5, "speed", "must be more than 0 mph")]


def test_a_speed_that_the_depth_model_does_not_take_is_emptied(read, season_files):
    """28 mph was kept once, and the rod-hours under it lost their depth without a word."""
    log = read(readings=season_files.add("readings", "T1,10:00,28,water,61"))
    reading = log.readings.loc[log.readings["line"] == 6].iloc[0]
    assert np.isnan(reading["speed_mps"])
    assert reading["surface_temp_c"] > 0
    (reason,) = log.changed["reason"]
    assert reason == "must be at most 22.37 mph; field left empty, row kept"


def test_set_aside_says_what_was_written(read, season_files):
    log = read(sets=season_files.add("sets", changed_set(line_out="-80")))
    assert tuple(log.set_aside.columns) == SET_ASIDE_COLUMNS
    assert log.set_aside.iloc[0].tolist() == [
        *("sets", 6, "line_out", "-80", "must be more than 0 ft"),
        "check the number; it is read in ft",
    ]


@pytest.mark.parametrize(
    ("fields", "clean", "note"),
    [
        ({"leader_length": "long"}, "leader_length_m", "not a number"),
        ({"leader_length": "-1"}, "leader_length_m", "must be at least 0 ft"),
        ({"lead": "900"}, "lead_m", "must be at most 656.2 ft"),
        ({"gear": "rigger", "setting": "2"}, "setting", "this gear has no dial"),
    ],
)
def test_set_with_a_bad_number_that_models_can_do_without(read, season_files, fields, clean, note):
    log = read(sets=season_files.add("sets", changed_set(**fields)))
    assert log.set_aside.empty
    assert np.isnan(log.sets.loc[log.sets["line"] == 6, clean].item())
    assert log.changed["reason"].tolist() == [f"{note}; field left empty, row kept"]


@pytest.mark.parametrize("fields", [{"side": "aft"}, {"ended_by": "boredom"}])
def test_set_with_an_unknown_word(read, season_files, fields):
    (column,) = fields
    log = read(sets=season_files.add("sets", changed_set(**fields)))
    assert log.sets.loc[log.sets["line"] == 6, column].item() == ""
    assert log.changed["column"].tolist() == [column]


def test_decimal_comma_is_read_and_noted(read, season_files):
    row = changed_set(line_out='"82,5"', leader_length='"6,25"')
    log = read(sets=season_files.add("sets", row))
    added = log.sets.loc[log.sets["line"] == 6].iloc[0]
    assert added["line_out_m"] == pytest.approx(82.5 * 0.3048)
    assert added["leader_length_m"] == pytest.approx(6.25 * 0.3048)
    assert log.changed["reason"].unique().tolist() == ["decimal comma, read as a decimal point"]


def test_unquoted_decimal_comma_makes_a_field_too_many(aside):
    found = aside("sets", changed_set(line_out="82,5"))
    assert found == [(6, "", "the row has 13 fields, the header has 12")]


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("T1,05:59,P1,,landed,,,", "time", "after its trip ended (a bare time before"),
        ("T1,2026-07-04 05:59,P1,,landed,,,", "time", "before its trip began"),
        ("T1,12:01,P1,,landed,,,", "time", "after its trip ended"),
        ("T1,,P1,,landed,,,", "time", "missing"),
        ("T1,6.3,P1,,landed,,,", "time", "this is not a time"),
        ("T1,06:30,,,landed,,,", "rod", "missing"),
        ("T7,06:30,P1,,landed,,,", "trip", "trips has no trip of this id"),
    ],
)
def test_strike_that_cannot_be_used_is_set_aside(aside, row, column, reason):
    ((line, found_column, found_reason),) = aside("strikes", row)
    assert (line, found_column) == (5, column)
    assert found_reason.startswith(reason)


@pytest.mark.parametrize(
    ("row", "clean", "empty"),
    [
        ("T1,06:30,P1,lake trout,escaped,,,", "outcome", ""),
        ("T1,06:30,P1,lake trout,landed,big,,", "length_m", np.nan),
        ("T1,06:30,P1,lake trout,landed,900,,", "length_m", np.nan),
        ("T1,06:30,P1,lake trout,landed,,-2,", "weight_kg", np.nan),
    ],
)
def test_strike_keeps_its_place_with_a_bad_field_empty(read, season_files, row, clean, empty):
    log = read(strikes=season_files.add("strikes", row))
    assert log.set_aside.empty
    kept = log.strikes.loc[log.strikes["line"] == 5, clean].item()
    assert kept == empty or (np.isnan(kept) and np.isnan(empty))
    assert log.changed["row"].tolist() == [5]
    assert log.changed["reason"].str.endswith("field left empty, row kept").all()


def test_strike_of_unknown_gear_is_kept(read):
    text = "trip,time,rod,gear,line_out\nT1,07:00,P1,driver 2,80\n"
    log = read(strikes=text, sets=None)
    assert log.strikes["gear"].tolist() == [""]
    assert log.changed["remedy"].tolist() == [
        'did you mean diver? If not, add [gear."driver 2"] to boat.toml'
    ]


def test_duplicate_rows_are_set_aside_but_two_strikes_in_a_minute_are_not(aside):
    rows = ["T1,07:00,P1,lake trout,landed,20,,", "T1,07:00,P1,lake trout,landed,21,,"]
    found = aside("strikes", *rows, rows[0], rows[0])
    assert found == [(7, "", "duplicate row of line 5"), (8, "", "duplicate row of line 5")]


def test_two_soaks_may_agree_to_the_last_digit(read):
    assert read().soaks["line"].tolist() == [2, 3, 4]


@pytest.mark.parametrize("row", ["kite,,50,2.4,30,,", "diver,,80,2.4,40,,", "diver,1,80,2.4,,,"])
def test_soak_that_cannot_calibrate_is_set_aside(aside, row):
    assert [line for line, _, _ in aside("soaks", row)] == [5]


def test_soak_with_a_bad_date_is_kept(read, season_files):
    log = read(soaks=season_files.add("soaks", "diver,2,80,2.4,38,June,"))
    assert log.soaks["date"].isna().sum() == 2
    assert log.changed["column"].tolist() == ["date"]


def test_reading_keeps_what_is_good(read, season_files):
    log = read(readings=season_files.add("readings", "T1,10:00,fast,water,61", "T1,11:00,2.4,log,"))
    late = log.readings.set_index("line").loc[[6, 7]]
    assert late["speed_mps"].isna().tolist() == [True, False]
    assert late["surface_temp_c"].isna().tolist() == [False, True]
    assert late["speed_kind"].tolist() == ["water", ""]


def test_reading_that_says_nothing_is_set_aside(aside):
    assert aside("readings", "T1,10:00,,water,") == [
        (6, "", "the reading has no speed, no temperature and no heading")
    ]


def test_probe_without_depth_says_nothing(read):
    text = "trip,time,speed,depth_temp,probe_depth\nT1,07:00,2,50,\nT1,08:00,2,50,60\n"
    log = read(readings=text)
    assert log.readings["depth_temp_c"].tolist() == pytest.approx([np.nan, 10.0], nan_ok=True)
    assert log.changed["row"].tolist() == [2]


def test_casts_on_the_way_out_are_kept_and_far_off_ones_are_not(aside):
    rows = ["T1,2026-07-04 03:30,0,60", "T1,2026-07-04 02:30,0,60", "T1,05:30,0,60"]
    found = aside("casts", *rows)
    assert [(line, column) for line, column, _ in found] == [(7, "time"), (8, "time")]
    assert found[0][2] == "before its trip began by more than 3 hours"
    assert found[1][2].startswith("after its trip ended (a bare time before the trip's start")


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("T3,2026-07-12,,12:00,,,", "start", "missing"),
        ("T3,2026-07-12,06:00,,,,", "end", "missing"),
        ("T3,,06:00,12:00,,,", "date", "missing"),
        ("T3,12 July,06:00,12:00,,,", "date", "this is not a date"),
        ("T3,2026-07-12,2026-07-13 06:00,12:00,,,", "start", "the trip's date and the date of"),
        ("T3,2026-07-12,06:00,2026-07-12 05:00,,,", "end", "the trip ends before it begins"),
        ("T3,2026-07-12,06:00,06:00,,,", "end", "the trip ends before it begins"),
        ("T3,2026-07-12,06:00,2026-07-15 06:00,,,", "end", "the trip lasts more than 48 hours"),
        (",2026-07-12,06:00,12:00,,,", "trip", "missing"),
    ],
)
def test_trip_that_cannot_be_used_is_set_aside(aside, row, column, reason):
    ((line, found_column, found_reason),) = aside("trips", row)
    assert (line, found_column) == (4, column)
    assert found_reason.startswith(reason)


def test_rows_of_a_lost_trip_name_its_line(aside, read, season_files):
    log = read(
        trips=season_files.add("trips", "T3,2026-07-12,,12:00,,,"),
        strikes=season_files.add("strikes", "T3,07:00,P1,,landed,,,"),
    )
    strike = log.set_aside.loc[log.set_aside["table"] == "strikes"].iloc[0]
    assert strike["reason"] == "its trip was set aside (trips line 4)"
    assert strike["remedy"] == "put line 4 of trips right"


def test_two_trips_of_one_id_are_both_set_aside_with_all_their_rows(read, season_files):
    log = read(trips=season_files.add("trips", "T1,2026-07-20,06:00,12:00,,,"))
    assert log.trips["trip"].tolist() == ["T2"]
    counted = log.rows.set_index("table")
    assert counted.loc["trips"].tolist() == [3, 1, 2]
    assert set(log.strikes["trip"]) == {"T2"}
    lost = log.set_aside.loc[log.set_aside["table"] == "sets", "reason"]
    assert (lost == "its trip was set aside (trips line 2)").all()


def test_exact_copy_of_a_trip_costs_only_the_copy(read, season_files):
    copy = season_files.TRIPS.splitlines()[1]
    log = read(trips=season_files.add("trips", copy))
    assert log.trips["trip"].tolist() == ["T1", "T2"]
    assert log.set_aside["reason"].tolist() == ["duplicate row of line 2"]


def test_counter_scale_of_the_rod_is_in_the_line_out(read):
    log = read()
    by_rod = log.sets.groupby("rod")["line_out_m"].max()
    assert by_rod["S1"] == pytest.approx(50 * 1.04 * 0.3048)
    assert by_rod["P1"] == pytest.approx(120 * 0.3048)


def test_hostile_text_is_text(read):
    name = "<script>alert(1)</script> & $x$"
    log = read(strikes=f"trip,time,rod,species\nT1,07:00,P1,{name}\n")
    assert log.strikes["species"].tolist() == [name]
    assert isinstance(log.strikes["species"].dtype, pd.StringDtype)
