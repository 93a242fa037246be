"""Owns the checks of depth turned round: line-out for a depth, and the equal-depth table."""

import numpy as np
import pytest

from analysis.depth import believe, equal_depth_table, line_out_for, solve
from analysis.depth.calibrate import calibrate
from analysis.depth.kinds import Diver, Part, Rigger, WeightedLine

SPEED = 1.1


@pytest.mark.parametrize(
    ("name", "depths"),
    [
        ("diver", [6.0, 12.0, 25.0]),
        ("diver on heavy line", [6.0, 12.0, 25.0]),
        ("rigger", [5.0, 20.0, 60.0]),
        ("rigger from the surface", [5.0, 20.0, 60.0]),
        ("lead core", [3.0, 6.0, 9.0]),
        ("flat line", [2.5, 4.0, 6.0]),
    ],
)
def test_solving_with_the_answer_gives_the_wanted_depth(gears, name, depths):
    out = line_out_for(believe(gears[name]), depth_m=depths, speed_mps=SPEED, setting=1.0)
    assert list(out.reason) == ["", "", ""]
    back = solve(gears[name], setting=1.0, line_out_m=out.line_out_m, speed_mps=SPEED)
    np.testing.assert_allclose(back.depth_m, depths, rtol=1e-6)
    np.testing.assert_allclose(out.lateral_m, back.lateral_m, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(out.setback_m, back.setback_m, rtol=1e-6)


def test_a_calibrated_gear_is_turned_round_as_calibrated():
    depth = 0.85 * solve(Diver(), setting=0, line_out_m=[20.0, 30.0, 40.0], speed_mps=SPEED).depth_m
    belief = calibrate(
        Diver(), setting=0, line_out_m=[20.0, 30.0, 40.0], speed_mps=SPEED, depth_m=depth
    ).belief
    out = line_out_for(belief, depth_m=12.0, speed_mps=SPEED, setting=0)
    back = belief.predict(setting=0, line_out_m=out.line_out_m, speed_mps=SPEED)
    assert back.depth_m == pytest.approx(12.0, rel=1e-6)
    default = line_out_for(believe(Diver()), depth_m=12.0, speed_mps=SPEED, setting=0)
    assert out.line_out_m > default.line_out_m + 2.0
    assert out.line_out_sd_m < default.line_out_sd_m


def test_line_out_is_uncertain_by_the_depth_over_its_slope():
    belief = believe(Diver())
    out = line_out_for(belief, depth_m=15.0, speed_mps=SPEED, setting=1.0)
    near = out.line_out_m + np.array([-0.05, 0.05])
    slope = np.diff(solve(Diver(), setting=1.0, line_out_m=near, speed_mps=SPEED).depth_m)[0] / 0.1
    assert out.line_out_sd_m == pytest.approx(out.depth_sd_m / slope, rel=0.01)


def test_what_cannot_be_reached_is_said():
    out = line_out_for(
        believe(Diver()), depth_m=[12.0, 80.0, -1.0], speed_mps=SPEED, setting=1.0, longest_m=60.0
    )
    assert out.reason[0] == ""
    assert out.reason[1] == "cannot reach 80 m: 60 m out runs 25.1 m deep"
    assert out.reason[2] == "a wanted depth of -1 m; it must be above 0"
    assert list(np.isnan(out.line_out_m)) == [False, True, True]
    assert list(np.isnan(out.depth_sd_m)) == [False, True, True]


def test_no_more_line_than_the_parts_have():
    parts = (
        Part(name="leader", length_m=3.0, diameter_mm=0.3),
        Part(name="core", length_m=40.0, diameter_mm=0.85, weight_n_per_m=0.0098),
    )
    out = line_out_for(believe(WeightedLine(parts=parts)), depth_m=20.0, speed_mps=SPEED)
    assert out.reason.item().startswith("cannot reach 20 m: 43 m out runs")


def test_shallower_than_a_heavy_line_can_run(gears):
    """As line is taken in it leaves the water at once, from about 0.5 m: nothing lies between."""
    out = line_out_for(believe(gears["copper"]), depth_m=0.2, speed_mps=1.8)
    assert out.reason.item().startswith("cannot run as shallow as 0.2 m")


def test_off_the_dial_stays_a_reason():
    out = line_out_for(believe(Diver()), depth_m=12.0, speed_mps=SPEED, setting=5.0)
    assert out.reason.item() == "setting 5 is off the dial (0 to 3)"


def test_equal_depth_table_holds_every_gear_setting_and_side():
    beliefs = {"diver": believe(Diver()), "rigger": believe(Rigger())}
    table = equal_depth_table(beliefs, depth_m=15.0, speed_mps=SPEED)
    assert [(row.gear, row.setting) for row in table if row.side == "port"] == [
        ("diver", 0.0),
        ("diver", 1.0),
        ("diver", 2.0),
        ("diver", 3.0),
        ("rigger", None),
    ]
    for port, starboard in zip(table[::2], table[1::2], strict=True):
        assert (port.side, starboard.side) == ("port", "starboard")
        assert port.line_out_m == starboard.line_out_m
        assert port.lateral_m == -starboard.lateral_m
        assert port.lateral_m <= 0.0
    outs = [row.line_out_m for row in table[:8:2]]
    assert outs == sorted(outs)
