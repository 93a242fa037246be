"""Owns the checks of how uncertain a depth is, and of draws that share what sets share."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.depth import Columns, SetErrors, believe
from analysis.depth.kinds import Diver, Rigger
from analysis.depth.slopes import log_depth, slopes_of

NO_SET_ERRORS = SetErrors(
    counter_sd=0.0, speed_sd_mps=0.0, current_sd_mps=0.0, turn_radius_m=np.inf, shear_sd_per_s=0.0
)


@pytest.mark.parametrize(
    ("name", "share", "shortest_m"),
    [
        ("diver", 0.20, 30.0),
        ("rigger", 0.04, 15.0),
        ("lead core", 0.16, 45.0),
        ("flat line", 0.19, 45.0),
    ],
)
def test_depth_from_defaults_is_as_uncertain_as_the_parts_priors_make_it(
    gears, name, share, shortest_m
):
    """The figures of the shared physics page, at usual line-outs of each gear."""
    out = believe(gears[name]).predict(
        setting=[[0.0], [1.0], [2.0], [3.0]],
        line_out_m=shortest_m * np.array([1.0, 1.5, 2.0]),
        speed_mps=1.1,
    )
    assert np.mean(out.depth_sd_m / out.depth_m) == pytest.approx(share, abs=0.04)


def test_a_riggers_depth_is_better_known_the_less_it_blows_back():
    out = believe(Rigger()).predict(line_out_m=[10.0, 30.0, 60.0], speed_mps=1.1)
    share = out.depth_sd_m / out.depth_m
    assert np.all(np.diff(share) > 0.0)
    assert share[0] < 0.04


def test_speed_over_ground_widens_what_depends_on_speed(gears):
    def share(name, over_ground):
        out = believe(gears[name]).predict(
            setting=1.0, line_out_m=60.0, speed_mps=1.0, speed_over_ground=over_ground
        )
        return float(out.depth_sd_m / out.depth_m)

    assert share("lead core", True) > share("lead core", False) + 0.03
    assert share("diver", True) == pytest.approx(share("diver", False), abs=0.002)


def test_a_row_without_depth_has_no_sd_and_no_draws():
    belief = believe(Diver())
    columns = {"setting": [1.0, 9.0], "line_out_m": 30.0, "speed_mps": 1.1}
    assert list(np.isnan(belief.predict(**columns).depth_sd_m)) == [False, True]
    draws = belief.draws(50, np.random.default_rng(1), set_id=[0, 1], **columns)
    assert np.isnan(draws[:, 1]).all()
    assert not np.isnan(draws[:, 0]).any()


def test_draws_have_the_predicted_centre_and_sd(gear):
    columns = {"setting": 1.0, "line_out_m": [30.0, 60.0, 90.0], "speed_mps": 0.9}
    belief = believe(gear)
    out = belief.predict(**columns)
    logs = np.log(belief.draws(4000, np.random.default_rng(2), set_id=[0, 1, 2], **columns))
    # The more a line's depth is in doubt, the more it leans: by about half the variance at most.
    share = out.depth_sd_m / out.depth_m
    lean = np.abs(np.median(logs, axis=0) - np.log(out.depth_m))
    assert np.all(lean < 0.02 + 0.6 * share**2)
    np.testing.assert_allclose(logs.std(axis=0), share, rtol=0.08)


def test_draws_are_positive_and_no_longer_than_the_line(gear):
    """Also where a line is barely in the water and its depth hardly known at all."""
    line_out = np.linspace(3.0, 40.0, 30)
    draws = believe(gear).draws(
        200,
        np.random.default_rng(3),
        set_id=np.arange(30),
        setting=1.0,
        line_out_m=line_out,
        speed_mps=1.4,
    )
    known = ~np.isnan(draws)
    assert known.any()
    assert np.all(draws[known] > 0.0)
    assert np.all((draws <= line_out)[known])


def correlation(draws):
    return np.corrcoef(np.log(draws).T)


def test_draws_share_what_sets_share():
    """One set twice, another set of the setting, another setting, and the same again later."""
    belief = believe(Diver())
    draws = belief.draws(
        3000,
        np.random.default_rng(4),
        set_id=[7, 7, 8, 9],
        setting=[2.0, 2.0, 2.0, 3.0],
        line_out_m=30.0,
        speed_mps=1.1,
    )
    together = correlation(draws)
    assert together[0, 1] == pytest.approx(1.0, abs=1e-12)
    assert 0.95 < together[0, 2] < 0.995  # apart only by counter and speed
    assert 0.04 < together[0, 3] < together[0, 2] - 0.2  # another roll, the same pull and line


def test_without_errors_of_their_own_sets_of_a_setting_move_as_one():
    belief = believe(Diver(), errors=NO_SET_ERRORS)
    draws = belief.draws(
        500, np.random.default_rng(5), set_id=[1, 2], setting=1.0, line_out_m=30.0, speed_mps=1.1
    )
    np.testing.assert_array_equal(draws[:, 0], draws[:, 1])


def test_draws_repeat_with_their_seed():
    belief = believe(Diver())
    columns = {"set_id": [1, 2], "setting": 1.0, "line_out_m": 30.0, "speed_mps": 1.1}
    one = belief.draws(20, np.random.default_rng(6), **columns)
    two = belief.draws(20, np.random.default_rng(6), **columns)
    np.testing.assert_array_equal(one, two)


@pytest.mark.parametrize("name", ["diver", "rigger", "lead core", "flat line"])
def test_linear_draws_agree_with_solving_the_whole_model_for_each(gears, name):
    """Draws are linear in log depth: held against the model itself, parameters drawn alike."""
    gear, rng = gears[name], np.random.default_rng(7)
    belief = believe(gear, errors=NO_SET_ERRORS)
    columns = {"setting": [0.0, 1.5, 3.0], "line_out_m": 60.0, "speed_mps": 1.1}
    values = rng.multivariate_normal(belief.mean, belief.covariance, 1500)
    rows = Columns.of(**columns).take(np.tile(np.arange(3), 1500))
    whole = log_depth(gear, rows, belief.water, np.repeat(values.T, 3, axis=1)).reshape(1500, 3)
    linear = np.log(belief.draws(6000, rng, set_id=[0, 1, 2], **columns))
    # Small against the sd of 8 to 16 %; 1500 draws tell a median to 0.5 %, an sd to 2 %.
    np.testing.assert_allclose(np.median(linear, axis=0), np.median(whole, axis=0), atol=0.03)
    np.testing.assert_allclose(linear.std(axis=0), whole.std(axis=0), rtol=0.1)


def test_rows_may_share_slopes_but_never_depths():
    """Slopes are worked out once a cell of 8 %: the sd of near rows agrees within 3 %."""
    belief = believe(Diver())
    line_out = np.linspace(30.0, 31.0, 40)
    together = belief.predict(setting=1.0, line_out_m=line_out, speed_mps=1.1)
    alone = [belief.predict(setting=1.0, line_out_m=length, speed_mps=1.1) for length in line_out]
    np.testing.assert_allclose(together.depth_m, [float(one.depth_m) for one in alone])
    np.testing.assert_allclose(
        together.depth_sd_m, [float(one.depth_sd_m) for one in alone], rtol=0.03
    )


def test_loadings_carry_the_same_errors_as_the_prediction(gear):
    belief = believe(gear)
    columns = Columns.of(setting=[0.0, 2.0], line_out_m=[40.0, 70.0], speed_mps=1.0)
    columns = columns.for_gear(gear)
    out = belief.predict_columns(columns)
    found = belief.loadings(columns)
    shared, own = found.shared, found.own_sd
    np.testing.assert_allclose(np.linalg.norm(shared, axis=1) * out.depth_m, out.shared_sd_m)
    whole = np.hypot(np.linalg.norm(shared, axis=1), own) * out.depth_m
    np.testing.assert_allclose(whole, out.depth_sd_m)


def test_slopes_agree_with_small_steps():
    gear, columns = Diver(), Columns.of(setting=[1.0, 2.5], line_out_m=40.0, speed_mps=1.1)
    belief = believe(gear)
    slopes = slopes_of(gear, columns, belief.water, belief.mean)
    longer = replace(columns, line_out_m=columns.line_out_m * np.exp(1e-5))
    by_step = log_depth(gear, longer, belief.water, belief.mean)
    by_step = (by_step - log_depth(gear, columns, belief.water, belief.mean)) / 1e-5
    np.testing.assert_allclose(slopes.line_out, by_step, rtol=1e-3)


def test_every_prior_says_where_it_comes_from(gear):
    for parameter in gear.parameters():
        assert parameter.sd > 0.0
        assert len(parameter.source) > 20


@pytest.mark.parametrize("name", ["diver", "rigger", "lead core"])
def test_a_row_s_doubt_does_not_depend_on_the_rows_beside_it(gears, name):
    """Slopes are shared by rows of a narrow cell: none is so wide that it shows."""
    belief = believe(gears[name])
    setting = np.repeat([0.0, 1.0, 2.0, 3.0], 4)
    line_out = np.tile([20.0, 40.0, 60.0, 90.0], 4)
    together = belief.predict(setting=setting, line_out_m=line_out, speed_mps=1.1)
    alone = [
        float(belief.predict(setting=s, line_out_m=out, speed_mps=1.1).depth_sd_m)
        for s, out in zip(setting, line_out, strict=True)
    ]
    np.testing.assert_allclose(together.depth_sd_m, alone, rtol=0.005)
