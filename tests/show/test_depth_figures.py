"""Owns the tests of the pictures and tables of modelled depth."""

from collections.abc import Iterator
from itertools import combinations

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.depth.water import FRESH_WATER
from analysis.report.depth_parts import depths_of_parts
from analysis.show.base.style import SETTINGS
from analysis.show.depth import figures, tables
from analysis.show.depth.part_words import PARTS
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = Units(
    length="m", depth="m", speed="km/h", temperature="C", fish_length="cm", fish_weight="kg"
)
CURVES = pd.DataFrame(
    {
        "gear": ["disc"] * 4 + ["core"] * 2,
        "setting": [0.0, 0.0, 2.5, 2.5, np.nan, np.nan],
        "line_out_m": [10.0, 30.48] * 3,
        "depth_m": [6.0, 15.24, 4.0, 10.0, 1.0, 3.0],
        "low_m": [5.0, 13.0, 3.0, 8.0, 0.8, 2.0],
        "high_m": [7.0, 17.0, 5.0, 12.0, 1.2, 4.0],
    }
)
EFFECTS = pd.DataFrame(
    {
        "term": np.repeat(list(figures.TERMS), 2),
        "at": [0.5, 1.5, 0.8, 1.6, 0.0, 0.002, 0.0, 0.002, 1.0, 3.0],
        "change": [0.03, -0.02, 0.05, -0.1, 0.02, -0.08, 0.0, 4.0, 0.04, -0.11],
    }
)
TRIALS = pd.DataFrame(
    {
        "trial": [1, 2, 3],
        "setting": [0.0, 1.0, np.nan],
        "before": [0.1, 0.9, np.nan],
        "before_sd": [0.1, 0.1, np.nan],
        "after": [0.01, 0.8, np.nan],
        "after_sd": [0.03, 0.03, np.nan],
        "left_out": [False, True, False],
        "reason": ["", "", "no speed"],
    }
)
ENDS = pd.DataFrame(
    {
        "rod": ["P1", "S1", "S2"],
        "side": ["port", "starboard", "starboard"],
        "gear": "disc",
        "setting": [1.0, 1.0, 3.0],
        "line_out_m": [30.48, 30.48, np.nan],
        "depth_m": [15.24, 15.24, np.nan],
        "depth_sd_m": [1.524, 1.524, np.nan],
        "across_m": [-6.096, 6.096, np.nan],
        "astern_m": [24.384, 24.384, np.nan],
        "reason": ["", "", "cannot reach 15 m: 20 m out runs 9 m deep"],
    }
)
PATHS = pd.DataFrame(
    {
        "rod": ["P1", "P1", "S1", "S1"],
        "astern_m": [24.384, 0.0, 24.384, 0.0],
        "across_m": [-6.096, -1.0, 6.096, 1.0],
        "depth_m": [15.24, -1.5, 15.24, -1.5],
    }
)
NEAR = pd.DataFrame(
    {
        "rod_a": ["P1", "S1"],
        "rod_b": ["S1", "S2"],
        "least_m": [2.0, 0.5],
        "sideways_m": [12.192, 1.0],
        "flagged": [False, True],
        "crossed": [False, True],
        "fish_passes_behind": [True, False],
    }
)


@pytest.fixture
def ax() -> Iterator[Axes]:
    with mpl.rc_context(dict(SETTINGS)):
        yield Figure(layout="constrained").subplots()


def texts_of(ax: Axes) -> list[str]:
    fig = ax.get_figure(root=True)
    assert fig is not None
    fig.draw_without_rendering()
    return [text.get_text() for text in fig.findobj(mpl.text.Text) if text.get_visible()]


def test_curves_stand_in_the_boats_unit_and_carry_setting_or_gear(ax: Axes) -> None:
    figures.depth_curves(CURVES, FEET, ax=ax)
    assert [line.get_ydata()[-1] for line in ax.lines] == pytest.approx([50, 32.8, 9.84], abs=0.05)
    assert ax.lines[0].get_xdata()[-1] == pytest.approx(100.0)
    assert [text.get_text() for text in ax.texts] == ["0", "2.5", "core"]
    assert ax.get_ylim()[0] > ax.get_ylim()[1] == 0
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("line-out, ft", "depth, ft")


