"""Owns the checks of the spread's shape: paths to scale, and how near neighbours come."""

import numpy as np
import pytest

from analysis.depth import Columns, RodLine, believe, clearances, line_path, line_paths, solve
from analysis.depth.clearance import SIDEWAYS_CLEARANCE_M, LinePath
from analysis.depth.kinds import Diver, Rigger

DIVER = believe(Diver())


def rod(name, side, setting, line_out_m, tip_y_m, **more):
    return RodLine(
        rod=name,
        belief=DIVER,
        side=side,
        setting=setting,
        line_out_m=line_out_m,
        speed_mps=1.1,
        tip_y_m=tip_y_m,
        **more,
    )


def straight(name, end, tip):
    points = np.linspace(end, tip, 30)
    return LinePath(rod=name, points_m=points, depth_m=end[2], reason="")


def test_a_path_runs_from_the_diver_to_the_tip_and_is_as_long_as_the_line(gear):
    line = RodLine(
        rod="S1",
        belief=believe(gear),
        line_out_m=60.0,
        speed_mps=1.0,
        side="starboard",
        setting=2.0,
        tip_x_m=-0.5,
        tip_y_m=1.5,
        tip_height_m=2.0,
    )
    path = line_path(line, points=400)
    out = solve(gear, setting=2.0, line_out_m=60.0, speed_mps=1.0, tip_height_m=2.0)
    end, tip = path.points_m[0], path.points_m[-1]
    expected = [out.setback_m - 0.5, out.lateral_m + 1.5, out.depth_m]
    np.testing.assert_allclose(end, expected, rtol=1e-4, atol=1e-6)
    height = gear.pulley_height_m if isinstance(gear, Rigger) else 2.0
    np.testing.assert_allclose(tip, [-0.5, 1.5, -height], atol=1e-9)
    length = np.linalg.norm(np.diff(path.points_m, axis=0), axis=1).sum()
    below_pulley = 0.0
    if isinstance(gear, Rigger) and gear.counter_zero == "surface":
        below_pulley = gear.pulley_height_m
    assert length == pytest.approx(60.0 + below_pulley, rel=2e-4)
    assert path.depth_m == pytest.approx(float(out.depth_m))
    assert np.all(np.diff(path.points_m[:, 2]) <= 1e-9)


def test_a_calibrated_line_is_drawn_as_calibrated():
    belief = believe(Diver())
    moved = type(belief)(**{**vars(belief), "mean": belief.mean + 0.1})
    line = RodLine(rod="P1", belief=moved, line_out_m=30.0, speed_mps=1.1, side="port", setting=1.0)
    columns = Columns.of(setting=1.0, line_out_m=30.0, speed_mps=1.1)
    assert line_path(line).points_m[0, 2] == pytest.approx(
        moved.solve(columns).depth_m[0], rel=1e-6
    )


def test_a_line_without_an_answer_has_no_path_and_spoils_no_other():
    off_the_dial = rod("P1", "port", 9.0, 30.0, -1.0)
    rest = [rod("P2", "port", 1.0, 30.0, -1.0), rod("S1", "starboard", 1.0, 30.0, 1.0)]
    ball = RodLine(rod="PR", belief=believe(Rigger()), side="port", line_out_m=15.0, speed_mps=1.1)
    paths = line_paths([off_the_dial, rest[0], ball, rest[1]])
    assert [path.rod for path in paths] == ["P1", "P2", "PR", "S1"]
    for together, alone in zip(paths[1:], map(line_path, (rest[0], ball, rest[1])), strict=True):
        np.testing.assert_allclose(together.points_m, alone.points_m, rtol=1e-9, atol=1e-9)
    paths = [paths[0], paths[1], paths[3]]
    assert paths[0].reason == "setting 9 is off the dial (0 to 3)"
    assert paths[0].points_m.shape == (0, 3)
    (pair,) = clearances(paths)
    assert (pair.rod, pair.other) == ("P2", "S1")


def test_least_distance_of_two_straight_lines():
    """Parallel lines 6 m apart, and two that pass each other at right angles 2 m apart."""
    (pair,) = clearances(
        [
            straight("a", [50.0, 0.0, 20.0], [0.0, 0.0, 0.0]),
            straight("b", [50.0, 6.0, 20.0], [0.0, 6.0, 0.0]),
        ]
    )
    assert pair.least_m == pytest.approx(6.0, abs=1e-9)
    assert pair.sideways_m == pytest.approx(6.0)
    (pair,) = clearances(
        [
            straight("a", [10.0, -10.0, 12.0], [10.0, 10.0, 10.0 - 1e-6]),
            straight("b", [20.0, 0.0, 13.0], [0.0, 0.0, 13.0 - 1e-6]),
        ]
    )
    assert pair.least_m == pytest.approx(2.0 / np.hypot(1.0, 0.1), abs=0.01)
    assert pair.least_at_depth_m == pytest.approx(11.0, abs=0.1)


