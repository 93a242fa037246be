"""Owns the test that a season in short form gives the answer of the same season in full."""

from pathlib import Path

import pytest

from analysis.decision.bands import CLEAR, LEANING
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.season import Options, analyse

DEMO = Path(__file__).parents[1] / "data" / "demo"
MOST_OFF = 0.03
"""Share of a trip's rod-hours that the way there and back may add or lose."""
MOST_LESS_SURE = 0.03
"""How far the chance of a good band may move: the draws of one fit scatter by as much."""


@pytest.fixture(scope="module")
def shorter(short_form_files, tmp_path_factory):
    """Write a demo season in short form."""

    def write(name):
        out = tmp_path_factory.mktemp("short") / name
        return short_form_files.shorten(DEMO / name, out, longest_gap_min=1)

    return write


def hours_by_trip(folder):
    return count_effort(read_log(folder)).slices.groupby("trip")["hours"].sum()


@pytest.mark.parametrize("name", ["dunlin-2026", "petrel-2025"])
def test_rod_hours_of_each_trip_are_those_of_the_full_log(shorter, name):
    full, short = hours_by_trip(DEMO / name), hours_by_trip(shorter(name))
    assert list(full.index) == list(short.index)
    assert (short / full - 1).abs().max() <= MOST_OFF


def named(season):
    """Return the bands that each period names, with how sure that is and the verdict."""
    rows = season.tables["bands"].loc[season.tables["bands"]["named"]]
    return rows[["period", "band_low_m", "p_near", "verdict"]].reset_index(drop=True)


def test_the_answer_is_that_of_the_full_log(shorter):
    options = Options(band="3 m")
    full = analyse([DEMO / "whimbrel-2025"], options)
    short = analyse([shorter("whimbrel-2025")], options)
    one, other = named(full), named(short)
    assert one[["period", "band_low_m"]].equals(other[["period", "band_low_m"]])
    assert (one["p_near"] - other["p_near"]).abs().max() <= MOST_LESS_SURE
    # a period that stands this near to a limit may fall on either side of it
    near = [(one["p_near"] - limit).abs() <= MOST_LESS_SURE for limit in (CLEAR, LEANING)]
    firm = ~(near[0] | near[1])
    assert firm.sum() >= 4
    assert one.loc[firm, "verdict"].equals(other.loc[firm, "verdict"])
    assert set(short.tables["exposure"]["source"]) == {"changes"}
    assert set(full.tables["exposure"]["source"]) == {"sets"}
    assert short.summary["rod_hours_on_spread"] == 0.0