def test_names_of_curves_that_end_together_are_told_apart(ax: Axes) -> None:
    together = CURVES.assign(depth_m=CURVES["depth_m"] * 0.01 + 10.0)
    figures.depth_curves(together, FEET, ax=ax)
    texts_of(ax)
    boxes = [text.get_window_extent() for text in ax.texts]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))


def test_panels_words_touch_no_neighbours(ax: Axes) -> None:
    figures.depth_effects(EFFECTS, METRES, ax=ax)
    texts_of(ax)
    boxes = [
        panel.xaxis.label.get_window_extent() for panel in ax.figure.axes if panel.get_xlabel()
    ]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    assert all(box.x1 <= ax.figure.bbox.x1 for box in boxes)


def test_curves_differ_by_more_than_colour(ax: Axes) -> None:
    figures.depth_curves(CURVES, METRES, ax=ax)
    assert len({line.get_linestyle() for line in ax.lines}) == 3


def test_a_part_is_drawn_beside_the_line_without_it_and_read_out(ax: Axes) -> None:
    parts = depths_of_parts(1.1, 1.5, FRESH_WATER)
    figures.parts_of_lines(parts, FEET, ax=ax)
    panels = [panel for panel in ax.figure.axes if panel.lines]
    assert len(panels) == len(PARTS) == parts["part"].nunique() == 7
    for panel, (_, rows) in zip(panels, parts.groupby("part", sort=False), strict=True):
        plain, with_it = panel.lines
        assert plain.get_linestyle() != with_it.get_linestyle()
        np.testing.assert_allclose(plain.get_ydata(), rows["without_m"] / 0.3048)
        np.testing.assert_allclose(with_it.get_ydata(), rows["with_m"] / 0.3048)
    told = tables.told_parts(parts, FEET)
    assert "diver that tripped, 236 ft out: 95 ft without, 14 ft with" in told.alt
    # common practice, no source: weights and lips take a line down, thick line and trips up
    deeper = parts["with_m"] - parts["without_m"]
    by_part = deeper.groupby(parts["part"]).mean()
    assert (by_part[["clipped weight", "keel weight", "plug", "planer"]] > 0.5).all()
    assert (by_part[["second line", "tripped", "joined core"]] < -2.0).all()


def test_effects_share_a_scale_and_name_their_units(ax: Axes) -> None:
    figures.depth_effects(EFFECTS, METRES, ax=ax)
    panels = [panel for panel in ax.figure.axes if panel.get_xlabel()]
    assert [panel.get_xlabel().replace("\n", " ") for panel in panels] == [
        "speed, km/h",
        "line diameter, times own",
        "drag area of the lure, cm²",
        "lift area of a lure that dives, cm²",
        "rod tip above the water, m",
    ]
    # a lure that dives takes a bare line many times deeper: it has a scale of its own
    plug = panels.pop(3)
    assert len({panel.get_ylim() for panel in panels}) == 1
    assert plug.get_ylim()[1] > 4.0 > panels[0].get_ylim()[1]
    assert list(panels[0].lines[1].get_xdata()) == pytest.approx([1.8, 5.4])
    assert list(panels[2].lines[1].get_xdata()) == pytest.approx([0.0, 20.0])


def test_calibration_marks_what_is_left_out_and_passes_over_what_cannot_be_used(ax: Axes) -> None:
    figures.calibration(TRIALS, ax=ax)
    assert [tick.get_text() for tick in ax.get_xticklabels()] == ["1\n(0)", "2\n(1)"]
    assert {"before", "after calibration", "left out"} <= set(texts_of(ax))


