"""Owns the tests of what strikes tell of line-outs whose depth nobody measured."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analysis.decision.bands import NEAR
from analysis.spread.expected import Advice, LineRates
from analysis.spread.line_outs import Advised
from analysis.spread.unmeasured import unmeasured

SURE, UNSURE = 0.5 * (1.0 - NEAR), 1.5 * (1.0 - NEAR)
"""Shares of the best line-out's rate given up in one draw of twenty."""
COVERING = pd.DataFrame({"gear": ["diver", "core"], "setting": [2.0, np.nan]})


def boat(**trials):
    """A boat with so many soaks of each gear."""
    return SimpleNamespace(belief=lambda gear: SimpleNamespace(trials=trials.get(gear, 0)))


def advised(setting, loss_high):
    nothing = np.zeros((1, 1))
    advice = Advice(
        line_out_m=33.0,
        line_out_low_m=30.0,
        line_out_high_m=38.0,
        depth_m=15.0,
        depth_low_m=13.0,
        depth_high_m=18.0,
        rate=0.1,
        rate_low=0.08,
        rate_high=0.12,
        loss=0.01,
        loss_low=0.0,
        loss_high=loss_high,
        rates=LineRates(line_out_m=nothing[0], depth_m=nothing[0], rate=nothing),
    )
    return Advised(
        period="season", gear="diver", lure="", setting=setting, speed_mps=1.1, advice=advice
    )


def test_each_line_out_of_the_plan_is_told_with_the_depths_it_may_run_at():
    lines = {("diver", ""): [advised(2.0, SURE)], ("core", ""): [advised(np.nan, UNSURE)]}
    first, second = unmeasured(lines, boat(), COVERING, told=True, capped=False)
    assert (first.gear, first.setting, first.verdict) == ("diver", 2.0, "clear")
    assert (first.low_m, first.high_m) == (30.0, 38.0)
    assert (first.depth_low_m, first.depth_high_m) == (13.0, 18.0)
    assert (second.gear, second.verdict) == ("core", "leaning")
    assert np.isnan(second.setting)


def test_gear_that_a_soak_tried_and_settings_that_are_not_in_the_plan_are_left_out():
    lines = {
        ("diver", ""): [advised(1.0, SURE), advised(2.0, SURE)],
        ("core", ""): [advised(np.nan, SURE)],
    }
    (found,) = unmeasured(lines, boat(core=1), COVERING, told=True, capped=False)
    assert (found.gear, found.setting) == ("diver", 2.0)
    assert unmeasured(lines, boat(core=1, diver=2), COVERING, told=True, capped=False) == ()


@pytest.mark.parametrize(
    ("loss_high", "told", "capped", "verdict"),
    [
        (1.0 - NEAR, True, False, "clear"),
        (1.001 - NEAR, True, False, "leaning"),
        (SURE, True, True, "leaning"),
        (SURE, False, False, "open"),
        (UNSURE, False, True, "open"),
    ],
)
def test_clear_takes_a_small_loss_a_depth_that_is_told_and_nothing_that_caps(
    loss_high, told, capped, verdict
):
    lines = {("diver", ""): [advised(2.0, loss_high)]}
    (found,) = unmeasured(lines, boat(), COVERING, told=told, capped=capped)
    assert found.verdict == verdict
