"""Owns the tests of the tour: a log that grows, and a season told without some of its tables."""

import shutil

import pandas as pd
import pytest

from analysis.errors import UsageError
from analysis.log import read_log
from analysis.places import DEMO
from analysis.show.workbook.rows import Bought
from analysis.show.workbook.tour_words import bought
from analysis.units import Units
from analysis.workbook import example, open_season
from analysis.workbook.tour import FirstLog, what_it_bought

OPTIONAL = ("sets", "readings", "casts", "soaks")


def test_a_table_left_out_is_as_if_its_file_were_not_there(tmp_path) -> None:
    """Against the same folder without the files: nothing of them is told in any table."""
    out = ("casts", "soaks", "readings")
    folder = tmp_path / "dunlin-2026"
    shutil.copytree(DEMO / "dunlin-2026", folder)
    for name in out:
        (folder / f"{name}.csv").unlink()
    without, removed = read_log(DEMO / "dunlin-2026", out), read_log(folder)
    for name in ("trips", "stretches", "strikes", "set_aside", "changed", "rows", "lost_rows"):
        pd.testing.assert_frame_equal(getattr(without, name), getattr(removed, name))
    assert without.readings is without.casts is without.soaks is None
    assert without.notes == removed.notes
    assert without.unread == removed.unread == ()
    assert without.hashes == removed.hashes


def test_sets_in_short_form_are_left_out_with_the_sets(tmp_path, short_form_files) -> None:
    short = short_form_files.shorten(DEMO / "petrel-2025", tmp_path / "short", longest_gap_min=1)
    assert open_season(short, leave_out=OPTIONAL).table.empty


def test_only_tables_that_a_season_can_do_without_are_left_out() -> None:
    heron = example()
    with pytest.raises(UsageError, match="leave_out cannot be 'cast'; did you mean 'casts'"):
        open_season(heron, leave_out="cast")
    with pytest.raises(UsageError, match="leave_out cannot be 'strikes'"):
        open_season(heron, leave_out=["casts", "strikes"])


def test_what_was_bought_is_what_the_season_itself_tells(asked) -> None:
    table = what_it_bought(all_of_it=asked)
    (row,) = [dict(zip(table.columns, texts, strict=True)) for texts in table.rows]
    placed = int(asked.table["strikes"].sum())
    assert row["Strikes that count"] == f"{placed} of {len(asked.strikes)}"
    verdicts = asked.bands.groupby("period")["verdict"].first()
    assert row["Season"] == verdicts["season"]
    for verdict, count in verdicts.drop("season").value_counts().items():
        assert f"{count} {verdict}" in row["Months"]
    middle_ft = asked.table["depth_m"].median() / 0.3048
    assert float(row["A usual lure's depth"].split()[0]) == pytest.approx(middle_ft, abs=8)


def test_what_nobody_measured_is_told_as_unknown() -> None:
    nan = float("nan")
    feet = Units(
        length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
    )
    none = {"depth_m": nan, "depth_sd_m": nan, "temp_c": nan, "temp_sd_c": nan}
    step = Bought(
        tables="strikes",
        strikes=9,
        placed=0,
        rod_hours=0.0,
        verdict="open",
        months=(),
        says="",
        **none,
    )
    (row,) = bought([step], feet).rows
    assert row == ("strikes", "0 of 9", "0", "unknown", "unknown", "open", "none", "")


def test_the_first_log_is_written_file_by_file_and_reviewed() -> None:
    first = FirstLog()
    with pytest.raises(UsageError, match=r"has no file 'trip\.csv'; did you mean 'trips"):
        first.write("trip.csv")
    for name in ("boat.toml", "trips.csv", "strikes.csv"):
        assert name in first.write(name).html
    assert "no trip has set records" in first.check().html
    first.write("sets.csv")
    assert "It can be analysed." in first.check().html
    assert {path.name for path in first.folder.iterdir()} == {
        path.name for path in example().iterdir()
    }