def test_neighbours_are_taken_from_port_to_starboard_whatever_their_order():
    paths = [
        line_path(rod(name, side, setting, 30.0, tip))
        for name, side, setting, tip in (
            ("S1", "starboard", 1.0, 1.5),
            ("P2", "port", 3.0, -2.0),
            ("P1", "port", 1.0, -1.5),
            ("S2", "starboard", 3.0, 2.0),
        )
    ]
    pairs = clearances(paths)
    assert [(pair.rod, pair.other) for pair in pairs] == [("P2", "P1"), ("P1", "S1"), ("S1", "S2")]
    mirrored = [pair.least_m for pair in pairs]
    assert mirrored[0] == pytest.approx(mirrored[2], rel=1e-9)


def test_divers_too_close_sideways_are_flagged():
    """15 ft: common practice, no source."""
    assert pytest.approx(15 * 0.3048) == SIDEWAYS_CLEARANCE_M
    near = [
        line_path(rod("P1", "port", 2.0, 30.0, -1.5)),
        line_path(rod("P2", "port", 2.5, 32.0, -2.0)),
    ]
    far = [near[0], line_path(rod("P2", "port", 3.0, 60.0, -2.0))]
    assert clearances(near)[0].too_close
    assert not clearances(far)[0].too_close
    assert not clearances(near, clearance_m=1.0)[0].too_close


def test_a_fish_on_the_outer_line_passes_behind_only_if_that_line_is_longer():
    inner = line_path(rod("P1", "port", 1.0, 30.0, -1.5))
    longer = line_path(rod("P2", "port", 3.0, 45.0, -2.0))
    shorter = line_path(rod("P2", "port", 3.0, 20.0, -2.0))
    assert clearances([inner, longer])[0].fish_passes_behind
    assert not clearances([inner, shorter])[0].fish_passes_behind


def test_lines_that_change_places_are_flagged():
    """The steeper setting from the outer rod: its line crosses under the flatter one's."""
    crossed = [
        line_path(rod("P1", "port", 3.0, 30.0, -1.0)),
        line_path(rod("P2", "port", 0.0, 30.0, -2.5)),
    ]
    kept = [
        line_path(rod("P1", "port", 0.0, 30.0, -1.0)),
        line_path(rod("P2", "port", 3.0, 30.0, -2.5)),
    ]
    assert clearances(crossed)[0].crossed
    assert not clearances(kept)[0].crossed


def test_every_pair_is_looked_at_and_told_only_where_it_may_tangle():
    """The outer two cross under the one between them at the surface's far side."""
    paths = [
        straight("a", [40.0, -2.0, 20.0], [0.0, 3.0, 0.0]),
        straight("b", [40.0, 0.0, 5.0], [0.0, 0.0, 0.0]),
        straight("c", [40.0, 2.0, 20.0], [0.0, -3.0, 0.0]),
    ]
    pairs = {(pair.rod, pair.other): pair for pair in clearances(paths)}
    assert set(pairs) == {("a", "b"), ("b", "c"), ("a", "c")}
    assert pairs["a", "c"].crossed
    far = [
        straight(name, [40.0, y, 20.0], [0.0, y, 0.0])
        for name, y in (("a", -5), ("b", 0), ("c", 5))
    ]
    assert [(pair.rod, pair.other) for pair in clearances(far)] == [("a", "b"), ("b", "c")]


def test_only_divers_of_a_side_are_held_apart_sideways():
    """A rigger's ball hangs under a flat line 2 m beside it: they do not meet."""
    rigger = line_path(
        RodLine(rod="R", belief=believe(Rigger()), line_out_m=20.0, speed_mps=1.1, side="port",
                tip_y_m=-1.2, trail_m=5.0)
    )  # fmt: skip
    diver = line_path(rod("P1", "port", 0.0, 30.0, -3.0))
    (pair,) = clearances([rigger, diver])
    assert pair.too_close
    assert not pair.flagged
    beside = line_path(rod("P2", "port", 0.5, 30.0, -3.0))
    (pair,) = clearances([beside, diver])
    assert pair.flagged
