"""Owns the check of calibration: recovery and coverage by simulation, and every poor set of
trials that a boat may bring."""

from dataclasses import replace

import made_boats
import numpy as np
import pytest
from scipy.special import erfinv

from analysis.depth import Columns, SetErrors, believe, solve
from analysis.depth.calibrate import calibrate
from analysis.depth.kinds import Diver, Rigger
from analysis.depth.lures import Lure
from analysis.depth.slopes import log_depth, slopes_of
from analysis.depth.trialfit import trial_errors

NOISE = 0.03  # of a trial, as on the shared physics page


def trials_of(gear, values, rng, settings, *, noise=NOISE, shortest_m=15.0):
    """Trials of a gear whose parameters have these values."""
    count = len(settings)
    columns = {
        "setting": np.asarray(settings, dtype=float),
        "line_out_m": rng.uniform(shortest_m, 60.0, count),
        "speed_mps": rng.uniform(0.9, 1.4, count),
    }
    depth = np.exp(log_depth(gear, Columns.of(**columns), believe(gear).water, values))
    return {**columns, "depth_m": depth * np.exp(noise * rng.normal(size=count))}


def rms(values):
    return np.sqrt(np.mean(values**2))


@pytest.mark.parametrize(
    ("count", "slip", "most"),
    [
        (0, None, 0.28),
        (8, None, 0.03),
        (8, made_boats.wrong_setting, 0.06),
        (8, made_boats.swapped_digits, 0.09),
    ],
)
def test_a_divers_new_haul_lies_in_its_interval(count, slip, most):
    """15 boats tell an rms error to a third and coverage to some 8 points (90 % of chance), the
    bounds are that much wider than what 60 boats show in tests/benchmarks."""
    error, _, covered = made_boats.study("diver", count, 15, seed=1, slip=slip)
    assert error <= most
    assert covered >= 0.77


@pytest.mark.parametrize("name", ["rigger", "lead core"])
def test_eight_trials_predict_other_gears_new_haul(name):
    """One parameter rules all hauls of a boat here: 6 boats tell the size of the error in sds
    to a factor of 2 (90 % of chi-square), not the coverage to a few points."""
    error, stated, _ = made_boats.study(name, 8, 6, seed=2)
    assert error <= 0.09
    assert 1 / 2 < error / stated < 2


def test_more_trials_teach_more():
    error = [made_boats.study("diver", count, 8, seed=3)[0] for count in (4, 16)]
    assert error[0] > error[1]
    assert error[1] < 0.025


def test_a_setting_never_tried_learns_from_its_neighbours():
    """Settings 1 and 3 run shallower than written: setting 2, too, and better known. Between two
    marks known exactly a correlation r leaves sqrt((1 - r^2) / (1 + r^2)) = 0.775 of the sd."""
    columns = {"setting": [0.0, 1.0, 3.0] * 4, "line_out_m": np.linspace(20.0, 50.0, 12)}
    factor = np.tile([1.0, 0.85, 0.75], 4)
    depth = factor * solve(Diver(), **columns, speed_mps=1.1).depth_m
    haul = {"setting": 2.0, "line_out_m": 35.0, "speed_mps": 1.1}
    before = believe(Diver()).predict(**haul)
    after = calibrate(Diver(), **columns, speed_mps=1.1, depth_m=depth).belief.predict(**haul)
    assert 0.75 < after.depth_m / before.depth_m < 0.97
    assert after.shared_sd_m / after.depth_m < 0.8 * before.shared_sd_m / before.depth_m


def test_no_trial_leaves_the_prior():
    out = calibrate(Diver(), setting=[], line_out_m=[], speed_mps=[], depth_m=[])
    assert out.notes == ("no trial could be used: everything stays at its prior",)
    assert out.belief.trials == 0
    np.testing.assert_array_equal(out.belief.covariance, believe(Diver()).covariance)
    assert out.next_trial.sd_then < out.next_trial.sd_now


