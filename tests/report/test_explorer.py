"""Owns the tests of the depth explorer: its sliders change words and pictures, and it says no."""

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.errors import LogError
from analysis.places import NOTEBOOKS
from analysis.render.notebook import run_notebook
from analysis.report.explorer import Explorer, counts_of, explore

DEMO = NOTEBOOKS.parent / "data" / "demo" / "dunlin-2026"

BARE = """
boat = "Teal"
time_zone = "Europe/Oslo"
[units]
length = "m"
depth = "m"
speed = "km/h"
temperature = "C"
fish_length = "cm"
fish_weight = "kg"
"""
MARKED = """
[gear."<img src=x onerror=alert(1)>"]
kind = "diver"
"""


@pytest.fixture(scope="module")
def shared() -> Explorer:
    return explore(DEMO / "boat.toml")


@pytest.fixture
def explorer(shared: Explorer) -> Explorer:
    return Explorer(shared.waters)


def test_the_dial_has_the_settings_that_the_season_used(explorer: Explorer) -> None:
    """The demo's dial has the marks 0 and 3.5 as well, which no rod ever fished."""
    explorer.gear.value = "diver"
    assert [setting for _, setting in explorer.setting.options] == [1.0, 2.0, 3.0]
    assert "3.5" not in explorer.table.value
    explorer.setting.value = 3.0
    assert "diver on 3" in explorer.words.value


@pytest.mark.parametrize("name", ["line_out", "speed", "tip_height"])
def test_moving_a_slider_changes_words_and_picture(explorer: Explorer, name: str) -> None:
    explorer.gear.value = "diver"
    words, picture = explorer.words.value, explorer.picture.value
    slider = getattr(explorer, name)
    slider.value = slider.max  # words are in whole feet: a small step may not show in them
    assert explorer.picture.value != picture
    assert explorer.words.value != words
    assert slider.continuous_update is False


def test_a_number_is_typed_with_either_mark_or_refused(explorer: Explorer) -> None:
    _, field, note = explorer.one_line.children[3].children
    field.value = "2,7"
    assert explorer.speed.value == 2.7
    assert "at 2.7 mph" in explorer.words.value
    for typed in ("<b>fast</b>", "0", "2,7,0", "1,250", ""):
        field.value = typed
        assert "is not taken: write a number from 0.9 to 5.6." in note.value
        assert "<b>" not in note.value
        assert explorer.speed.value == 2.7
    explorer.speed.value = 3.0
    assert (field.value, note.value) == ("3", "")


def test_words_are_the_depth_models(explorer: Explorer) -> None:
    out = explorer.waters.beliefs["diver"].predict(
        setting=1.0, line_out_m=100 * 0.3048, speed_mps=2.5 * 0.44704, tip_height_m=6.6 * 0.3048
    )
    assert f"{float(out.depth_m) / 0.3048:.0f} ft deep" in explorer.words.value
    assert f"{abs(float(out.lateral_m)) / 0.3048:.0f} ft to the side" in explorer.words.value
    assert f"{float(out.setback_m) / 0.3048:.0f} ft astern" in explorer.words.value


def test_a_gear_that_cannot_reach_says_so_in_the_boats_unit(explorer: Explorer) -> None:
    explorer.wanted.value = 150
    assert "cannot reach 150 ft: 492 ft out runs" in explorer.table.value
    assert "cannot reach 150 m" not in explorer.table.value


def test_a_rigger_has_no_dial_and_no_rod_tip(explorer: Explorer) -> None:
    explorer.gear.value = "rigger"
    assert explorer.setting.disabled
    assert explorer.tip_height.disabled
    assert "astern of the pulley" in explorer.words.value


def test_every_picture_has_a_description(explorer: Explorer) -> None:
    for shown in (explorer.picture.value, explorer.season_picture.value):
        assert shown.count("<img") == 1
        assert 'alt="' in shown
        assert 'alt=""' not in shown


def test_strikes_and_hours_of_a_gear_add_up(explorer: Explorer) -> None:
    season = explorer.waters.season
    counts, unplaced = counts_of(season, "core", 3.048)
    mine = season[season["gear"] == "core"]
    assert counts["rod_hours"].sum() + unplaced == pytest.approx(mine["hours"].sum())
    assert counts["strikes"].sum() == mine.loc[mine["depth_m"].notna(), "strikes"].sum()
    explorer.season_gear.value = "core"
    assert f"{round(counts['rod_hours'].sum())} rod-hours" in explorer.season_words.value


def test_hours_without_a_depth_are_told_apart() -> None:
    season = pd.DataFrame(
        {
            "gear": ["core"] * 3,
            "period": ["2026-07"] * 3,
            "depth_m": [1.0, 4.0, np.nan],
            "hours": [2.0, 3.0, 5.0],
            "strikes": [1, 0, 2],
        }
    )
    counts, unplaced = counts_of(season, "core", 3.0)
    assert counts["rod_hours"].tolist() == [2.0, 3.0]
    assert counts["band_low_m"].tolist() == [0.0, 3.0]
    assert unplaced == 5.0


def test_a_boat_without_a_log_is_explored_in_metres_and_its_names_are_escaped(
    tmp_path: Path,
) -> None:
    plug = '[lures]\n"<img src=x> plug" = { diving = "deep" }\n'
    (tmp_path / "boat.toml").write_text(BARE + MARKED + plug, encoding="utf-8")
    explorer = explore(tmp_path / "boat.toml")
    assert "There is no season to show" in explorer.season_words.value
    assert "30 m out" in explorer.words.value
    assert "Not calibrated" in explorer.words.value
    before = [re.findall(r"(\d+) m deep", explorer.words.value), explorer.table.value]
    explorer.lure.index = 1
    assert "with &lt;img src=x&gt; plug, 30 m out" in explorer.words.value
    assert re.findall(r"(\d+) m deep", explorer.words.value) > before[0]
    assert explorer.table.value != before[1]
    for shown in (explorer.words, explorer.table, explorer.picture, explorer.season_words):
        assert "<img src=x" not in shown.value


def test_a_boat_without_gear_is_refused(tmp_path: Path) -> None:
    (tmp_path / "boat.toml").write_text(BARE, encoding="utf-8")
    with pytest.raises(LogError, match="there is no gear to explore"):
        explore(tmp_path / "boat.toml")


def test_depth_explorer_runs_as_it_lies() -> None:
    executed = run_notebook(
        NOTEBOOKS / "depth_explorer.ipynb", {}, folder=NOTEBOOKS, progress=False
    )
    outputs = [output for cell in executed.cells for output in cell.get("outputs", [])]
    kinds = [next(iter(set(output.data) - {"text/plain"})) for output in outputs]
    # each box of widgets, and the script that names its controls
    assert kinds == 3 * ["application/vnd.jupyter.widget-view+json", "application/javascript"]
