"""Owns the tests of a season folder as a whole."""

import hashlib

import pandas as pd
import pytest

from analysis.errors import LogError
from analysis.log import read_log
from analysis.log.schema import blank_table
from analysis.names import FRAMES

USUAL = ("trips", "sets", "strikes", "readings", "casts", "soaks")


def test_usual_season_is_read_whole(read):
    log = read()
    assert log.set_aside.empty
    assert log.changed.empty
    assert log.rows.to_numpy().tolist() == [
        *(["trips", 2, 2, 0], ["sets", 4, 4, 0], ["strikes", 3, 3, 0], ["readings", 4, 4, 0]),
        *(["casts", 4, 4, 0], ["soaks", 3, 3, 0]),
    ]
    assert log.boat.name == "Dunlin"
    assert log.year == 2026
    assert log.trips_with_sets == {"T1", "T2"}


def test_clean_values_are_si_and_utc(read):
    log = read()
    first = log.sets.iloc[0]
    assert first["line_out_m"] == pytest.approx(24.384)
    assert first["time_in"] == pd.Timestamp("2026-07-04 04:00", tz="UTC")
    assert log.trips["end"].tolist()[1] == pd.Timestamp("2026-07-11 00:00", tz="UTC")
    assert log.strikes["time"].max() == pd.Timestamp("2026-07-10 22:30", tz="UTC")
    assert log.readings["speed_mps"].iloc[0] == pytest.approx(2.4 * 0.44704)
    assert log.casts["temp_c"].tolist() == pytest.approx([140 / 9, 120 / 9, 65 / 9, 50 / 9])
    assert log.strikes["length_m"].iloc[0] == pytest.approx(0.6096)


@pytest.mark.parametrize("name", USUAL)
def test_columns_and_types_are_those_of_the_registry_with_or_without_rows(read, season_files, name):
    frame = getattr(read(), name)
    assert tuple(frame.columns) == FRAMES[name]
    kinds = blank_table(name).dtypes.astype(str)
    if name == "sets":  # their text is held once a word
        kinds = kinds.replace("str", "category")
    assert (frame.dtypes.astype(str) == kinds).all()
    if name != "trips":
        header = season_files.TABLES[name].splitlines()[0] + "\n"
        bare = getattr(read(**{name: header}), name)
        assert len(bare) == 0
        assert (bare.dtypes.astype(str) == frame.dtypes.astype(str)).all()


def test_only_boat_trips_and_strikes_are_required(read):
    log = read(sets=None, readings=None, casts=None, soaks=None)
    assert (log.sets, log.readings, log.casts, log.soaks) == (None, None, None, None)
    assert log.trips_with_sets == frozenset()


def test_absent_columns_are_noted_where_they_matter(read):
    few = "trip,time,rod\nT1,07:00,P1\n"
    own = "strikes has no column species, outcome, length, weight, note"
    assert own in read(strikes=few).notes
    bare = read(strikes=few, sets=None).notes
    assert any("gear, setting, line_out" in note for note in bare)
    assert own not in bare


def test_hashes_are_of_the_files_as_they_are(read, season_files):
    log = read()
    assert set(log.hashes) == {"boat.toml", *(f"{name}.csv" for name in season_files.TABLES)}
    for name, digest in log.hashes.items():
        assert digest == hashlib.sha256((log.folder / name).read_bytes()).hexdigest()


def test_trip_ids_are_text_even_where_they_look_like_numbers(read, season_files):
    tables = {
        name: text.replace("T1,", "007,").replace("T2,", "1e3,")
        for name, text in season_files.TABLES.items()
    }
    assert read(**tables).trips["trip"].tolist() == ["007", "1e3"]


def test_one_trip_and_one_strike_are_enough(read, season_files):
    log = read(
        trips="\n".join(season_files.TRIPS.splitlines()[:2]) + "\n",
        sets="\n".join(season_files.SETS.splitlines()[:4]) + "\n",
        strikes="\n".join(season_files.STRIKES.splitlines()[:2]) + "\n",
        readings=None,
    )
    assert (len(log.trips), len(log.strikes)) == (1, 1)


def test_no_usable_trip_is_an_error_with_the_first_reason(read):
    message = (
        r"trips\.csv, line 2, column start: no trip of 1 in it can be used; the first: this is "
        r"not a time \(found 'dawn'\)\. Remedy: write local time as"
    )
    with pytest.raises(LogError, match=message):
        read(trips="trip,date,start,end\nT1,2026-07-04,dawn,12:00\n")


def test_missing_folder(tmp_path):
    with pytest.raises(LogError, match=r"nowhere: this is not a folder\. Remedy: name a season"):
        read_log(tmp_path / "nowhere")


def test_empty_folder(tmp_path):
    with pytest.raises(LogError, match=r"this season folder is empty\. Remedy: put boat\.toml"):
        read_log(tmp_path)


def test_folder_without_boat(tmp_path, season_files):
    season_files.write(tmp_path)
    (tmp_path / "boat.toml").unlink()
    with pytest.raises(LogError, match=r"this season folder has no boat\.toml\. Remedy: put the"):
        read_log(tmp_path)


@pytest.mark.parametrize("table", ["trips", "strikes"])
def test_folder_without_a_required_table(read, table):
    with pytest.raises(LogError, match=rf"this season folder has no {table}\.csv\. Remedy: add"):
        read(**{table: None})


def test_file_names_are_matched_without_regard_to_case(tmp_path, season_files):
    folder = season_files.write(tmp_path)
    (folder / "sets.csv").rename(folder / "Sets.CSV")
    log = read_log(folder)
    assert len(log.sets) == 4
    assert "Sets.CSV" in log.hashes