def test_spread_is_to_scale_from_behind_and_above(ax: Axes) -> None:
    figures.spread_shape(PATHS, ENDS, FEET, ax=ax)
    behind, above = (panel for panel in ax.figure.axes if panel.get_title(loc="left"))
    assert behind.get_aspect() == above.get_aspect() == 1.0
    assert behind.get_xlim() == above.get_xlim()
    assert list(behind.lines[0].get_xdata()) == pytest.approx([-20.0, -3.28], abs=0.01)
    assert behind.lines[0].get_ydata()[0] == pytest.approx(50.0)
    assert above.lines[0].get_ydata()[0] == pytest.approx(80.0)
    assert "S2" not in texts_of(ax)


def test_words_of_the_pictures_give_their_findings() -> None:
    told = tables.told_curves(CURVES, FEET).alt
    assert "0 50 ft with 100 ft out, 2.5 33 ft with 100 ft out, core 10 ft" in told
    assert "speed -2% to +3%" in tables.told_effects(EFFECTS).alt
    assert "in 1 trial against the model: off by 10% before" in tables.told_calibration(TRIALS).alt
    assert "P1 50 ft deep, 80 ft astern" in tables.told_spread(ENDS, FEET).alt


def test_no_trials_are_said() -> None:
    told = tables.told_calibration(TRIALS.iloc[:0])
    assert told.alt == "Depths logged in 0 trials against the model:."
    assert told.missing.startswith("No trials with a depth logger")


def test_spread_table_gives_a_reason_in_place_of_a_line_out() -> None:
    rows = tables.spread_lines(ENDS, METRES).rows
    assert rows[0] == ("P1", "port", "disc", "1", "30.5 m", "15.2 m ± 1.5 m", "24.4 m")
    assert rows[2][4] == "cannot reach 15 m: 20 m out runs 9 m deep"


def test_neighbours_say_what_is_wrong() -> None:
    rows = tables.neighbours(NEAR, FEET).rows
    assert rows[0] == ("P1 and S1", "40 ft", "6.6 ft", "do not meet or cross")
    assert rows[1][3] == ("the lines cross; a fish on the outer line swings across")


def test_equal_depth_gives_each_setting_once() -> None:
    row = {
        "gear": "disc",
        "setting": 1.0,
        "line_out_m": 30.48,
        "line_out_sd_m": 1.0,
        "depth_m": 15.0,
        "depth_sd_m": 1.5,
        "setback_m": 24.4,
        "reason": "",
    }
    both = [
        {**row, "side": "port", "lateral_m": -7.0},
        {**row, "side": "starboard", "lateral_m": 7.0},
        {**row, "side": "starboard", "lateral_m": 7.0, "setting": None, "reason": "cannot reach"},
    ]
    table = tables.equal_depth(pd.DataFrame(both), METRES)
    rows = table.rows
    assert table.caption == "Line-out for a lure 15.0 m deep"
    assert rows[0] == ("disc", "1", "30.5 m ± 1.0 m", "± 1.5 m", "7.0 m", "24.4 m")
    assert rows[1][1:3] == ("–", "cannot reach")


def test_calibration_words_and_tables() -> None:
    following = pd.DataFrame(
        {
            "setting": [3.0],
            "line_out_m": [30.48],
            "speed_mps": [1.1],
            "sd_now": [0.08],
            "sd_then": [0.05],
        }
    )
    words = tables.calibration_notes(("trial 2 is left out",), following, FEET).html
    assert "Trial 2 is left out." in words
    assert "setting 3 with 100 ft out; the doubt of the depth there goes from 8.0% to 5.0%" in words
    uses = pd.DataFrame({"setting": [1.0, 1.0], "before_sd": [0.1, 0.1], "after_sd": [0.03, 0.04]})
    assert tables.known_to(uses).rows == [("1", "± 10%", "± 4%")]
    learnt = pd.DataFrame(
        {
            "label": ["pull angle"],
            "unit": ["degrees"],
            "prior_sd": [10.0],
            "sd": [3.0],
            "shift": [-4.0],
            "learnt": [True],
            "source": ["from memory"],
        }
    )
    assert tables.learnt(learnt).rows == [
        ("pull angle", "± 10 degrees", "-4 ± 3 degrees", "yes", "from memory")
    ]
