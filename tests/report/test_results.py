"""Owns the tests of the result files: written whole, read back as they were."""

import json
import re
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pandas as pd
import pyarrow.parquet as pq
import pytest

from analysis.csv_files import write_csv
from analysis.render.staging import WriteError
from analysis.report import results
from analysis.report.results import ResultsError, read_results, write_results
from analysis.result_schema import SchemaError


def test_what_is_written_is_read_back(made_up_season: SimpleNamespace, tmp_path: Path) -> None:
    write_results(made_up_season, tmp_path)
    back = read_results(tmp_path / "tables")
    assert set(back.tables) == set(made_up_season.tables)
    for name, frame in made_up_season.tables.items():
        found = back.tables[name]
        if "date" in frame:
            frame = frame.assign(date=frame["date"].dt.strftime("%Y-%m-%d"))
        if name != "exposure":  # a CSV holds text
            frame = frame.astype(
                dict.fromkeys(frame.select_dtypes(["datetime", "datetimetz"]), str)
            )
        pd.testing.assert_frame_equal(found, frame, check_dtype=False)


def test_ids_that_look_like_numbers_and_words_that_look_like_gaps_stay_texts(
    made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    made_up_season.tables["trips"]["trip"] = ["007", "NA", "nan", "None", *["1e3"] * 56]
    write_results(made_up_season, tmp_path)
    trips = read_results(tmp_path / "tables").trips
    assert trips["trip"].tolist()[:5] == ["007", "NA", "nan", "None", "1e3"]


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("bnads", "no result table 'bnads'; did you mean bands?"),
        ("gear_effect", "did you mean gear_effects?"),
        ("moon", "there are "),
    ],
)
def test_mistyped_table_is_no_empty_table(
    typed: str, answer: str, made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    write_results(made_up_season, tmp_path)
    back = read_results(tmp_path / "tables")
    with pytest.raises(AttributeError, match=re.escape(answer)):
        getattr(back, typed)


def test_summary_is_plain_json(made_up_season: SimpleNamespace, tmp_path: Path) -> None:
    made_up_season.summary["p_named"] = float("nan")
    made_up_season.summary["strikes"] = made_up_season.tables["trips"]["strikes"].sum()
    write_results(made_up_season, tmp_path)
    text = (tmp_path / "tables" / "summary.json").read_text(encoding="utf-8")
    assert "NaN" not in text
    summary = json.loads(text)
    assert summary["p_named"] is None
    assert summary["strikes"] == int(made_up_season.tables["trips"]["strikes"].sum())


def test_what_no_schema_knows_is_not_written(
    made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    made_up_season.tables["bands"]["rate_of_hooks"] = 1.0
    with pytest.raises(SchemaError, match=r"'bands': .*does not know its column rate_of_hooks"):
        write_results(made_up_season, tmp_path)
    del made_up_season.tables["bands"]["rate_of_hooks"]
    made_up_season.tables["moons"] = pd.DataFrame({"trip": ["1"]})
    with pytest.raises(SchemaError, match=r"'moons' is not in"):
        write_results(made_up_season, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_columns_are_told_beside_the_tables(
    made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    write_results(made_up_season, tmp_path)
    folder = tmp_path / "tables"
    told = json.loads((folder / "columns.json").read_text(encoding="utf-8"))
    assert told.keys() == made_up_season.tables.keys()
    for name, frame in made_up_season.tables.items():
        assert told[name]["columns"].keys() == set(frame.columns)
    assert told["bands"]["columns"]["band_low_m"]["unit"] == "m"
    schema = pq.read_schema(folder / "exposure.parquet")
    hours = schema.field("hours").metadata
    assert hours == {b"unit": b"h", b"meaning": b"rod-hours of a slice or set"}
    assert str(read_results(folder).exposure["start"].dt.tz) == "UTC"


def test_table_of_an_older_result_does_not_outlive_it(
    made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    write_results(made_up_season, tmp_path)
    own = tmp_path / "tables" / "my_notes.csv"
    own.write_text("the captain's own file\n")
    del made_up_season.tables["profile"]
    write_results(made_up_season, tmp_path)
    assert not (tmp_path / "tables" / "profile.csv").exists()
    assert (tmp_path / "tables" / "bands.csv").exists()
    assert own.exists()
    assert read_results(tmp_path / "tables").profile.empty


def test_a_typed_formula_runs_in_no_csv_and_comes_back_as_typed(
    made_up_season: SimpleNamespace, tmp_path: Path
) -> None:
    typed = "=HYPERLINK(0) – 'x'"
    made_up_season.tables["trips"].loc[0, "trip"] = typed
    write_results(made_up_season, tmp_path)
    for file in (tmp_path / "tables").glob("*.csv"):
        assert file.read_bytes().startswith(b"\xef\xbb\xbf")
    assert f"'{typed}" in (tmp_path / "tables" / "trips.csv").read_text(encoding="utf-8-sig")
    assert read_results(tmp_path / "tables").trips["trip"][0] == typed


def test_failure_half_way_leaves_the_older_result(
    made_up_season: SimpleNamespace,
    made_up: ModuleType,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    write_results(made_up_season, tmp_path)
    before = {path.name: path.read_bytes() for path in (tmp_path / "tables").iterdir()}
    broken = made_up.season_tables()
    broken["bands"]["rate"] = 99.0

    def write(frame: pd.DataFrame, file: Path) -> None:
        if frame is broken["weeks"]:
            raise OSError(28, "No space left on device")
        write_csv(frame, file)

    monkeypatch.setattr(results, "write_csv", write)
    with pytest.raises(WriteError, match="no space left on device"):
        write_results(SimpleNamespace(tables=broken, summary=made_up_season.summary), tmp_path)
    assert {path.name: path.read_bytes() for path in (tmp_path / "tables").iterdir()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["tables"]


def test_absent_and_broken_results_say_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(ResultsError, match=r"no results here.*run `rodhours review` first"):
        read_results(tmp_path)
    (tmp_path / "summary.json").write_text("{")
    with pytest.raises(ResultsError, match=r"not a summary.*run `rodhours review` again"):
        read_results(tmp_path)
