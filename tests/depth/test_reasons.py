"""Owns the check that a row without an answer says why, in words that help."""

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.kinds import Diver, FlatLine, Part, Rigger, WeightedLine

USUAL = {"setting": 1.0, "line_out_m": 30.0, "speed_mps": 1.1, "tip_height_m": 1.5}


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"setting": 4.0}, "setting 4 is off the dial (0 to 3)"),
        ({"setting": -0.5}, "setting -0.5 is off the dial (0 to 3)"),
        ({"setting": np.nan}, "no dial setting"),
        ({"line_out_m": np.nan}, "no line-out"),
        ({"line_out_m": 0.0}, "a line-out of 0 m; it must be above 0"),
        ({"line_out_m": 5000.0}, "a line-out of 5000 m; check the unit"),
        ({"line_out_m": 1.4}, "line too short to reach the water"),
        ({"line_out_m": 1.8}, "line too short to reach the water"),
        ({"speed_mps": np.nan}, "no speed"),
        ({"speed_mps": 0.0}, "a speed of 0 m/s; a line is towed only at a speed above 0"),
        ({"speed_mps": -1.0}, "a speed of -1 m/s; a line is towed only at a speed above 0"),
        ({"speed_mps": 40.0}, "a speed of 40 m/s; check the unit"),
        ({"tip_height_m": np.nan}, "no height of the rod tip"),
        ({"tip_height_m": -1.0}, "a rod tip at -1 m; it lies from 0 to 10 m"),
    ],
)
def test_reason(change, reason):
    out = solve(Diver(), **{**USUAL, **change})
    assert out.reason.item() == reason
    assert np.isnan(out.depth_m)


def test_one_bad_row_leaves_the_others_alone():
    out = solve(Diver(), **{**USUAL, "setting": [1.0, 9.0, 2.0]})
    assert list(np.isnan(out.depth_m)) == [False, True, False]
    assert list(out.reason) == ["", "setting 9 is off the dial (0 to 3)", ""]


def test_a_floating_disc_dives_only_above_some_speed():
    gear = Diver(weight_n=-0.5)
    out = solve(gear, **{**USUAL, "speed_mps": [0.3, 1.1]})
    assert out.reason[0].startswith("nothing keeps the line in the water")
    assert out.depth_m[1] > 0.0


def test_an_unweighted_line_with_a_weightless_lure_stays_on_top():
    gear = FlatLine(parts=(Part(name="line", diameter_mm=0.3),), lure_weight_n=0.0)
    assert solve(gear, **USUAL).reason.item().startswith("nothing keeps the line in the water")


@pytest.mark.parametrize(
    ("line_out_m", "speed_mps", "reason"),
    [
        # 160 ft of core at 5.6 and 6.7 mph: it was told to be too short to reach the water
        (48.77, 2.5, ""),
        (48.77, 3.0, "too fast for this much line: its drag lifts all of it out of the water"),
        (20.0, 2.0, "too fast for this much line: its drag lifts all of it out of the water"),
        (1.4, 0.5, "line too short to reach the water"),
    ],
)
def test_a_heavy_line_that_drag_lifts_out_is_not_called_short(gears, line_out_m, speed_mps, reason):
    out = solve(gears["lead core"], line_out_m=line_out_m, speed_mps=speed_mps, tip_height_m=1.5)
    assert out.reason.item() == reason
    assert np.isnan(out.depth_m) == bool(reason)


def test_more_line_than_there_is():
    parts = (
        Part(name="leader", length_m=3.0, diameter_mm=0.3),
        Part(name="core", length_m=20.0, diameter_mm=0.85, weight_n_per_m=0.0098),
    )
    gear = WeightedLine(parts=parts)
    columns = {"line_out_m": 25.0, "speed_mps": 0.8, "tip_height_m": 1.0}
    assert solve(gear, **columns).reason.item() == (
        "a line-out of 25 m is more than all parts of the line together"
    )
    assert solve(gear, **columns, leader_length_m=6.0).reason.item() == ""
    assert solve(gear, **columns, leader_length_m=-1.0).reason.item() == (
        "a leader of -1 m; it cannot be negative"
    )


def test_line_out_cuts_the_last_part_reached(gears):
    """Out to the core's end, the backing is not there: whatever it is changes nothing."""
    columns = {"line_out_m": 51.72, "speed_mps": 0.8}
    core = gears["lead core"]
    thicker = WeightedLine(parts=(*core.parts[:2], Part(name="backing", diameter_mm=2.0)))
    assert solve(core, **columns).depth_m == solve(thicker, **columns).depth_m


def test_only_what_matters_to_a_gear_can_spoil_its_row():
    """A rigger has no dial and hangs from its pulley, not from a rod tip."""
    out = solve(Rigger(), setting=99.0, line_out_m=30.0, speed_mps=1.1, tip_height_m=np.nan)
    assert out.reason.item() == ""


def test_a_lead_moves_nothing():
    columns = {"line_out_m": 30.0, "speed_mps": 1.1}
    out = solve(Rigger(), **columns, lead_m=[3.0, 30.0, np.nan])
    np.testing.assert_array_equal(out.depth_m, solve(Rigger(), **columns).depth_m)


@pytest.mark.parametrize("setting", [0.0, 2.0, 3.0])
def test_a_line_reaches_the_water_where_it_would_straight(setting):
    """A weightless line near its end's own direction: sag is nothing, so length is geometry.

    The disc's pull at 0, 38.5 and 47 degrees to the side, from the default areas and weight.
    """
    roll = np.radians({0.0: 0.0, 2.0: 38.5, 3.0: 47.0}[setting])
    q = 0.5 * 999.7 * 1.1**2
    lift, astern = q * 0.00625, q * (0.0045 + 0.0005)
    down, side = lift * np.cos(roll) + 0.15, lift * np.sin(roll)
    needed = 1.5 * np.sqrt(astern**2 + side**2 + down**2) / down
    out = solve(
        Diver(), **{**USUAL, "setting": setting, "line_out_m": [0.97 * needed, 1.03 * needed]}
    )
    assert list(out.reason) == ["line too short to reach the water", ""]
