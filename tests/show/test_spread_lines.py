"""Owns the tests of the spread that moves with a slider: nothing in it on anything else."""

from itertools import combinations, product

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.show.base.html import Told
from analysis.show.workbook.spread_lines import spread_lines
from analysis.units import Units

METRIC = Units(
    length="m", depth="m", speed="km/h", temperature="C", fish_length="cm", fish_weight="kg"
)
TOLD = Told(alt="twelve rods", caption="To scale.", missing="No line reaches the depth.")
NAMES = [f"{side}{place}" for place in range(1, 6) for side in "PS"] + ["<b>", "S & Co"]
ACROSS = [2.0 + 1.5 * place for place in range(len(NAMES))]
LETTER_PX, HIGH_PX, DOT_PX = 7.0, 12.0, 5.0
"""Room of a bold letter of 12 px, from memory; in a browser `test_lab_controls` measures it."""


@pytest.fixture
def drawn() -> BeautifulSoup:
    """Twelve rods whose lures run within a few feet of depth, two named as markup."""
    ends = pd.DataFrame(
        {
            "rod": NAMES, "side": "port", "gear": "disc", "setting": 1.0, "line_out_m": 30.0,
            "depth_m": 14.0, "depth_sd_m": 1.0, "across_m": ACROSS, "astern_m": 25.0, "reason": "",
        }
    )  # fmt: skip
    paths = pd.concat(
        pd.DataFrame(
            {"rod": name, "astern_m": [25.0, 0.0], "across_m": [x, x / 4], "depth_m": [14.0, -2.0]}
        )
        for name, x in zip(NAMES, ACROSS, strict=True)
    )
    return BeautifulSoup(spread_lines(paths, ends, METRIC, told=TOLD).html, "html.parser")


def test_no_rod_is_written_on_another_or_on_a_lure_and_each_stands_in_both_views(drawn) -> None:
    written = [text for text in drawn.find_all("text") if text.text in NAMES]
    assert sorted(text.text for text in written) == sorted(2 * NAMES)
    boxes = []
    for text in written:
        x, y, half = float(text["x"]), float(text["y"]) - 4.0, LETTER_PX * len(text.text) / 2.0
        boxes.append((x - half, x + half, y - HIGH_PX / 2, y + HIGH_PX / 2))
    dots = [
        (x - DOT_PX, x + DOT_PX, y - DOT_PX, y + DOT_PX)
        for x, y in ((float(dot["cx"]), float(dot["cy"])) for dot in drawn.find_all("circle"))
    ]
    assert len(dots) == 2 * len(NAMES)
    for one, other in [*combinations(boxes, 2), *product(boxes, dots)]:
        apart = one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]
        assert apart


def test_both_scales_are_the_same_both_ways_and_said_in_the_boats_unit(drawn) -> None:
    """A picture that is not to scale shows lines steeper or flatter than they run."""
    behind, above = (
        [float(dot[key]) for dot in drawn.find_all("circle")[views]]
        for key, views in (("cx", slice(0, 12)), ("cy", slice(12, 24)))
    )
    lines = [line for line in drawn.find_all("polyline") if line["stroke"] == "#7fa3b5"]
    drop = [float(pair.split(",")[1]) for pair in lines[0]["points"].split()]
    per_m = (behind[-1] - behind[0]) / (ACROSS[-1] - ACROSS[0])
    assert (drop[0] - drop[1]) / 16.0 == pytest.approx(per_m, rel=0.01)
    assert above[-1] < above[0]  # starboard is up where astern is to the right
    assert "depth, m" in drawn.text
    assert "<b>" in drawn.text


def test_a_spread_without_a_line_at_depth_says_so() -> None:
    columns = ["rod", "side", "gear", "setting", "line_out_m", "depth_m", "depth_sd_m"]
    nothing = pd.DataFrame(columns=[*columns, "across_m", "astern_m", "reason"])
    assert "No line reaches" in spread_lines(nothing, nothing, METRIC, told=TOLD).html
