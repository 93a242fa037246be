"""Owns the tests of the quick way to read a CSV: it says what the slow one says, or nothing."""

import hashlib

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.log.files import plain, tables
from analysis.log.files.headings import Wanted
from analysis.log.files.plain import plain_rows, surveyed
from analysis.log.files.tables import read_table
from analysis.log.files.words import plain as plain_text

WANTED = Wanted(known=["trip", "rod", "note"], required=["trip"], renames={})
CELLS = st.text(alphabet=" aPx19.:-=;\t\r\n\"'\x1c", max_size=4) | st.sampled_from(["example", ""])
FILES = st.tuples(
    st.sampled_from(["trip,rod,note", "trip;rod;note", "trip,rod,note,,", "Trip, rod"]),
    st.lists(st.lists(CELLS, min_size=1, max_size=5), max_size=6),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
)


def both_ways(folder, text, monkeypatch_from):
    """Read a file by the slow way and with the quick one before it."""
    found = []
    file = folder / "trips.csv"
    file.write_bytes(text.encode())
    for size in (1 << 40, 0):
        monkeypatch_from(size)
        try:
            table = read_table(file, "trips", WANTED, encoding=None, delimiter=None)
        except tables.LogError as error:
            found.append(str(error))
        else:
            found.append(table)
    return found


def quickly(content, folder):
    """Split what a file of two columns holds the quick way."""
    file = folder / "trips.csv"
    file.write_bytes(content)
    known = surveyed(file, ",", content.partition(b"\n")[0].count(b",") + 1)
    return None if known is None else plain_rows(file, ",", 2, known)


@settings(max_examples=150)
@given(made=FILES)
def test_any_file_is_read_alike_both_ways(made, tmp_path_factory):
    head, rows, end, last = made
    mark = ";" if ";" in head else ","
    text = end.join([head, *(mark.join(row) for row in rows)]) + (end if last else "")
    folder = tmp_path_factory.getbasetemp()
    before = tables.PLAIN_FROM

    def start_at(size):
        tables.PLAIN_FROM = size

    try:
        slow, quick = both_ways(folder, text, start_at)
    finally:
        tables.PLAIN_FROM = before
    if isinstance(slow, str) or isinstance(quick, str):
        assert slow == quick
        return
    pd.testing.assert_frame_equal(slow.frame, plain_text(quick.frame))
    pd.testing.assert_frame_equal(slow.malformed, quick.malformed)
    assert (slow.notes, slow.headings, slow.sha256) == (quick.notes, quick.headings, quick.sha256)


@pytest.mark.parametrize(
    "content",
    [
        b'trip,rod\n1,"P1"\n',
        b"trip,rod\n1,P1\r2,P2\n",
        b"trip,rod\n1,P1,2\n",
        b"trip,rod\n1\n",
        b"trip,rod\n\n1,P1\n",
    ],
)
def test_what_is_not_plain_is_left_to_the_slow_way(content, tmp_path):
    assert quickly(content, tmp_path) is None


def test_plain_rows_keep_their_lines_and_lose_their_spaces(tmp_path):
    rows = quickly(b"trip,rod,\n 1 ,P1,\n,,\n2,P2,\n", tmp_path)
    assert rows.line.tolist() == [2, 4]
    assert [column.tolist() for column in rows.columns] == [["1", "2"], ["P1", "P2"]]


def test_a_file_of_odd_rows_is_left_before_it_is_split(monkeypatch, tmp_path):
    def never(*arguments, **settings):
        raise AssertionError

    monkeypatch.setattr(plain.arrow_csv, "read_csv", never)
    assert quickly(b"trip,rod\n" + b"1,P1\n" * 9 + b"1,P1,2\n", tmp_path) is None


@pytest.mark.parametrize("piece", [1, 2, 3, 7])
def test_ends_of_lines_are_known_where_two_pieces_meet(monkeypatch, tmp_path, piece):
    monkeypatch.setattr(plain, "_PIECE", piece)
    content = b"trip,rod\r\n1,P1\r\n2,P2"
    (tmp_path / "trips.csv").write_bytes(content)
    known = surveyed(tmp_path / "trips.csv", ",", 2)
    assert known.lines == 3
    assert known.sha256 == hashlib.sha256(content).hexdigest()
    assert quickly(b"trip,rod\r\n1,P1\r2,P2", tmp_path) is None
