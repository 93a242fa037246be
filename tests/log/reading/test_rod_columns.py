"""Owns the tests of tables with one column a rod: every filled cell is read, kept or set aside."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_files import PLAIN_BOAT

from analysis.effort import count_effort
from analysis.effort.found import look
from analysis.effort.in_doubt import strikes_in_doubt
from analysis.errors import LogError
from analysis.log.boat import read_boat
from analysis.log.files.folder import read_tables, season_files
from analysis.log.files.words import plain
from analysis.log.read import read_log
from analysis.log.reading.rod_columns import unfold

GRID = """
[wide.changes]
rods = ["P1", "P2", "Port rigger", "S1"]
cell = '(?P<line_out>[0-9.]+( ?ft)?)(/(?P<setting>[0-9.]+))?( (?P<lure>.+))?'
marks = { x = "strike", kept = "landed", up = "out", down = "in", "-" = "nothing" }
[wide.changes.towed]
P1 = { gear = "diver", setting = 2, side = "port" }
P2 = { gear = "diver", setting = 3 }
"Port rigger" = { gear = "rigger" }
S1 = { gear = "diver", setting = 2.5 }
"""
TRIPS = "trip,date,start,end\nA,2026-06-14,05:40,11:30\nB,2026-06-15,05:30,11:45\n"
ROWS = """trip,time,P1,P2,Port rigger,S1,note
A,05:40,120,150,60,120/1 blue spoon,all down
A,07:05,,X,,,
A,08:20,140 ft,-,,kept,
A,10:30,up,,70,,
A,11:00,down,12o,,,
B,05:30,130,160,60,130,
B,09:00,,,,,coffee
B,09:15,x,,,9999,
"""


def write(folder, toml=PLAIN_BOAT + GRID, **tables):
    folder.mkdir(exist_ok=True)
    (folder / "boat.toml").write_text(toml)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


@pytest.fixture
def grid(tmp_path):
    return read_log(write(tmp_path / "log", trips=TRIPS, changes=ROWS))


def test_every_filled_cell_is_a_row_kept_or_set_aside(grid):
    rows = grid.rows.set_index("table")
    filled = sum(bool(c) for line in ROWS.splitlines()[1:] for c in line.split(",")[2:6])
    strikes, silent = 3, 1
    assert rows.loc["changes", "read"] == filled - strikes - silent
    assert rows.loc["strikes", ["read", "kept", "set_aside"]].tolist() == [3, 3, 0]
    assert (rows["read"] == rows["kept"] + rows["set_aside"]).all()
    note = next(note for note in grid.notes if "columns of rods" in note)
    assert (
        "hold 14 rows of changes, 3 strikes and 1 mark of nothing; 1 row with nothing in them"
    ) in note


def test_what_is_set_aside_is_named_by_its_row_and_heading(grid):
    told = grid.set_aside[["table", "row", "column", "value"]].to_numpy().tolist()
    assert told == [["changes", 6, "P2", "12o"], ["changes", 9, "S1", "9999"]]
    assert "[wide.changes.marks]" in grid.set_aside["remedy"][0]
    lost = grid.lost_rows[["table", "line", "rod"]].to_numpy().tolist()
    assert lost == [["changes", 6, "P2"], ["changes", 9, "S1"]]


def test_a_cell_under_a_rod_is_corrected_as_any_other(tmp_path):
    folder = write(tmp_path / "log", trips=TRIPS, changes=ROWS)
    fixes = "table,row,column,was,becomes,why\nchanges,6,P2,12o,120,slipped\n"
    (folder / "fixes.csv").write_text(fixes)
    log = read_log(folder)
    assert log.set_aside["row"].tolist() == [9]
    assert log.changed.loc[log.changed["column"] == "P2", "value"].tolist() == ["12o"]


def test_sets_follow_from_the_cells_and_from_what_a_rod_tows(grid):
    sets = grid.stretches.assign(
        feet=(grid.stretches["line_out_m"] / 0.3048).round(),
        out=grid.stretches["time_out"].dt.strftime("%d %H:%M"),
    )
    mine = sets.loc[(sets["trip"] == "A"), ["rod", "gear", "setting", "feet", "out"]]
    by_rod = {
        rod: rows.drop(columns="rod").to_numpy().tolist() for rod, rows in mine.groupby("rod")
    }
    # local time is two hours ahead; eight minutes after a strike the rod fishes again
    assert by_rod["P1"] == [
        ["diver", 2.0, 120.0, "14 06:20"],
        ["diver", 2.0, 140.0, "14 08:30"],
        ["diver", 2.0, 140.0, "14 09:30"],
    ]
    assert by_rod["S1"] == [
        ["diver", 1.0, 120.0, "14 06:20"],
        ["diver", 1.0, 120.0, "14 09:30"],
    ]
    # what P2 fished after a cell that cannot be read is not known
    assert [row[3] for row in by_rod["P2"]] == ["14 05:05", "14 09:00"]
    assert sorted(set(grid.stretches["rod"])) == ["P1", "P2", "Port rigger", "S1"]
    assert set(grid.stretches["source"]) == {"changes"}
    assert grid.strikes["outcome"].tolist() == ["", "landed", ""]


def test_the_same_log_with_one_row_a_change_has_the_same_sets(grid, tmp_path):
    changes = """trip,time,rod,what,gear,setting,line_out,lure,side
