"""Owns the tests of rod labels: one rod is one rod however it is typed, here and in boat.toml."""

import pytest

from analysis.errors import LogError


def with_rods(season_files, rods):
    """Return a boat.toml whose table of rods is another one."""
    head, rest = season_files.BOAT.split("[rods]\n")
    return f"{head}[rods]\n{rods}\n{rest[rest.index('[gear.diver]') :]}"


def test_a_rod_has_the_spelling_that_the_log_uses_most(read, season_files):
    strikes = season_files.STRIKES.replace("T2,00:30,P1", "T2,00:30,p 1")
    sets = season_files.SETS.replace("T2,P1", "T2,p1")
    log = read(strikes=strikes, sets=sets)
    assert set(log.sets["rod"]) == {"P1", "S1"}
    assert set(log.strikes["rod"]) == {"P1", "S1"}
    changed = log.changed[["table", "row", "column", "value", "reason", "remedy"]]
    assert changed.to_numpy().tolist() == [
        ["sets", 5, "rod", "p1", "read as P1, as this log mostly spells it", "write P1"],
        ["strikes", 4, "rod", "p 1", "read as P1, as this log mostly spells it", "write P1"],
    ]


def test_letters_with_marks_may_be_typed_in_one_piece_or_two(read, season_files):
    strikes = season_files.STRIKES.replace("P1", "A\u030a1")
    log = read(strikes=strikes, sets=season_files.SETS.replace("P1", "\u00c51"))
    assert set(log.strikes["rod"]) == set(log.sets["rod"]) == {"\u00c51", "S1"}
    assert log.changed.empty


def test_rows_that_differ_in_the_spelling_of_their_rod_alone_are_one(read, season_files):
    log = read(sets=season_files.add("sets", season_files.SETS.splitlines()[1].lower()))
    found = log.set_aside[["row", "reason"]].to_numpy().tolist()
    assert found == [[6, "trips has no trip of this id"]]  # t1 is another word than T1
    twin = season_files.SETS.splitlines()[1].replace("P1", "p1")
    log = read(sets=season_files.add("sets", twin))
    assert log.set_aside[["row", "reason"]].to_numpy().tolist() == [[6, "duplicate row of line 2"]]


def test_entries_of_boat_toml_hold_for_a_rod_typed_otherwise(read, season_files):
    rods = "counter_scale = { p1 = 1.5 }\ntip_height_m = { P1 = 3.0, s1 = 1.0 }"
    boat = read(boat=with_rods(season_files, rods)).boat
    assert boat.counter_scale_of("P1") == 1.5
    assert boat.tip_height_of("S1") == 1.0
    log = read(boat=with_rods(season_files, rods))
    assert log.sets.loc[log.sets["rod"] == "P1", "line_out_m"].max() == pytest.approx(
        120 * 1.5 * 0.3048
    )


@pytest.mark.parametrize("key", ["counter_scale", "tip_height_m"])
def test_two_entries_of_one_rod_are_refused(read, season_files, key):
    rods = f"{key} = {{ P1 = 1.5, p1 = 1.2 }}"
    message = rf"rods\.{key}\.p1: this rod stands here twice, the other time as P1"
    with pytest.raises(LogError, match=message):
        read(boat=with_rods(season_files, rods))
