"""Owns the tests of strikes that no set holds: why, with which remedy, and when it tells all."""

import pytest

from analysis.effort.losses import unheld
from analysis.report.check import examine


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("diver,2.5,100,", "diver,2.5,,"),  # no line-out
        ("diver,2.5,100,", "kite,2.5,100,"),  # no such gear
        ("08:10,12:00", "12:00,08:10"),  # swapped
        ("08:10,12:00", "08:10,"),  # no end
    ],
)
def test_a_strike_whose_set_was_set_aside_is_told_its_line(counted, season_files, old, new):
    _, effort = counted(
        sets=season_files.SETS.replace(old, new),
        strikes=season_files.add("strikes", "T1,09:00,P1,,landed,,,"),
    )
    (lost,) = effort.set_aside.loc[effort.set_aside["table"] == "strikes"].to_dict("records")
    assert lost["row"] == 5
    assert lost["reason"].startswith("its set was set aside (sets line 3);")
    assert lost["remedy"] == "put line 3 of sets right"


def test_a_strike_of_another_time_or_rod_is_not_told_that_set(counted, season_files):
    _, effort = counted(
        sets=season_files.SETS.replace("diver,2.5,100,", "diver,2.5,,"),
        strikes=season_files.add("strikes", "T1,08:05,P1,,,,,", "T1,09:00,P7,,,,,"),
    )
    lost = effort.set_aside.loc[effort.set_aside["table"] == "strikes"]
    assert lost["remedy"].tolist() == ["correct the time or the rod, or add the set"] * 2


def test_a_strike_in_one_of_two_sets_that_begin_at_once_is_told_the_first(counted, season_files):
    twin = season_files.SETS.splitlines()[1].replace("80", "90")
    _, effort = counted(sets=season_files.add("sets", twin))
    lost = effort.set_aside.loc[effort.set_aside["table"] == "strikes"]
    assert lost["remedy"].tolist() == ["put line 2 of sets right"]


def test_a_strike_on_a_rod_typed_otherwise_is_placed(counted, season_files):
    _, effort = counted(strikes=season_files.STRIKES.replace("P1", "p1"))
    assert effort.strikes["placed"].all()


def strikes_of_twenty(season_files, lost):
    """Return a table of twenty strikes of which the last fell when their rod was not down."""
    header = season_files.STRIKES.splitlines()[0]
    held = [f"T1,06:{minute:02d},P1,,landed,,," for minute in range(10, 30 - lost)]
    return "\n".join([header, *held, *(f"T1,08:0{n + 1},P1,,,,," for n in range(lost))]) + "\n"


def test_up_to_a_tenth_of_the_strikes_may_be_held_by_no_set(counted, season_files):
    log, effort = counted(strikes=strikes_of_twenty(season_files, 2))
    assert int((~effort.strikes["placed"]).sum()) == 2
    assert unheld(effort.strikes) == []
    assert "2 of 20 strikes were set aside" in examine(log.folder).text.splitlines()[0]


def test_more_of_one_hour_stops_the_check(counted, season_files):
    log, effort = counted(strikes=strikes_of_twenty(season_files, 3))
    (lost,) = unheld(effort.strikes)
    assert (lost.lost, lost.read) == (3, 20)
    first = examine(log.folder).text.splitlines()[0]
    assert first.startswith("3 of 20 strikes were set aside (15 %)")
    assert "not even over hours" in first
    assert "no verdict will be clear" in first


def test_a_table_of_sets_cut_short_is_said_first_too(counted, season_files):
    """A file cut at a row's end has no bad row: only the strikes of later trips tell it."""
    log, _ = counted(sets="".join(season_files.SETS.splitlines(keepends=True)[:-1]))
    assert log.set_aside.empty
    assert examine(log.folder).text.startswith("No set holds 1 of 3 strikes")
