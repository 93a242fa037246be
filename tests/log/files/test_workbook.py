"""Owns the tests of a log kept in a workbook beside boat.toml.

The workbooks are written by openpyxl and odfpy, which know nothing of the reader.
"""

import csv
import zipfile
from datetime import date, datetime, time

import odf.opendocument
import openpyxl
import pandas as pd
import pytest
import xlsxwriter
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from analysis.errors import LogError
from analysis.log import read_log
from analysis.log.files.book_size import widest_sheet


def rows_of(text):
    return [row for row in csv.reader(text.splitlines()) if row]


def cell(text, *, typed):
    """Return what a spreadsheet makes of a typed text: numbers, dates and times of its own."""
    if not typed:
        return text
    for make in (float, time.fromisoformat, date.fromisoformat, datetime.fromisoformat):
        try:
            return make(text)
        except ValueError:
            continue
    return text


def write_xlsx(file, tables, *, typed=True):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, text in tables.items():
        sheet = book.create_sheet(name.capitalize())
        for row in rows_of(text):
            sheet.append([cell(part, typed=typed) if part else None for part in row])
    book.save(file)


def write_ods(file, tables):
    book = OpenDocumentSpreadsheet()
    for name, text in tables.items():
        sheet = Table(name=name)
        for row in rows_of(text):
            line = TableRow()
            for part in row:
                value = cell(part, typed=True)
                kinds = {float: ("float", "value"), time: ("time", "timevalue")}
                kind, key = kinds.get(type(value), ("string", "stringvalue"))
                shown = value.strftime("PT%HH%MM00S") if kind == "time" else part
                made = TableCell(valuetype=kind, **{key: shown})
                made.addElement(P(text=part))
                line.addElement(made)
            sheet.addElement(line)
        book.spreadsheet.addElement(sheet)
    book.save(str(file))


@pytest.fixture
def folder(tmp_path, season_files):
    return season_files.write(tmp_path / "book", **dict.fromkeys(season_files.TABLES))


@pytest.mark.parametrize("kind", ["typed xlsx", "text xlsx", "ods"])
def test_a_workbook_reads_as_the_csv_files_do(tmp_path, folder, season_files, kind):
    if kind == "ods":
        write_ods(folder / "season.ods", season_files.TABLES)
    else:
        write_xlsx(folder / "My season.xlsx", season_files.TABLES, typed=kind == "typed xlsx")
    book, files = read_log(folder), read_log(season_files.write(tmp_path / "files"))
    for name in (*season_files.TABLES, "stretches"):
        pd.testing.assert_frame_equal(getattr(book, name), getattr(files, name))
    assert book.set_aside.empty
    assert set(book.hashes) == {"boat.toml", next(p.name for p in folder.glob("*season.*s*"))}


def test_a_sheet_never_filled_is_no_table_and_the_example_row_is_never_read(folder, season_files):
    trips = season_files.TRIPS.replace("T1,", "EXAMPLE,2026-01-01,05:00,06:00,,,\nT1,", 1)
    header = season_files.CASTS.splitlines()[0] + "\n"
    example = "Example,06:00,0,50\n"
    sheets = season_files.TABLES | {"trips": trips, "casts": header + example}
    write_xlsx(folder / "season.xlsx", sheets)
    log = read_log(folder)
    assert log.trips["trip"].tolist() == ["T1", "T2"]
    assert log.trips["line"].tolist() == [3, 4]
    assert log.set_aside.empty
    assert log.casts is None


def test_a_bad_cell_is_set_aside_with_its_row_of_the_sheet(folder, season_files):
    sets = season_files.SETS + "T1,P9,port,diver,1,far,,,,06:00,07:00,\n"
    write_xlsx(folder / "season.xlsx", season_files.TABLES | {"sets": sets})
    aside = read_log(folder).set_aside
    assert aside[["table", "row", "column", "value"]].to_numpy().tolist() == [
        ["sets", 6, "line_out", "far"]
    ]


@pytest.mark.parametrize(
    ("tables", "message"),
    [
        (("trips",), r"no strikes\.csv, and season\.xlsx has no sheet strikes\. Remedy: name the"),
        ((), r"no trips\.csv, and season\.xlsx has no sheet trips"),
    ],
)
def test_a_workbook_without_a_sheet_says_which(folder, season_files, tables, message):
    kept = {name: season_files.TABLES[name] for name in tables} or {"else": "a,b\n"}
    write_xlsx(folder / "season.xlsx", kept)
    with pytest.raises(LogError, match=message):
        read_log(folder)


def test_a_missing_column_names_the_sheet(folder, season_files):
    tables = season_files.TABLES | {"strikes": "trip,rod\nT1,P1\n"}
    write_xlsx(folder / "season.xlsx", tables)
    with pytest.raises(LogError, match=r"season\.xlsx, sheet strikes, line 1, column time"):
        read_log(folder)


