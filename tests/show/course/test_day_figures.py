"""Owns the tests of pictures of days: hours, areas and one trip against the tables."""

from collections.abc import Iterator
from dataclasses import replace
from types import ModuleType

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show.base.style import SETTINGS
from analysis.show.course import day_figures, day_words, pictured
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = replace(FEET, depth="m", temperature="C")


@pytest.fixture
def ax() -> Iterator[Axes]:
    with mpl.rc_context(dict(SETTINGS)):
        yield Figure(layout="constrained").subplots()


def test_areas_stand_at_their_ratios_and_a_thin_one_has_its_reason(
    made_up: ModuleType, ax: Axes
) -> None:
    day_figures.areas_at_equal_conditions(made_up.areas(), ax=ax)
    marks = [line for line in ax.get_lines() if line.get_marker() == "o"]
    assert [float(mark.get_xdata()[0]) for mark in marks] == pytest.approx([1.0, 1.6])
    assert [mark.get_markerfacecolor() == "white" for mark in marks] == [True, False]
    texts = [text.get_text() for text in ax.texts]
    assert {"too thin", "130 in 1,200"} <= set(texts)


def test_words_of_areas_give_ratio_interval_and_reason(made_up: ModuleType) -> None:
    told = day_words.areas_at_equal_conditions(made_up.areas())
    assert "against North basin" in told.alt
    assert "1.60 times (1.10 to 2.30)" in told.alt
    assert told.alt.endswith("Far bank too thin.")
    assert "at most 0.1 of 1 interval would by chance" in told.caption


def test_one_area_alone_is_not_compared(made_up: ModuleType) -> None:
    assert "nothing to compare" in pictured.areas(made_up.areas().head(1)).html
    assert "nothing to compare" in pictured.areas(pd.DataFrame()).html


def test_the_hour_told_is_not_that_of_a_few_lucky_rod_hours() -> None:
    hours = pd.DataFrame(
        {
            "hour": [4, 5],
            "rod_hours": [9.0, 200.0],
            "strikes": [2, 30],
            "raw_rate": [0.22, 0.15],
            "low": [0.05, 0.11],
            "high": [0.6, 0.2],
        }
    )
    assert "0.150 from 5:00 (90 % interval 0.110 to 0.200)" in day_words.by_hour(hours).alt


def test_a_trip_is_drawn_from_the_result_tables_as_they_are_read_back(
    made_up: ModuleType,
) -> None:
    tables = made_up.season_tables()
    tracks, strikes, water = (
        tables[name].astype(
            {column: str for column in ("start", "end", "time", "date") if column in tables[name]}
        )
        for name in ("trip_tracks", "strike_depths", "water")
    )
    found = pictured.busiest_trip(tracks, strikes, water, METRES)
    assert "Dunlin, 2 May 2026: 2 rods between 9 and 14 m, 1 strike" in found.html
    assert "2 May 2026: a line a rod" in found.html
    without = pictured.busiest_trip(tracks, strikes, water.head(0), METRES)
    assert "2 rods between 9 and 14 m" in without.html
    assert "nothing to draw" in pictured.busiest_trip(tracks.head(0), strikes, water, METRES).html


def test_a_strip_has_a_line_a_rod_with_a_gap_where_it_was_out(
    made_up: ModuleType, ax: Axes
) -> None:
    tracks = made_up.trip_tracks()
    strikes = pd.DataFrame(
        {
            "time": pd.to_datetime(["2026-05-02 05:20"], utc=True),
            "depth_m": [9.0],
            "outcome": ["lost"],
        }
    )
    zone = tracks["start"].dt.tz
    day_figures.trip_strip(tracks, strikes, pd.DataFrame(), METRES, zone, ax=ax)
    rods = [line for line in ax.get_lines() if len(line.get_xdata()) > 2]
    assert [np.unique(line.get_ydata()).tolist() for line in rods] == [[12.0], [9.0, 14.0]]
    assert sum(np.isnat(rods[1].get_xdata())) == 2  # out for ten minutes, and at its end
    moved = tracks.assign(end=tracks["end"].where(tracks.index != 1, tracks.loc[2, "start"]))
    day_figures.trip_strip(moved, strikes, pd.DataFrame(), METRES, zone, ax=ax)
    assert sum(np.isnat(ax.get_lines()[-3].get_xdata())) == 1  # moved, never out
    lost = [line for line in ax.get_lines() if line.get_marker() == "X"]
    assert float(lost[0].get_ydata()[0]) == 9.0