A,05:40,P1,,diver,2,120,,port
A,05:40,P2,,diver,3,150,,
A,05:40,PR,,rigger,,60,,
A,05:40,S1,,diver,1,120,blue spoon,
A,08:20,P1,,,,140,,
A,10:30,P1,out,,,,,
A,10:30,PR,,,,70,,
A,11:00,P1,in,,,,,
A,11:00,P2,,,,12o,,
B,05:30,P1,,diver,2,130,,port
B,05:30,P2,,diver,3,160,,
B,05:30,PR,,rigger,,60,,
B,05:30,S1,,diver,2.5,130,,
B,09:15,S1,,,,9999,,
"""
    strikes = "trip,time,rod,outcome\nA,07:05,P2,\nA,08:20,S1,landed\nB,09:15,P1,\n"
    other = read_log(
        write(tmp_path / "long", PLAIN_BOAT, trips=TRIPS, changes=changes, strikes=strikes)
    )
    columns = ["trip", "rod", "gear", "setting", "line_out_m", "time_in", "time_out", "ended_by"]
    long = plain(other.stretches[columns]).replace({"rod": {"PR": "Port rigger"}})
    order = ["trip", "rod", "time_in"]
    wide = plain(grid.stretches[columns]).sort_values(order, ignore_index=True)
    assert wide.equals(long.sort_values(order, ignore_index=True))


def test_a_row_a_trip_is_its_spread_and_counts_as_one(tmp_path):
    toml = (
        PLAIN_BOAT
        + """
[tables]
spreads = "trips.csv"
[columns.spreads]
trip = "spread"
[patterns]
trips.trip = '(?=(?P<trip>.*))(?P<spread>.*)'
[wide.spreads]
rods = { "Port 1" = "P1", "Stbd 1" = "S1" }
cell = '(?P<gear>[a-z]+) (?P<line_out>[0-9.]+)(/(?P<setting>[0-9.]+))?'
marks = { none = "nothing" }
"""
    )
    trips = """trip,date,start,end,Port 1,Stbd 1
