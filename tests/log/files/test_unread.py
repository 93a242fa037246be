"""Owns the tests of what lies beside the tables: named, never passed over."""

import pytest


@pytest.mark.parametrize(
    ("name", "why", "remedy"),
    [
        ("sets.xlsx", "sets.csv is read instead", "bring rows that are only here into sets.csv"),
        ("Sets - Sheet1.csv", "sets.csv is read instead", "bring rows that are only here"),
        ("Sets.csv", "sets.csv is read instead", "bring rows that are only here"),
        ("a.gpx", "it looks like a track, and tracks lie in the folder tracks", "move it into"),
        ("a.kml", "it looks like a track in a form that is not read", "export it as GPX 1.1"),
        ("cast (1).csv", "casts.csv is read instead", "bring rows that are only here"),
        ("diary.txt", "no table has this name", "if it holds part of the log"),
    ],
)
def test_a_file_that_is_not_read_is_named(tmp_path, read, season_files, name, why, remedy):
    folder = season_files.write(tmp_path / "Dunlin-2026")
    (folder / name).write_text("trip,rod\n")
    (found,) = read().unread
    assert (found.name, found.why) == (name, why)
    assert found.remedy.startswith(remedy)


def test_a_table_under_another_name_is_told_its_right_one(tmp_path, read, season_files):
    folder = season_files.write(tmp_path / "Dunlin-2026")
    (folder / "Soaks - Sheet1.csv").write_text("gear\n")
    (found,) = read(soaks=None).unread
    assert found.why == "it may be the table soaks, which is read from soaks.csv only"
    assert found.remedy == "save it as soaks.csv"


def test_what_systems_leave_behind_is_passed_over(tmp_path, read, season_files):
    folder = season_files.write(tmp_path / "Dunlin-2026")
    for name in (".DS_Store", "~$sets.xlsx", "Thumbs.db", ".~lock.sets.csv#"):
        (folder / name).write_text("")
    assert read().unread == ()