def test_two_trials_help():
    truth = np.array([-0.15, 0.2, 0.0, 0.0, 0.0])
    trials = trials_of(Diver(), truth, np.random.default_rng(4), [0, 1])
    out = calibrate(Diver(), **trials)
    before = np.abs(out.before.depth_m / trials["depth_m"] - 1)
    after = np.abs(out.after.depth_m / trials["depth_m"] - 1)
    assert np.all(before > 0.08)
    assert np.all(after < 0.06)
    assert np.all(out.after.shared_sd_m < out.before.shared_sd_m)


def test_two_hundred_trials_leave_little_to_learn():
    truth = np.array([0.1, -0.2, 0.05, -0.1, 0.1])
    rng = np.random.default_rng(5)
    out = calibrate(Diver(), **trials_of(Diver(), truth, rng, [0, 1, 2, 3] * 50))
    assert out.belief.trials + out.left_out.sum() == 200
    assert out.left_out.sum() <= 1
    hauls = Columns.of(setting=[0, 1, 2, 3], line_out_m=40.0, speed_mps=1.1)
    depth = np.exp(log_depth(Diver(), hauls, out.belief.water, truth))
    np.testing.assert_allclose(out.belief.predict_columns(hauls).depth_m, depth, rtol=0.015)
    towed = out.trials
    assumed = trial_errors(believe(Diver()), towed.columns, towed.depth_m)
    assert rms(out.error_scale * assumed) == pytest.approx(NOISE, rel=0.15)


def test_trials_without_error_give_the_truth_back():
    truth = np.array([0.08, -0.1, 0.03, -0.06, 0.05])
    rng = np.random.default_rng(6)
    trials = trials_of(Diver(), truth, rng, [0, 1, 2, 3] * 10, noise=0.0)
    out = calibrate(Diver(), **trials)
    assert np.nanmax(np.abs(out.residual)) < 0.005


@pytest.mark.parametrize("count", [4, 8, 16])
@pytest.mark.parametrize("factor", [0.3048, 1.6])
def test_one_mistyped_trial_is_found_named_and_left_out(count, factor):
    truth = np.array([0.05, 0.1, 0.0, 0.05, 0.0])
    trials = trials_of(
        Diver(), truth, np.random.default_rng(7), np.resize([0, 1, 2, 3], count), noise=0.02
    )
    good = calibrate(Diver(), **trials)
    depth = trials["depth_m"].copy()
    depth[2] *= factor
    out = calibrate(Diver(), **{**trials, "depth_m": depth})
    assert list(np.flatnonzero(out.left_out)) == [2]
    assert any(note.startswith("trial 3 is left out: it logged") for note in out.notes)
    # The others still say what they said.
    others = np.arange(count) != 2
    np.testing.assert_allclose(out.after.depth_m[others], good.after.depth_m[others], rtol=0.06)


def test_a_shared_error_is_no_outlier():
    """All trials a quarter shallower than the defaults: the gear differs, the trials agree."""
    columns = {"setting": [0.0, 0.0, 1.0, 2.0], "line_out_m": [20.0, 40.0, 30.0, 30.0]}
    depth = 0.75 * solve(Diver(), **columns, speed_mps=1.1).depth_m
    out = calibrate(Diver(), **columns, speed_mps=1.1, depth_m=depth)
    assert not out.left_out.any()
    np.testing.assert_allclose(out.after.depth_m, depth, rtol=0.06)


def roll_sds(out):
    return {row.label: (row.prior_sd, row.sd) for row in out.learnt if row.label.startswith("roll")}


def test_without_setting_0_the_roll_stays_near_its_prior_and_the_report_says_so():
    truth = np.zeros(5)
    trials = trials_of(Diver(), truth, np.random.default_rng(8), [1] * 8)
    out = calibrate(Diver(), **trials)
    assert any(note.startswith("setting 0 was never tried") for note in out.notes)
    assert any("setting 2, 3;" in note for note in out.notes)
    prior_sd, sd = roll_sds(out)["roll at setting 1"]
    assert sd > 0.8 * prior_sd
    assert not any(row.learnt for row in out.learnt if row.label.startswith("roll"))


