"""Owns the tests of words, headings and cells of a boat's own, and of tables kept as one."""

import openpyxl
import pandas as pd
import pytest

from analysis.errors import LogError
from analysis.log import read_log


def test_words_of_ones_own(read, season_files):
    boat = season_files.BOAT + '[values.side]\nBB = "port"\n[values.gear]\nscheibe = "diver"\n'
    sets = season_files.SETS.replace("port,diver,1", "bb,Scheibe,1")
    log = read(boat=boat, sets=sets)
    pd.testing.assert_frame_equal(log.sets, read().sets)


@pytest.mark.parametrize(
    ("toml", "message"),
    [
        ('[values.side]\nBB = "aft"\n', r'values\.side\."BB": this is no word of side'),
        ('[values.gear]\nX = "kite"\n', r'values\.gear\."X": this is no word of gear'),
        ('[values.flavour]\nX = "y"\n', r"values\.flavour: this key is not known"),
        ('[patterns]\nsets.gear = "(?P<gear"\n', r"patterns\.sets\.gear: this is no regular"),
        ('[patterns]\nsets.gear = "(?P<g>.*)"\n', r"its group g is no column of ours"),
        ('[patterns]\nsets.gear = ".*"\n', r"it has no group"),
        ('[reading]\ndates = "any"\n', r"reading\.dates: this is no way of writing"),
        ('[reading]\nyear = "26"\n', r"reading\.year: this must be a year"),
        ('[tables]\nstrikes = "../x.csv"\n', r"tables\.strikes: this must be the name of a file"),
        ('[tables]\nall = "Log.csv"\n', r"all and kind go together"),
        ('[tables]\nsets = "Gone.csv"\n', r"there is no file and no sheet Gone\.csv here"),
    ],
)
def test_mistakes_name_key_and_remedy(read, season_files, toml, message):
    with pytest.raises(LogError, match=rf"boat\.toml.*{message}.*Remedy: "):
        read(boat=season_files.BOAT + toml)


def test_a_cell_that_holds_several_columns_is_split(read, season_files):
    boat = season_files.BOAT + (
        "[patterns]\nsets.tackle = '(?P<gear>[a-z]+) ?(?P<setting>[0-9.]+)? @ (?P<line_out>\\d+)'\n"
    )
    header = "trip,rod,side,lead,leader_length,lure,time_in,time_out,ended_by,tackle\n"
    rows = []
    for line in season_files.SETS.splitlines()[1:]:
        cells = line.split(",")
        rows.append(",".join([*cells[:3], *cells[6:], f"{cells[3]} {cells[4]} @ {cells[5]}"]))
    log = read(boat=boat, sets=header + "\n".join(rows).replace("rigger  @", "rigger @") + "\n")
    shared = read().sets.columns
    pd.testing.assert_frame_equal(log.sets[shared], read().sets)
    bad = header + rows[0].replace(" @ 80", "/80") + "\n"
    (problem,) = read(boat=boat, sets=bad).set_aside.to_dict("records")
    assert problem["reason"].startswith("it does not fit the pattern of this column")


def test_tables_may_stand_in_files_of_other_names(read, season_files, tmp_path):
    boat = season_files.BOAT + '[tables]\nstrikes = "Fisk.csv"\n'
    folder = season_files.write(tmp_path / "own", boat=boat, strikes=None)
    (folder / "Fisk.csv").write_text(season_files.STRIKES)
    log = read_log(folder)
    pd.testing.assert_frame_equal(log.strikes, read().strikes)
    assert not log.unread


ONE = (
    '[tables]\nall = "{place}"\nkind = "What"\n[values.table]\nOuting = "trips"\nFish = "strikes"\n'
)
WORDS = {"trips": "Outing", "sets": "set", "strikes": "Fish", "readings": "Reading"}


def one_table(season_files):
    """Return the usual tables as rows of one, told apart by the column What."""
    frames = []
    for name, word in WORDS.items():
        header, *lines = season_files.TABLES[name].splitlines()
        rows = [dict(zip(header.split(","), line.split(","), strict=True)) for line in lines]
        frames.append(pd.DataFrame(rows).assign(What=word))
    whole = pd.concat(frames, ignore_index=True).fillna("")
    return whole.sample(frac=1, random_state=3)


@pytest.mark.parametrize("place", ["Log.csv", "Season log"])
def test_one_table_whose_rows_a_column_tells_apart(read, season_files, tmp_path, place):
    boat = season_files.BOAT + ONE.format(place=place)
    gone = dict.fromkeys(season_files.TABLES)
    folder = season_files.write(tmp_path / "one", boat=boat, **gone)
    whole = one_table(season_files)
    if place.endswith(".csv"):
        whole.to_csv(folder / place, index=False)
    else:
        book = openpyxl.Workbook()
        book.active.title = place
        for row in [list(whole), *whole.to_numpy().tolist()]:
            book.active.append(row)
        book.save(folder / "any.xlsx")
    log, usual = read_log(folder), read()
    for name in WORDS:
        ours = usual.rows.set_index("table").loc[name]
        assert log.rows.set_index("table").loc[name].tolist() == ours.tolist()
        one, other = getattr(log, name), getattr(usual, name)
        columns = [column for column in other if column != "line"]
        pd.testing.assert_frame_equal(one[columns], other[columns])


def test_a_kind_of_row_that_names_no_table_is_asked(season_files, tmp_path):
    boat = season_files.BOAT + ONE.format(place="Log.csv")
    folder = season_files.write(tmp_path, boat=boat, **dict.fromkeys(season_files.TABLES))
    (folder / "Log.csv").write_text("What,trip\nOuting,T1\nWeather,T1\n")
    message = r'line 3, column What: this kind of row may be none.*"Weather" = "..." under'
    with pytest.raises(LogError, match=message):
        read_log(folder)
