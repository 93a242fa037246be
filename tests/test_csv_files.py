"""Owns the tests of CSVs for others: harmless in a spreadsheet, and the true text back."""

import csv
import re

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.csv_files import harmless, read_csv, true_text, write_csv

# OWASP, "CSV Injection": characters that make a cell a formula in a spreadsheet
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")

TEXTS = st.text(st.sampled_from("=+-@\t\r\n'\"a1,;–é "), max_size=6)


@pytest.mark.parametrize("first", RISKY)
def test_a_text_that_a_spreadsheet_would_run_does_not_begin_so(first):
    assert harmless(f"{first}cmd|' /C calc'!A0").startswith("'")


@pytest.mark.parametrize("number", ["-2.5", "+3", "-.5", "-1e-7"])
def test_a_number_stays_a_number(number):
    assert harmless(number) == number


@pytest.mark.parametrize("sum_", ["-2+3", "-2.5\n", "+1 555", "-٣", "--1"])
def test_what_only_begins_as_a_number_is_no_number(sum_):
    assert harmless(sum_) == f"'{sum_}"


@given(TEXTS)
def test_every_text_comes_back(text):
    assert true_text(harmless(text)) == text


@given(st.lists(TEXTS, min_size=1, max_size=5))
def test_a_file_gives_back_what_was_written_and_no_cell_runs(tmp_path_factory, texts):
    file = tmp_path_factory.mktemp("csv") / "table.csv"
    frame = pd.DataFrame({"=lure": pd.Series(texts, dtype="str"), "n": range(len(texts))})
    write_csv(frame, file)
    with file.open(encoding="utf-8-sig", newline="") as opened:
        cells = [cell for row in csv.reader(opened) for cell in row]
    texts_told = [cell for cell in cells if not re.fullmatch(r"[+-]1+", cell)]  # a number is one
    assert not [cell for cell in texts_told if cell.startswith(RISKY)]
    pd.testing.assert_frame_equal(read_csv(file, ["=lure"]), frame)


def test_the_file_says_that_it_is_utf_8(tmp_path):
    write_csv(pd.DataFrame({"band": ["40–50 ft"], "hours": [-1.5]}), tmp_path / "t.csv")
    content = (tmp_path / "t.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbf")  # the byte order mark: Unicode 15, section 23.8
    assert content.decode("utf-8-sig").splitlines() == ["band,hours", "40–50 ft,-1.5"]
