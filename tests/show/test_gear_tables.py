"""Owns the tests of the tables of gear against the numbers they show."""

import numpy as np
import pandas as pd

from analysis.show.season import gear_tables
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)


def test_gears_have_their_line_out_for_the_depth_and_stand_out_where_told_apart() -> None:
    frame = pd.DataFrame(
        {
            "gear": ["diver", "core"],
            "setting": [2.0, np.nan],
            "ratio": [1.0, 1.41],
            "low": [1.0, 1.1],
            "high": [1.0, 1.8],
            "reference": ["diver 2", "diver 2"],
            "rod_hours": [1200.4, 300.0],
            "depth_m": 12.192,
            "line_out_m": [36.576, np.nan],
            "told_apart": [False, True],
        }
    )
    table = gear_tables.gears(frame, FEET)
    assert table.rows == [
        ("diver, setting 2", "120 ft", "1,200", "1.00", "–", "diver 2"),
        ("core", "–", "300", "1.41", "1.10 to 1.80", "diver 2"),
    ]
    assert "Line-out at 40 ft" in table.columns
    assert table.named == (False, True)


def test_a_lure_told_apart_stands_out() -> None:
    frame = pd.DataFrame(
        {
            "lure": ["silver", "green", "gold"],
            "ratio": [1.0, 1.31, 1.2],
            "low": [1.0, 1.05, 1.01],
            "high": [1.0, 1.62, 1.4],
            "reference": "silver",
            "rod_hours": [1200.4, 310.0, 90.0],
            "strikes": [120, 44, 12],
            "told_apart": [False, True, False],
        }
    )
    table = gear_tables.lures(frame)
    assert table.rows == [
        ("silver", "1,200", "120", "1.00", "–", "silver"),
        ("green", "310", "44", "1.31", "1.05 to 1.62", "silver"),
        ("gold", "90", "12", "1.20", "1.01 to 1.40", "silver"),
    ]
    assert table.named == (False, True, False)


def test_hookups_and_pairs() -> None:
    hooked = pd.DataFrame(
        {
            "term": ["leader length"],
            "level": ["under 8 ft"],
            "strikes": [50],
            "hooked": [44],
            "hookup_rate": [0.87],
            "low": [0.79],
            "high": [0.93],
        }
    )
    assert gear_tables.hookups(hooked).rows == [
        ("leader length: under 8 ft", "50", "44", "87 %", "79 % to 93 %")
    ]
    pairs = pd.DataFrame(
        {
            "boat": ["Dunlin"],
            "rod_a": ["P1"],
            "rod_b": ["P2"],
            "tangles": [5],
            "by_chance": [0.42],
            "hours_together": [310.2],
            "beyond_chance": [True],
        }
    )
    assert gear_tables.tangled(pairs).rows == [("Dunlin: P1 and P2", "5", "0.4", "310")]
    assert gear_tables.tangled(pairs).named == (True,)


def test_empty_tables_say_so() -> None:
    nothing = pd.DataFrame()
    assert gear_tables.gears(nothing, FEET).nothing == "Gears could not be compared."
    assert "--lures" in gear_tables.lures(nothing).nothing
    assert gear_tables.hookups(nothing).rows == []
    assert gear_tables.tangled(nothing).rows == []
