"""Owns what must hold of a log in any habit: no error but ours, no row lost, one log one answer."""

import csv
import io
import tempfile
from pathlib import Path

import openpyxl
import pandas as pd
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from analysis.effort import count_effort
from analysis.errors import LogError
from analysis.log import read_log

# each example reads files: shrinking a failure would take minutes
ROOM = settings(max_examples=15, phases=[Phase.explicit, Phase.reuse, Phase.generate])
FOREIGN = st.sampled_from(
    ["5:20 AM", "0520", "05.20", "5h20", "17 Uhr", "13.07.26", "4 July 2026", "46207", "46207.25",
     "120 ft", "8ft", "7 lb 8 oz", "1.250,5", "1,250.5", "5' 6\"", "Landed!", "stbd", "Divr",
     "p-1", "--", "#", "AM", "0.2292", "٣", "½"]
)  # fmt: skip
# of these one cell may ask a question that the whole log waits for
ASKING = st.sampled_from(["04/07/2026", "4/7", "26-07-04", "30 m", "2,4 kn", "80 cm"])
ANY = st.one_of(FOREIGN, ASKING, st.text(st.characters(exclude_categories=["Cs"]), max_size=8))


def csv_of(rows, delimiter=","):
    out = io.StringIO(newline="")
    # a writer that ends rows by "\n" leaves a carriage return bare, and that ends a row, too
    bare = any("\r" in cell for row in rows for cell in row)
    quoting = csv.QUOTE_ALL if bare else csv.QUOTE_MINIMAL
    csv.writer(out, delimiter=delimiter, lineterminator="\n", quoting=quoting).writerows(rows)
    return out.getvalue()


@ROOM
@given(data=st.data())
def test_no_error_but_ours_and_no_row_lost(season_files, data):
    delimiter = data.draw(st.sampled_from([",", ";", "\t", "|"]))
    encoding = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]))
    asking = data.draw(st.booleans())
    junk = ANY if asking else FOREIGN
    tables, written = {}, {}
    for name in ("sets", "strikes", "readings", "casts"):
        header, *rows = csv.reader(season_files.TABLES[name].splitlines())
        rows = [[c if data.draw(st.integers(0, 5)) else data.draw(junk) for c in r] for r in rows]
        # a blank row is no row, and a first cell may call a row an example
        rows = [["T1", *row[1:]] if name != "sets" else ["T2", *row[1:]] for row in rows]
        tables[name] = csv_of([header, *rows], delimiter).encode(encoding, errors="replace")
        written[name] = len(rows)
    with tempfile.TemporaryDirectory() as folder:
        season_files.write(Path(folder), **tables)
        try:
            log = read_log(Path(folder))
        except LogError:
            if asking:
                return
            raise
    counted = log.rows.set_index("table")
    assert (counted["read"] == counted["kept"] + counted["set_aside"]).all()
    for name, number in written.items():
        assert counted.loc[name, "read"] == number


def forms(folder, season_files):
    """Write one log in four forms: ours, semicolons of another habit, a workbook, one table."""
    yield season_files.write(folder / "ours")
    boat, tables = season_files.BOAT, season_files.TABLES
    other = {n: list(csv.reader(t.splitlines())) for n, t in tables.items()}
    for rows in other.values():
        for at, heading in enumerate(rows[0]):
            for row in rows[1:]:
                row[at] = in_habit(heading, row[at])
        rows[0] = [heading.replace("_", " ").upper() for heading in rows[0]]
    made = {n: csv_of(rows, ";").encode("cp1252") for n, rows in other.items()}
    yield season_files.write(folder / "habit", boat=boat, **made)
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in other.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    where = season_files.write(folder / "book", boat=boat, **dict.fromkeys(tables))
    book.save(where / "season.xlsx")
    yield where
    one = '[tables]\nall = "all.csv"\nkind = "kind"\n'
    where = season_files.write(folder / "one", boat=boat + one, **dict.fromkeys(tables))
    whole = [pd.DataFrame(rows[1:], columns=rows[0]).assign(kind=n) for n, rows in other.items()]
    pd.concat(whole).fillna("").to_csv(where / "all.csv", index=False, sep="|", encoding="utf-16")
    yield where


UNIT = {"line_out": " ft", "lead": "ft", "leader_length": "'", "speed": " mph",
        "surface_temp": "°F", "temp": " F", "length": " in", "weight": " lb"}  # fmt: skip


def in_habit(heading, cell):
    """Write a cell of the usual season as another boat would."""
    if not cell:
        return cell
    if heading in UNIT:
        return cell.replace(".", ",") + UNIT[heading]
    if heading == "date":
        year, month, day = cell.split("-")
        return f"{int(day)}.{int(month)}.{year}" if int(day) > 12 else f"{day} July {year}"
    if ":" in cell and heading not in ("note", "lure"):
        day, _, clock = cell.rpartition(" ")
        hour, minute = map(int, clock.split(":"))
        half = f"{hour % 12 or 12}:{minute:02d} {'PM' if hour >= 12 else 'AM'}"
        return f"{day} {half}".strip()
    return {"port": "P", "starboard": "Stbd", "landed": "Landed!"}.get(cell, cell)


def test_one_log_in_four_forms_gives_the_same_exposures(tmp_path, season_files):
    found = [count_effort(read_log(folder)) for folder in forms(tmp_path, season_files)]
    usual = found[0]
    assert usual.slices["hours"].sum() > 10
    for other in found[1:]:
        pd.testing.assert_frame_equal(
            other.slices.drop(columns="set"), usual.slices.drop(columns="set"), rtol=1e-12
        )
        assert len(other.strikes) == len(usual.strikes)
        assert other.set_aside.empty == usual.set_aside.empty


@ROOM
@given(data=st.data())
def test_order_of_rows_and_columns_changes_nothing_in_any_habit(season_files, data):
    tables = {n: list(csv.reader(t.splitlines())) for n, t in season_files.TABLES.items()}
    first, second = {}, {}
    for name, (header, *rows) in tables.items():
        rows = [[in_habit(h, c) for h, c in zip(header, r, strict=True)] for r in rows]
        order = data.draw(st.permutations(range(len(header))))
        turned = [[row[i] for i in order] for row in data.draw(st.permutations(rows))]
        first[name] = csv_of([header, *rows])
        second[name] = csv_of([[header[i] for i in order], *turned])
    with tempfile.TemporaryDirectory() as folder:
        one = read_log(season_files.write(Path(folder) / "a", **first))
        other = read_log(season_files.write(Path(folder) / "b", **second))
    for name in season_files.TABLES:
        left, right = getattr(one, name), getattr(other, name)
        columns = [column for column in left if column != "line"]
        pd.testing.assert_frame_equal(left[columns], right[columns])
    pd.testing.assert_frame_equal(one.rows, other.rows)
