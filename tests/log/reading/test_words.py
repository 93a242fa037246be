"""Owns the tests of gears, rods, sides, outcomes and species in other spellings."""

import pytest


@pytest.mark.parametrize(
    ("column", "typed", "ours"),
    [
        ("gear", "Diver", "diver"),
        ("gear", "DIVR", "diver"),
        ("side", "P", "port"),
        ("side", "Left", "port"),
        ("ended_by", "False-release", "false release"),
        ("ended_by", "Tangled!", "tangle"),
    ],
)
def test_words_of_sets(read, season_files, column, typed, ours):
    cells = dict(
        zip(
            season_files.SETS.splitlines()[0].split(","),
            ["T1", "P9", "port", "diver", "1", "80", "", "6", "spoon", "06:00", "08:00", "end"],
            strict=True,
        )
    )
    cells[column] = typed
    log = read(sets=season_files.add("sets", ",".join(cells.values())))
    assert log.set_aside.empty
    assert log.sets.loc[log.sets["line"] == 6, column].item() == ours
    (change,) = log.changed.to_dict("records")
    assert (change["row"], change["value"]) == (6, typed)
    assert change["reason"] == f"read as {ours}"


@pytest.mark.parametrize(
    ("typed", "ours"),
    [("Landed!", "landed"), ("boated", "landed"), ("Rel.", "released"), ("came off", "lost")],
)
def test_outcomes(read, season_files, typed, ours):
    log = read(strikes=season_files.add("strikes", f"T1,09:00,P1,,{typed},,,"))
    assert log.strikes.loc[log.strikes["line"] == 5, "outcome"].item() == ours


def test_rods_are_one_with_dashes_and_spaces(read, season_files):
    log = read(strikes=season_files.STRIKES.replace("08:00,P1", "08:00,p-1"))
    assert set(log.strikes["rod"]) == {"P1", "S1"}


def test_a_word_of_two_gears_is_asked(read, season_files):
    boat = season_files.BOAT + '[gear.divers]\nkind = "diver"\n'
    log = read(boat=boat, sets=season_files.SETS.replace("P1,port,diver,1", "P1,port,divre,1"))
    (problem,) = log.set_aside.to_dict("records")
    assert problem["value"] == "divre"
    assert "diver or divers" in problem["reason"]
    assert "[values.gear]" in problem["remedy"]


def test_gears_that_differ_in_a_digit_are_not_alike(read, season_files):
    boat = season_files.BOAT + '[gear."diver 1"]\nkind = "diver"\n'
    log = read(boat=boat, sets=season_files.SETS.replace("P1,port,diver,1", "P1,port,diver 2,1"))
    assert log.set_aside["value"].tolist() == ["diver 2"]


def strikes_of(*species):
    rows = "".join(
        f"T1,{6 + i // 60:02d}:{i % 60:02d},P1,{name}\n" for i, name in enumerate(species)
    )
    return "trip,time,rod,species\n" + rows


def test_species_take_the_spelling_of_most(read):
    log = read(strikes=strikes_of(*["lake trout"] * 20, "Lake Trout", "lake-trout", "lake truot"))
    assert set(log.strikes["species"]) == {"lake trout"}
    assert log.changed["value"].tolist() == ["Lake Trout", "lake-trout", "lake truot"]


def test_species_that_are_two_stay_two(read):
    names = [*["brown trout"] * 20, "brook trout", "brow trout", *["chub"] * 20, "char"]
    log = read(strikes=strikes_of(*names))
    assert {"brook trout", "char"} <= set(log.strikes["species"])
    log = read(strikes=strikes_of("lake trout", "lake trout", "lake truot"))
    assert "lake truot" in set(log.strikes["species"])  # one in three is no slip


def test_reading_of_words_can_be_turned_off(read, season_files):
    boat = season_files.BOAT + '[reading]\nwords = "off"\n'
    log = read(boat=boat, sets=season_files.SETS.replace("P1,port,diver,1", "P1,port,Diver,1"))
    assert log.set_aside["value"].tolist() == ["Diver"]
