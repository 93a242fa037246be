"""Owns the tests of tables with a title above the header and sums below the rows."""

import pytest
import xlsxwriter

from analysis.log import read_log
from analysis.log.files.folder import named

TITLE = ["Log of the boat, season 2026", "times as on the wall, see the notes"]


def around(text, mark=","):
    """Put a title above a table, a blank row into it and sums below it."""
    head, *rows = text.replace(",", mark).splitlines()
    blank = mark * head.count(mark)
    total = mark.join(["Total", "12", *[""] * (head.count(mark) - 1)])
    return "\n".join([*TITLE, "", head, rows[0], blank, *rows[1:], total]) + "\n"


def columns_of(frame):
    return frame.drop(columns="line").astype(str).to_dict("list")


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_title_above_and_sums_below_are_told_and_change_nothing(tmp_path, season_files, mark):
    plain = read_log(season_files.write(tmp_path / "plain"))
    own = {name: around(text, mark) for name, text in season_files.TABLES.items()}
    log = read_log(season_files.write(tmp_path / "titled", **own))
    for name in season_files.TABLES:
        assert columns_of(getattr(log, name)) == columns_of(getattr(plain, name))
    rows = len(season_files.STRIKES.splitlines())
    assert "strikes.csv: its header is line 4; what stands above is not read" in log.notes
    sums = f"strikes.csv: line {rows + 5} sums up the rows above, and is not read"
    assert sums in log.notes


def test_a_row_of_headings_over_several_columns_is_no_header(tmp_path, season_files):
    plain = read_log(season_files.write(tmp_path / "plain"))
    folder = tmp_path / "book"
    folder.mkdir()
    (folder / "boat.toml").write_text(season_files.BOAT)
    with xlsxwriter.Workbook(str(folder / "season.xlsx")) as book:
        for name, text in season_files.TABLES.items():
            sheet = book.add_worksheet(name)
            sheet.merge_range(0, 0, 0, 1, "When and where")
            for at, row in enumerate(text.splitlines(), start=1):
                sheet.write_row(at, 0, row.split(","))
    log = read_log(folder)
    assert columns_of(log.sets) == columns_of(plain.sets)
    assert (
        "season.xlsx, sheet sets: its header is line 2; what stands above is not read" in log.notes
    )


def test_a_trip_that_is_called_total_is_a_trip(tmp_path, season_files):
    own = {name: text.replace("T1", "Total") for name, text in season_files.TABLES.items()}
    log = read_log(season_files.write(tmp_path / "log", **own))
    assert "Total" in log.trips["trip"].tolist()
    assert (log.sets["trip"] == "Total").any()


def test_a_large_table_with_a_title_is_read_as_one_without(tmp_path, season_files):
    head, *rows = season_files.READINGS.splitlines()
    more = [f"T1,{7 + n // 60:02d}:{n % 60:02d},2.1,water,61" for n in range(400)]
    text = "\n".join([head, *rows, *more]) + "\n"
    plain = read_log(season_files.write(tmp_path / "plain", readings=text))
    log = read_log(season_files.write(tmp_path / "titled", readings=around(text)))
    assert columns_of(log.readings) == columns_of(plain.readings)


def test_a_folder_told_as_a_dot_has_a_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert named(tmp_path.__class__(".")).name == tmp_path.name