A,2026-06-14,05:40,11:30,diver 120/2,rigger 60
B,2026-06-15,05:30,11:45,diver 130/2,none
"""
    strikes = "trip,time,rod\nA,07:05,P1\nB,08:20,P1\n"
    log = read_log(write(tmp_path / "log", toml, trips=trips, strikes=strikes))
    assert log.rows.set_index("table").loc["spreads"].tolist() == [3, 3, 0]
    assert log.trips["spread"].tolist() == ["A", "B"]
    assert set(log.stretches["source"]) == {"spread"}
    hours = (log.stretches["time_out"] - log.stretches["time_in"]).dt.total_seconds() / 3600
    # from P1 in to P1 out, S1 three minutes later and earlier, less eight minutes a strike
    assert hours.sum() == pytest.approx(350 / 60 + 344 / 60 + 375 / 60 - 2 * 8 / 60)


def test_two_strikes_on_one_line_in_doubt_count_as_two(tmp_path):
    rows = ROWS.replace("A,07:05,,X,,,", "A,07:05,x,X,,,")
    log = read_log(write(tmp_path / "log", trips=TRIPS, changes=rows))
    doubt = {"table": "strikes", "row": 3, "column": "time", "rod": "", "reason": "a clock"}
    reasons = strikes_in_doubt(log, count_effort(log), pd.DataFrame([doubt]))
    assert reasons.to_dict() == {3: "a clock"}
    assert len(reasons) == 2


def test_a_doubt_of_one_cell_is_of_its_rod_alone(tmp_path):
    """In ten trips of three rods P2 has one line-out of ten times the usual, and strikes there."""
    trips, rows = ["trip,date,start,end"], ["trip,time,P1,P2,Port rigger,S1,note"]
    for day in range(10, 20):
        out = 1500 if day == 15 else 150 + day % 3
        trips.append(f"{day},2026-06-{day},05:40,18:30")
        rows.append(f"{day},05:40,{120 + day % 4},{out},,{140 + day % 3},")
        rows.append(f"{day},{day - 4:02d}:{59 - 3 * (day - 10)},x,x,,x,")
    write(tmp_path, trips="\n".join(trips) + "\n", changes="\n".join(rows) + "\n")
    log = read_log(tmp_path)
    effort = count_effort(log)
    found = look(log, effort)
    (doubt,) = found.doubted.to_dict("records")
    assert [doubt[name] for name in ("table", "row", "rod", "value")] == [
        "changes",
        12,
        "P2",
        "1500",
    ]
    reasons = strikes_in_doubt(log, effort, found.doubted)
    assert reasons.index.tolist() == [13]
    (finding,) = [one for one in found.findings if one.doubted]
    of_p2 = effort.slices.loc[(effort.slices["trip"] == "15") & (effort.slices["rod"] == "P2")]
    # the rod's first stretch, and that which begins eight minutes after its strike
    assert finding.rod_hours == pytest.approx(of_p2["hours"].sum())
    assert finding.strikes == 1


def test_strikes_counted_without_a_time_are_set_aside_each(tmp_path):
    toml = PLAIN_BOAT + '[tables]\nstrikes = "trips.csv"\n[wide.strikes]\nrods = ["P1", "S1"]\n'
    trips = "trip,date,start,end,P1,S1\nA,2026-06-14,05:40,11:30,2,0\nB,2026-06-15,5:30,9:45,,1\n"
    log = read_log(write(tmp_path / "log", toml, trips=trips))
    assert log.rows.set_index("table").loc["strikes"].tolist() == [3, 0, 3]
    assert log.set_aside[["row", "column", "value"]].to_numpy().tolist() == [
        [2, "P1", "2"],
        [2, "P1", "2"],
        [3, "S1", "1"],
    ]
    assert log.set_aside["reason"].str.contains("has no time").all()


def test_strikes_marked_in_a_grid_of_times(tmp_path):
    toml = PLAIN_BOAT + '[wide.strikes]\nrods = ["P1", "S1"]\nmarks = { L = "lost" }\n'
    rows = "trip,time,P1,S1\nA,07:05,1,\nA,08:10,2,l\nA,09:10,,?\n"
    log = read_log(write(tmp_path / "log", toml, trips=TRIPS, strikes=rows))
    kept = log.strikes[["rod", "outcome", "line"]].to_numpy().tolist()
    assert kept == [["P1", "", 2], ["S1", "lost", 3]]
    assert log.set_aside[["row", "column"]].to_numpy().tolist() == [[3, "P1"], [3, "P1"], [4, "S1"]]


def test_a_gear_that_nothing_says_is_asked_for_where_it_can_be_said(tmp_path):
    toml = PLAIN_BOAT + '[wide.changes]\nrods = ["P1"]\nmarks = { x = "strike" }\n'
    rows = "trip,time,P1\nA,05:40,120\nA,07:05,x\n"
    log = read_log(write(tmp_path / "log", toml, trips=TRIPS, changes=rows))
    (problem,) = log.set_aside.to_dict("records")
    assert (problem["row"], problem["column"], problem["value"]) == (2, "P1", "120")
    assert problem["reason"] == "nothing says the gear of P1 then"
    assert problem["remedy"].endswith("say what the rod tows under [wide.changes.towed]")


def test_strikes_are_not_told_twice(tmp_path):
    strikes = "trip,time,rod\nA,07:05,P2\n"
    with pytest.raises(LogError, match=r"strikes are marked here, and strikes\.csv tells them too"):
        read_log(write(tmp_path / "log", trips=TRIPS, changes=ROWS, strikes=strikes))


@pytest.mark.parametrize(
    ("wide", "message"),
    [
        ('rods = ["P9"]\n', "column P9"),
        ("rods = []\n", "must name the columns that are rods"),
        ('rods = { a = "P1", b = "p 1" }\n', "two columns are one rod"),
        ('rods = ["P1"]\nmarks = { x = "bite" }\n', "a mark in changes cannot say this"),
        ('rods = ["P1"]\ncell = "(?P<time>.*)"\n', "its group time is no column"),
        ('rods = ["P1"]\ntowed = { P1 = { gear = "kite" } }\n', "no gear of this name"),
        ('rods = ["P1"]\ntowed = { S1 = { gear = "diver" } }\n', "this key is not known"),
        ('rods = ["P1"]\nmark = 1\n', "this key is not known"),
    ],
)
def test_what_boat_toml_says_of_rods_is_checked(tmp_path, wide, message):
    toml = PLAIN_BOAT + "[wide.changes]\n" + wide
    strikes = "trip,time,rod\nA,07:05,P2\n"
    with pytest.raises(LogError, match=message):
        read_log(write(tmp_path / "log", toml, trips=TRIPS, changes=ROWS, strikes=strikes))


def test_a_spread_without_gear_is_asked_for_it(tmp_path):
    toml = PLAIN_BOAT + '[wide.spreads]\nrods = ["P1"]\n'
    with pytest.raises(LogError, match=r'nothing says the gear of this rod.*"P1" = \{ gear = '):
        read_log(write(tmp_path / "log", toml, trips=TRIPS, changes=ROWS))


CELLS = st.sampled_from(["", "", "120", "95 ft", "80/3", "x", "kept", "up", "-", "?", "12o", "1e9"])


@settings(max_examples=40)
@given(rows=st.lists(st.tuples(*[CELLS] * 4), min_size=1, max_size=8))
def test_no_cell_is_lost_or_read_twice(tmp_path_factory, rows):
    text = "trip,time,P1,P2,Port rigger,S1\n" + "".join(
        f"A,{6 + n // 2:02}:{30 * (n % 2):02},{','.join(row)}\n" for n, row in enumerate(rows)
    )
    folder = write(tmp_path_factory.mktemp("log"), trips=TRIPS, changes=text)
    boat, _ = read_boat(folder / "boat.toml")
    files = season_files(folder)
    long, _ = unfold(read_tables(folder, files, boat.wording), boat.wording)
    made = [
        (int(row.line), row.under, row.cell)
        for name in ("changes", "strikes")
        for row in long[name].frame.itertuples()
    ]
    cells = [
        (line, rod, cell)
        for line, row in enumerate(rows, start=2)
        for rod, cell in zip(("P1", "P2", "Port rigger", "S1"), row, strict=True)
        if cell not in ("", "-")
    ]
    assert sorted(made) == sorted(cells)
    rows_of = read_log(folder).rows
    assert (rows_of["read"] == rows_of["kept"] + rows_of["set_aside"]).all()


ONE_SHEET = """
[tables]
all = "season.csv"
kind = "Kind"
[values.table]
Outing = "trips"
Lines = "changes"
"""


def _in_one_sheet(*tables):
    """Return tables, each with its word, as rows of one with all their headings."""
    frames = []
    for word, text in tables:
        header, *lines = text.splitlines()
        rows = [dict(zip(header.split(","), line.split(","), strict=True)) for line in lines]
        frames.append(pd.DataFrame(rows).assign(Kind=word))
    return pd.concat(frames, ignore_index=True).fillna("").to_csv(index=False)


def test_a_grid_may_stand_among_rows_of_other_kinds(grid, tmp_path):
    season = _in_one_sheet(("Outing", TRIPS), ("Lines", ROWS))
    log = read_log(write(tmp_path / "one", toml=PLAIN_BOAT + ONE_SHEET + GRID, season=season))
    pd.testing.assert_frame_equal(log.rows, grid.rows)
    for name in ("stretches", "strikes"):
        one, other = (getattr(of, name).drop(columns=["line", "set"], errors="ignore")
                      for of in (log, grid))  # fmt: skip
        pd.testing.assert_frame_equal(one[list(other)], other)


def test_a_rod_that_never_went_in_still_has_its_column_among_rows_of_other_kinds(tmp_path):
    rows = "trip,time,P1,P2,Port rigger,S1,note\nA,05:40,120,150,60,,\nA,07:05,,x,,,\n"
    season = _in_one_sheet(("Outing", TRIPS), ("Lines", rows))
    log = read_log(write(tmp_path / "one", toml=PLAIN_BOAT + ONE_SHEET + GRID, season=season))
    assert log.rows.set_index("table").loc["changes", ["read", "kept"]].tolist() == [3, 3]
    assert set(log.stretches["rod"]) == {"P1", "P2", "Port rigger"}
