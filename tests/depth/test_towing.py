"""Checks that lines solved once for all who ask are those of the model, solved alone."""

import numpy as np
import pytest

from analysis.depth import believe
from analysis.depth.kinds import Diver
from analysis.depth.towing import Towing

DIAL, SPEEDS_MPS = np.array([1.0, 3.0]), np.array([1.0, 1.3])


def test_ways_solved_together_are_those_of_the_model_and_are_solved_once():
    belief = believe(Diver())
    towing = Towing(belief=belief, tip_height_m=2.0)
    together = towing.knots(DIAL, SPEEDS_MPS, 60.0)
    for setting, speed, way in zip(DIAL, SPEEDS_MPS, together, strict=True):
        told = belief.predict(
            setting=setting, line_out_m=way.line_out_m, speed_mps=speed, tip_height_m=2.0
        )
        assert way.depth_m == pytest.approx(told.depth_m, nan_ok=True)
        doubt = np.hypot(np.linalg.norm(way.shared, axis=1), way.own_sd) * way.depth_m
        assert doubt == pytest.approx(told.depth_sd_m, nan_ok=True)
    again = towing.knots(DIAL[::-1], SPEEDS_MPS[::-1], 60.0)
    assert again[0] is together[1]
    assert len(towing.known) == 2
    towing.knots(DIAL[:1], SPEEDS_MPS[1:], 60.0)
    assert len(towing.known) == 3


def test_a_faster_boat_lifts_the_lines_as_the_way_says():
    towing = Towing(belief=believe(Diver()), tip_height_m=2.0)
    slow, usual, fast = towing.knots(np.full(3, 2.0), np.array([0.98, 1.0, 1.02]), 60.0)
    wet = usual.depth_m > 1.0
    follows = np.log(fast.depth_m[wet] / slow.depth_m[wet]) / np.log(1.02 / 0.98)
    assert usual.by_speed[wet] == pytest.approx(follows, rel=0.05)