def test_two_workbooks_and_a_table_that_stands_twice_are_refused(folder, season_files):
    write_xlsx(folder / "season.xlsx", season_files.TABLES)
    (folder / "casts.csv").write_text(season_files.CASTS)
    with pytest.raises(LogError, match=r"casts stands in casts\.csv and in season\.xlsx\. Rem"):
        read_log(folder)
    write_xlsx(folder / "other.xlsx", season_files.TABLES)
    with pytest.raises(LogError, match=r"two workbooks lie here: other\.xlsx, season\.xlsx"):
        read_log(folder)


def test_a_csv_may_stand_beside_the_sheets(folder, season_files):
    sheets = {name: text for name, text in season_files.TABLES.items() if name != "readings"}
    write_xlsx(folder / "season.xlsx", sheets)
    (folder / "readings.csv").write_text(season_files.READINGS)
    assert len(read_log(folder).readings) == 4


@pytest.mark.parametrize("content", [b"PK", b"", b"no workbook at all"])
def test_what_is_no_workbook_is_refused(folder, content):
    (folder / "season.xlsx").write_bytes(content)
    with pytest.raises(LogError, match=r"season\.xlsx: this file cannot be read as a workbook"):
        read_log(folder)


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is(folder):
    with zipfile.ZipFile(folder / "season.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        for number in range(4):
            packed.writestr(f"{number}.xml", bytes(100_000_000))
    with pytest.raises(LogError, match=r"unpacks to 400 MB, and no season is as large"):
        read_log(folder)


def test_a_cell_far_from_the_others_is_refused_before_room_is_made_for_all_between(folder):
    with xlsxwriter.Workbook(str(folder / "season.xlsx")) as book:
        sheet = book.add_worksheet("trips")
        sheet.write(0, 0, "trip")
        sheet.write(1_048_575, 16_383, "x")
    with pytest.raises(LogError, match=r"season\.xlsx: a sheet of this workbook reaches too far"):
        read_log(folder)


def _ods_row(times, columns, cell):
    return (
        f'<table:table-row table:number-rows-repeated="{times}"><table:table-cell {cell} '
        f'table:number-columns-repeated="{columns}"/></table:table-row>'
    )


def test_repeated_cells_of_an_ods_count_as_often_as_they_stand_there_unless_blank(tmp_path):
    filled = 'office:value-type="float" office:value="1"'
    for rows, spanned in (
        (_ods_row(90_000, 1000, filled), 90_000_000),
        (_ods_row(2, 3, filled) + _ods_row(1_000_000, 16_384, ""), 6),
        (_ods_row(1_000_000, 16_000, "") + _ods_row(1, 2, filled), 2_000_002),
    ):
        with zipfile.ZipFile(tmp_path / "season.ods", "w") as packed:
            packed.writestr("content.xml", f'<table:table table:name="trips">{rows}</table:table>')
        with zipfile.ZipFile(tmp_path / "season.ods") as packed:
            assert widest_sheet(packed) == spanned


def test_a_formula_of_a_workbook_is_read_as_its_value(folder, season_files):
    """The line-out and the end of the first set are worked out by the sheet."""
    with xlsxwriter.Workbook(str(folder / "season.xlsx")) as book:
        for name, text in season_files.TABLES.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows_of(text)):
                sheet.write_row(at, 0, row)
            if name == "sets":
                sheet.write_formula(1, 5, "=40*2", None, 80)
                sheet.write_formula(
                    1, 8, '=HYPERLINK("http://x.invalid","silver spoon")', None, "silver spoon"
                )
    log = read_log(folder)
    first = log.sets.loc[log.sets["line"] == 2].iloc[0]
    assert first["line_out_m"] == pytest.approx(80 * 0.3048)
    assert first["lure"] == "silver spoon"
    assert log.set_aside.empty


def test_a_formula_of_an_ods_is_read_as_its_value(folder, season_files):
    write_ods(folder / "plain.ods", season_files.TABLES)
    book = odf.opendocument.load(str(folder / "plain.ods"))
    sets = next(t for t in book.getElementsByType(Table) if t.getAttribute("name") == "sets")
    cell = sets.getElementsByType(TableRow)[1].getElementsByType(TableCell)[5]
    assert float(cell.getAttribute("value")) == 80.0
    cell.setAttribute("formula", "of:=40*2")
    (folder / "plain.ods").unlink()
    book.save(str(folder / "season.ods"))
    log = read_log(folder)
    assert log.sets.loc[log.sets["line"] == 2, "line_out_m"].tolist() == pytest.approx(
        [80 * 0.3048]
    )
