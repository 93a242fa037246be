"""Owns the tests of corrections kept beside a log."""

import pandas as pd
import pytest

from analysis.csv_files import read_csv, write_csv
from analysis.errors import LogError
from analysis.log import read_log
from analysis.log.fixes import COLUMNS, write_fixes
from analysis.report.check import examine, propose_fixes


@pytest.fixture
def fixable(tmp_path, season_files):
    """A season with a misspelt gear, a swapped set, an open set and a missing line-out."""
    rows = [
        "T1,S2,starboard,rgr,,50,10,,blue plug,06:00,07:00,end",
        "T1,P2,port,diver,1,80,,6,spoon,09:00,08:00,end",
        "T1,P3,port,diver,1,80,,6,spoon,08:00,,end",
        "T1,P3,port,diver,1,90,,6,spoon,09:30,10:00,end",
        "T1,P4,port,diver,1,,,6,spoon,08:00,09:00,end",
    ]
    return season_files.write(tmp_path / "log", sets=season_files.add("sets", *rows))


def keep(folder, *rows):
    write_csv(pd.DataFrame(rows, columns=list(COLUMNS)), folder / "fixes.csv")


def test_proposals_say_what_the_log_itself_tells(fixable, tmp_path):
    file = tmp_path / "proposed.csv"
    assert propose_fixes(examine(fixable), file) == 5
    found = read_csv(file, [name for name in COLUMNS if name != "row"])
    cells = found[["row", "column", "was", "becomes"]].to_numpy().tolist()
    assert cells == [
        [6, "gear", "rgr", "rigger"],
        [7, "time_in", "09:00", "08:00"],
        [7, "time_out", "08:00", "09:00"],
        [8, "time_out", "", "09:30"],
        [10, "line_out", "", ""],  # only the boat's notes can tell
    ]


def test_corrections_are_applied_listed_and_undone(fixable, tmp_path):
    before = read_log(fixable)
    propose_fixes(examine(fixable), tmp_path / "proposed.csv")
    (fixable / "fixes.csv").write_bytes((tmp_path / "proposed.csv").read_bytes())
    after = read_log(fixable)
    assert len(after.sets) == len(before.sets) + 3
    assert after.set_aside["row"].tolist() == [10]  # nobody wrote into becomes
    told = after.changed.loc[after.changed["reason"].str.startswith("corrected by fixes.csv")]
    assert told[["row", "value"]].to_numpy().tolist() == [
        [6, "rgr"],
        [7, "09:00"],
        [7, "08:00"],
        [8, ""],
    ]
    assert "fixes.csv" in after.hashes
    assert not after.unread
    assert "corrected by fixes.csv" in examine(fixable).text
    (fixable / "fixes.csv").unlink()
    pd.testing.assert_frame_equal(read_log(fixable).sets, before.sets)


@pytest.mark.parametrize(
    ("fix", "why"),
    [
        (("sets", 6, "gear", "rig", "rigger", ""), "the cell says 'rgr' now"),
        (("sets", 60, "gear", "rgr", "rigger", ""), "no row on this line"),
        (("sets", 6, "gears", "rgr", "rigger", ""), "no column of this name"),
        (("set", 6, "gear", "rgr", "rigger", ""), "no table of this name"),
        (("sets", "six", "gear", "rgr", "rigger", ""), "no row on this line"),
        (("sets", 6, "line", "6", "7", ""), "no column of this name"),
    ],
)
def test_a_correction_that_does_not_fit_is_told_and_changes_nothing(fixable, fix, why):
    before = read_log(fixable)
    keep(fixable, fix)
    after = read_log(fixable)
    (told,) = after.changed.loc[after.changed["table"] == "fixes"].to_dict("records")
    assert why in told["reason"]
    assert told["row"] == 2
    pd.testing.assert_frame_equal(after.sets, before.sets)
    assert why in " ".join(examine(fixable).text.split())


def test_a_cell_may_be_emptied_and_a_formula_stays_text(fixable):
    keep(
        fixable,
        ("sets", 6, "gear", "rgr", "rigger", ""),
        ("sets", 6, "lead", "10", "(empty)", ""),
        ("sets", 6, "lure", "blue plug", "=1+1", ""),
    )
    (row,) = read_log(fixable).sets.query("rod == 'S2'").to_dict("records")
    assert (pd.isna(row["lead_m"]), row["lure"]) == (True, "=1+1")


def test_a_file_that_is_there_is_never_touched(tmp_path):
    mine = tmp_path / "fixes.csv"
    mine.write_text("mine")
    with pytest.raises(LogError, match="this file is there already"):
        write_fixes(pd.DataFrame(columns=list(COLUMNS)), mine)
    assert mine.read_text() == "mine"


def test_a_fixes_file_without_a_column_is_refused(fixable):
    (fixable / "fixes.csv").write_text("table,row,column,was\n")
    with pytest.raises(LogError, match=r"fixes\.csv.*becomes: this column is missing"):
        read_log(fixable)