def test_with_setting_0_the_roll_is_learnt():
    trials = trials_of(Diver(), np.zeros(5), np.random.default_rng(9), [0, 3] * 12)
    out = calibrate(Diver(), **trials)
    prior_sd, sd = roll_sds(out)["roll at setting 3"]
    assert sd < 0.3 * prior_sd
    assert not any(note.startswith("setting 0") for note in out.notes)


def test_one_speed_is_enough_for_a_diver_and_said_of_lead_core(gears):
    for name, said in (("diver", False), ("lead core", True)):
        columns = {"setting": [0.0] * 6, "line_out_m": np.linspace(35.0, 75.0, 6), "speed_mps": 1.0}
        depth = 1.05 * solve(gears[name], **columns).depth_m
        out = calibrate(gears[name], **columns, depth_m=depth)
        np.testing.assert_allclose(out.after.depth_m, depth, rtol=0.03)
        assert any("depth at other speeds" in note for note in out.notes) == said


def test_pull_angle_and_line_drag_trade_off():
    """Correlation about 0.9 (shared physics page): neither is to be read by itself."""
    trials = trials_of(Diver(), np.zeros(5), np.random.default_rng(10), [0] * 16)
    covariance = calibrate(Diver(), **trials).belief.covariance[:2, :2]
    sd = np.sqrt(np.diag(covariance))
    assert covariance[0, 1] / sd.prod() == pytest.approx(0.9, abs=0.08)


def test_trials_that_cannot_be_used_keep_their_place_and_say_why():
    out = calibrate(
        Diver(),
        setting=[1.0, 8.0, 1.0, 1.0, 1.0],
        line_out_m=[30.0, 30.0, 30.0, np.nan, 30.0],
        speed_mps=1.1,
        depth_m=[15.0, 15.0, np.nan, 15.0, 150.0],
    )
    assert list(out.trials.reason) == [
        "",
        "setting 8 is off the dial (0 to 3)",
        "no logged depth",
        "no line-out",
        "logged deeper than the line is long",
    ]
    assert list(np.isnan(out.residual)) == [False, True, True, True, True]
    assert "trial 5 cannot be used: logged deeper than the line is long" in out.notes
    assert out.belief.trials == 1


def test_the_next_trial_is_where_it_lowers_the_variance_most():
    """Settings 0 to 2 known well and 3 never tried: that one is next. What it is said to buy is
    what it buys in the mean over what it may say, by five equal shares of the belief."""
    trials = trials_of(Diver(), np.zeros(5), np.random.default_rng(11), [0, 1, 2] * 3)
    out = calibrate(Diver(), **trials)
    following = out.next_trial
    assert following.setting >= 3.0
    tried = {name: getattr(following, name) for name in ("setting", "line_out_m", "speed_mps")}
    expected = out.belief.predict(**tried)
    left = []
    for share in np.arange(0.1, 1.0, 0.2):
        off = np.sqrt(2.0) * erfinv(2.0 * share - 1.0) * expected.shared_sd_m / expected.depth_m
        said = {**tried, "depth_m": expected.depth_m * np.exp(off)}
        more = {name: [*values, float(said[name])] for name, values in trials.items()}
        day = [0] * out.trials.depth_m.size + [1]
        left.append(calibrate(Diver(), **more, day=day, uses=out.uses).next_trial.sd_now)
    assert following.sd_then == pytest.approx(rms(np.array(left)), rel=0.25)
    assert following.sd_then < 0.5 * following.sd_now


def test_trials_with_a_lure_that_dives_teach_the_gear_and_not_the_lure():
    """Gear as believed, tried with a plug: told of it, the gear stays; not told, the plug's dive
    passes for the gear's. Its lift is doubted, so that such trials teach less."""
    plug = Lure(name="plug", lift_area_m2=0.0015, drag_area_m2=0.0015, doubt=0.3)
    towed = {"setting": 1.0, "line_out_m": [25.0, 45.0], "speed_mps": [1.0, 1.2]}
    haul = {"setting": 1.0, "line_out_m": 35.0, "speed_mps": 1.1}
    deep = solve(Diver(), **towed, lure=plug).depth_m
    told, untold = (
        calibrate(Diver(), **towed, **lure, depth_m=deep).belief.predict(**haul)
        for lure in (plug.columns, {})
    )
    assert told.depth_m == pytest.approx(solve(Diver(), **haul).depth_m, rel=0.02)
    assert untold.depth_m > 1.1 * told.depth_m
    sd = [one.shared_sd_m / one.depth_m for one in (told, untold)]
    assert sd[0] > 1.5 * sd[1]


