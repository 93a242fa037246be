"""Owns the test that times of the usual form, read all at once, are what single ones are."""

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from analysis.log.times import _parse_one, parse

USUAL = st.builds(
    "{:04d}-{:02d}-{:02d} {:02d}:{:02d}".format,
    *(st.integers(1960, 2110), st.integers(0, 13), st.integers(0, 32)),
    *(st.integers(0, 25), st.integers(0, 61)),
)
ODD = st.sampled_from(
    ["2026-02-29 05:30", "2024-02-29 05:30", "٢٠٢٦-07-04 05:30", "2026/07/04 05:3"]
)


@given(st.lists(USUAL | ODD | st.text(max_size=16)))
def test_times_read_together_are_those_read_one_by_one(words):
    found = parse(pd.Series(words, dtype="str"))
    assert [tuple(row) for row in found.to_numpy().tolist()] == [_parse_one(word) for word in words]
