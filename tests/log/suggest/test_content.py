"""Owns the tests of what cells alone say, where no heading is a word of any language we know."""

import tomllib

import pytest

from analysis.log.read import read_log
from analysis.log.schema import TABLES
from analysis.log.suggest.columns import Source, match_all
from analysis.log.suggest.content import header_row, shared_keys
from analysis.log.suggest.proposal import suggest
from analysis.log.suggest.together import told_together

NONSENSE = [a + b for a in ("qua", "zor", "fli") for b in ("bex", "wun", "drop", "kis")]


@pytest.fixture
def nonsense(tmp_path, log_habits):
    """Write the metric season under headings that mean nothing; units stand in them."""
    habits = log_habits
    columns = dict.fromkeys(c for rows in habits.season().values() for c in rows[0])
    own = {column: NONSENSE[n % 12] + NONSENSE[n // 12] for n, column in enumerate(columns)}
    files = {name: f"{NONSENSE[n]}" for n, name in enumerate(habits.season())}
    habit = habits.Habit("nonsense", headings=own, units=habits.METRIC, files=files)
    return habits.write(habit, tmp_path / "log"), suggest(tmp_path / "log")


def test_units_clocks_and_ids_tell_columns_under_headings_without_a_meaning(nonsense):
    truth, found = nonsense
    known = {name for columns in truth.values() for name in columns}
    assert known  # headings differ from table to table only by their unit
    for one in found.matches:
        for at, (column, _) in one.columns.items():
            assert truth[one.table][one.source.header[at]] == column
    tables = {one.table: {column for column, _ in one.columns.values()} for one in found.matches}
    assert tables["trips"] == {"trip", "date", "start", "end", "rods"}
    assert tables["strikes"] == {one.name for one in TABLES["strikes"][:7]}  # all it has
    assert tables["sets"] == {one.name for one in TABLES["sets"]} - {"lead"}
    assert tables["casts"] == {"trip", "time", "depth", "temp"}


def test_no_unit_is_told_that_is_wrong(nonsense):
    _, found = nonsense
    units = {line.key: line.value for line in found.lines if line.table == "units"}
    sure = {line.key for line in found.lines if line.table == "units" and not line.question}
    right = {"length": '"m"', "depth": '"m"', "speed": '"km/h"', "temperature": '"C"'}
    assert {key: units[key] for key in sure & set(right)} == {
        key: right[key] for key in sure & set(right)
    }


def test_where_columns_have_no_known_meaning_no_unit_is_said_to_be_without_one(tmp_path):
    (tmp_path / "trips.csv").write_text("trip,date,start,end,quab\nA,2026-07-04,05:00,09:00,17\n")
    (tmp_path / "strikes.csv").write_text("trip,time,rod,zorn\nA,06:00,P1,80\n")
    lines = [line for line in suggest(tmp_path).lines if line.table == "units"]
    assert lines
    assert all(line.question for line in lines)


def test_numbers_that_could_be_clocks_are_none():
    def clocks(columns, table="strikes"):
        told = told_together(columns, table, {}, dict.fromkeys(range(len(columns)), ""))
        return {at: name for at, (name, _) in told.items() if name.startswith("time")}

    assert clocks([["120", "150", "230"]]) == {}
    assert clocks([["0620", "1150", "1230"]]) == {0: "time"}
    assert clocks([["06:20", "11:50"], ["07:00", "12:10"]]) == {}  # which of the two?
    assert clocks([["07:00", "12:10"], ["06:20", "11:50"]], "loggers") == {
        1: "time_in",
        0: "time_out",
    }
    # a pressure of 1012 hPa is a clock where no other is one
    assert clocks([["1012"] * 2, ["06:20", "11:50"]]) == {1: "time"}


def test_sides_are_no_rods():
    tables = {0: [["P", "S", "P"]], 1: [["S", "P", "P"]]}
    assert shared_keys(tables) == {}


def write(folder, **tables):
    for name, rows in tables.items():
        (folder / f"{name}.csv").write_text("\n".join(rows) + "\n")


def test_what_a_log_tells_besides_is_no_column_of_ours(tmp_path):
    write(
        tmp_path,
        trips=[
            "Trip,Date,Start,End,Engine hrs,Wind,Dock in",
            "A,2026-07-04,05:00,09:00,417.5,NW 10,09:40",
        ],
        sets=[
            "Trip,Rod,Gear,Line (ft),In,Out,Bottom depth (ft)",
            "A,P1,flat,120,05:00,06:00,240",
            "A,P2,flat,90,05:03,07:00,190",
        ],
        readings=[
            "Trip,Time,Speed (kn),Wind kts,Air temp (F),Surface temp (F)",
            "A,05:00,2.1,9,71,64",
            "A,06:00,2.3,8,73,64.5",
        ],
    )
    found = suggest(tmp_path)
    besides = ["Engine hrs", "Wind", "Dock in", "Bottom depth (ft)", "Wind kts", "Air temp (F)"]
    assert sorted(name.split(": ")[1] for name in found.unknown) == sorted(besides)
    told = {line.key: line.value for line in found.lines if line.table == "units"}
    assert (told["length"], told["speed"], told["temperature"]) == ('"ft"', '"kn"', '"F"')


def test_trips_without_ids_are_named_by_their_dates(tmp_path):
    write(
        tmp_path,
        trips=["Date,Lines in,Lines out", "4 July 2026,05:00,09:00", "9 July 2026,16:00,20:00"],
        strikes=["Date,Hit,Rod", "4 July 2026,06:10,P1", "4 July 2026,07:00,S1",
                 "9 July 2026,16:40,P1"],
    )  # fmt: skip
    text = suggest(tmp_path).text().replace("# time_zone", "time_zone").replace("# len", "len")
    (tmp_path / "boat.toml").write_text(text.replace("Europe/Oslo", "Etc/UTC"))
    log = read_log(tmp_path)
    assert log.rows["set_aside"].sum() == 0
    clocks = log.strikes["time"].dt.strftime("%d %H:%M")
    assert sorted(clocks) == ["04 06:10", "04 07:00", "09 16:40"]


def test_kinds_of_rows_are_told_by_what_they_fill(tmp_path):
    write(
        tmp_path,
        book=[
            "K,Ref,Day,Begun,Done,Rod,Hit,Fish",
            "1,A,2026-07-04,05:00,09:00,,,",
            "2,A,,,,P1,06:10,char",
            "2,A,,,,S1,07:10,brown trout",
            "1,B,2026-07-09,05:00,09:00,,,",
            "2,B,,,,P1,08:10,char",
        ],
    )
    lines = {(line.table, line.key): line.value for line in suggest(tmp_path).lines}
    assert lines["values.table", '"1"'] == '"trips"'
    assert lines["values.table", '"2"'] == '"strikes"'
    assert lines["columns.strikes", '"Hit"'] == '"time"'


def test_two_columns_of_one_heading_are_one_key(tmp_path):
    write(
        tmp_path, casts=[",", "x,y"], strikes=["Ref,Hit,Hit,Pole", "A,06:10,40,P1", "B,07:10,50,P1"]
    )
    keys = tomllib.loads(suggest(tmp_path).text())["columns"]["strikes"]
    assert keys["Hit"] == "time"


def test_a_header_is_found_below_titles():
    rows = [["Season 2026", "", ""], ["a", "b", "c"], ["1", "x", "y"], ["2", "x", "y"]]
    assert header_row(rows) == 1
    assert header_row(rows[1:]) == 0


def test_a_table_of_just_our_name_is_no_other_whatever_its_columns_look_like():
    """A day, a clock and a temperature look more like readings than like trips."""
    rows = [(2, ["4/7/26", "0510", "14.2"]), (3, ["17/7/26", "0500", "15.1"])]
    source = Source(name="trips.csv", header=["Day", "Time", "Water temp"], rows=rows)
    assert [one.table for one in match_all([source])] == ["trips"]
    other = Source(name="2026.csv", header=["Day", "Time", "Water temp"], rows=rows)
    assert [one.table for one in match_all([other])] == ["readings"]


@pytest.mark.parametrize("heads", ["Out,In", "Out,Back", "Depart,Back", "Left dock,Home"])
@pytest.mark.parametrize(
    "clocks",
    [
        ("05:10", "09:30", "05:00", "10:00", "05:20", "13:10"),
        ("5:10 am", "9:30 am", "5:00 am", "10:00 am", "5:20 am", "1:10 pm"),
        ("0510", "0930", "0500", "1000", "0520", "1310"),
        ("20:10", "02:30", "19:00", "01:00", "20:20", "03:10"),
    ],
    ids=["of 24 hours", "of 12 hours", "bare", "past midnight"],
)
@pytest.mark.parametrize("ids", [True, False], ids=["with ids", "without ids"])
def test_clocks_of_leaving_and_coming_home_are_a_trips_start_and_end(tmp_path, heads, clocks, ids):
    """Out is no short outing, and Back no line-out, where clocks stand below them."""
    days = ["2026-07-04", "2026-07-05", "2026-07-06"]
    names = ["A1", "A2", "A3"] if ids else days
    trips = [f"{'Trip,' * ids}Date,{heads},Water"]
    for n, water in enumerate(("north arm", "the shelf", "the shelf")):
        trips.append(f"{'A' + str(n + 1) + ',' if ids else ''}{days[n]},")
        trips[-1] += f"{clocks[2 * n]},{clocks[2 * n + 1]},{water}"
    (tmp_path / "trips.csv").write_text("\n".join(trips) + "\n")
    struck = zip([0, 0, 1, 2], ["21:40", "22:15", "21:05", "22:30"], strict=True)
    rows = [f"{names[n]},{clock},P{n + 1},lake trout,landed" for n, clock in struck]
    head = f"{'Trip' if ids else 'Date'},Time,Rod,Species,Outcome"
    (tmp_path / "strikes.csv").write_text("\n".join([head, *rows]) + "\n")
    (found,) = [one for one in suggest(tmp_path).matches if one.table == "trips"]
    told = {found.source.header[at]: column for at, (column, _) in found.columns.items()}
    leaving, home = heads.split(",")
    true = {"Date": "date", leaving: "start", home: "end", "Water": "area"}
    assert told == true | ({"Trip": "trip"} if ids else {})
    # a boat that ran an hour to its water had no line in
    for at, (column, why) in found.columns.items():
        assert ("write when lines went in" in why) == (column in ("start", "end")), at


def test_clocks_of_lines_are_not_told_to_be_the_boats():
    rows = [(2, ["4/7/26", "05:10", "09:30"]), (3, ["17/7/26", "05:00", "10:00"])]
    source = Source(name="trips.csv", header=["Day", "Lines in", "Lines out"], rows=rows)
    (found,) = match_all([source])
    assert [column for column, _ in found.columns.values()] == ["date", "start", "end"]
    assert not [why for _, why in found.columns.values() if "the boat left" in why]