def test_trials_of_one_morning_share_its_water():
    """Against generalised least squares (Aitken 1935), the shear in the errors' covariance: ours
    stands among the unknowns. Eight mornings tell more of the gear than one does."""
    gear, count = Rigger(), 8
    columns = {"line_out_m": np.linspace(15.0, 60.0, count), "speed_mps": np.linspace(0.9, 1.4, 8)}
    errors = SetErrors()
    calm = believe(gear, errors=replace(errors, shear_sd_per_s=0.0))
    depth = solve(gear, **columns, shear_per_s=1.5 * errors.shear_sd_per_s).depth_m
    rows = Columns.of(**columns).for_gear(gear)
    out = {
        name: calibrate(gear, **columns, depth_m=depth, day=day)
        for name, day in (("one", 0), ("eight", np.arange(count)))
    }
    sheared = [
        np.log(solve(gear, **columns, shear_per_s=way * errors.shear_sd_per_s).depth_m)
        for way in (1.0, -1.0)
    ]
    of_day = (sheared[0] - sheared[1]) / 2.0
    own = trial_errors(calm, rows, depth)
    for name, together in (("one", np.ones((count, count))), ("eight", np.eye(count))):
        belief, scale = out[name].belief, out[name].error_scale
        slopes = slopes_of(gear, rows, belief.water, belief.mean, 0.1 * np.eye(2)).shared / 0.1
        spread = np.diag((scale * own) ** 2) + np.outer(of_day, of_day) * together
        prior = np.linalg.inv(out[name].prior.covariance)
        known = np.linalg.inv(prior + slopes.T @ np.linalg.solve(spread, slopes))
        np.testing.assert_allclose(np.diag(belief.covariance), np.diag(known), rtol=0.05)
    sd = [out[name].belief.covariance[1, 1] ** 0.5 for name in ("one", "eight")]
    assert sd[0] > 1.3 * sd[1]
    # and the truth, the gear as it is written, lies within
    assert abs(out["one"].belief.mean[1]) < 2.0 * sd[0]


def noisy(columns, rng):
    """Depths that a logger reads on the defaults' own boat, 1 % off."""
    return solve(Diver(), **columns).depth_m * np.exp(rng.normal(0.0, 0.01, 8))


@pytest.mark.parametrize(
    ("column", "written", "words"),
    [
        ("line_out_m", 210 * 0.3048, "line-out 64.01 m for 36.58 m, digits swapped"),
        ("setting", 0.0, "setting 0 for 2"),
        ("depth", 0.3048, "logged depth"),
    ],
)
def test_a_suspect_trial_is_named_with_what_it_probably_was(column, written, words):
    """Line-out 210 ft for 120; setting 0 for 2; a depth in metres for feet."""
    columns = {
        "setting": np.array([0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0]),
        "line_out_m": np.array([20.0, 45.0, 25.0, 40.0, 30.0, 120 * 0.3048, 30.0, 50.0]),
        "speed_mps": 1.1,
    }
    depth = noisy(columns, np.random.default_rng(8))
    if column == "depth":
        depth[5] *= written
    else:
        columns[column][5] = written
    names = [f"the trial of line {row + 2}" for row in range(8)]
    done = calibrate(Diver(), **columns, depth_m=depth, names=names, unit_m=0.3048)
    assert done.left_out.tolist() == [row == 5 for row in range(8)]
    (note,) = [note for note in done.notes if "left out" in note]
    assert note.startswith("the trial of line 7 is left out: it logged")
    assert words in note
    assert note.endswith("?")
