"""Owns the tests of the temperature at a lure."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from scipy.interpolate import RegularGridInterpolator

from analysis.effort import Reach, TemperatureField
from analysis.effort.temperature import (
    CAST_TOO_FAR,
    LASTING_DAYS,
    NO_CAST,
    NO_DEPTH,
    TOO_DEEP,
    TOO_SHALLOW,
)
from analysis.log import read_log
from analysis.log.schema import blank_table

NOON = pd.Timestamp("2026-07-04 12:00", tz="UTC")


def days(number):
    return NOON + pd.to_timedelta(np.atleast_1d(number).astype(float), unit="D")


@pytest.fixture
def field(tmp_path, season_files):
    """Make a field of casts {day: {depth: temp}} and of readings, on top of the usual season."""
    log = read_log(season_files.write(tmp_path))

    def of(casts, readings=(), **reach):
        rows = [
            ("T1", days(day)[0], depth, temp, 0)
            for day, profile in casts.items()
            for depth, temp in profile.items()
        ]
        frame = pd.DataFrame(rows, columns=["trip", "time", "depth_m", "temp_c", "line"])
        frame = frame.astype(blank_table("casts").dtypes)
        told = pd.DataFrame(
            readings, columns=["trip", "day", "surface_temp_c", "depth_temp_c", "z"]
        )
        told = told.astype(
            {"trip": "str", "surface_temp_c": float, "depth_temp_c": float, "z": float}
        )
        told["time"] = days(told.pop("day"))
        told = told.rename(columns={"z": "probe_depth_m"})
        changed = dataclasses.replace(log, casts=frame, readings=told)
        return TemperatureField.from_log(changed, Reach(**reach))

    return of


def ask(field, day, depth, trip="T1"):
    day, depth = np.broadcast_arrays(np.asarray(day, float), np.asarray(depth, float))
    temp, reason = field.at([trip] * day.size, days(day), depth)
    assert (np.isnan(temp) == (reason != "")).all()
    return temp, reason


def test_between_casts_it_is_the_bilinear_interpolation_of_an_independent_library(field):
    rng = np.random.default_rng(1)
    depths, when = np.array([0.0, 3, 8, 15, 30, 50]), np.array([0.0, 4, 5, 17])
    temps = rng.uniform(4, 20, (len(when), len(depths)))
    made = field(
        {d: dict(zip(depths, row, strict=True)) for d, row in zip(when, temps, strict=True)}
    )
    day, depth = rng.uniform(0, 17, 500), rng.uniform(0, 50, 500)
    expected = RegularGridInterpolator((when, depths), temps)(np.column_stack([day, depth]))
    np.testing.assert_allclose(ask(made, day, depth)[0], expected, atol=1e-5)


def test_draws_of_depth_are_answered_in_their_shape(field):
    made = field({0: {0: 20, 10: 10}, 2: {0: 22, 10: 12}})
    depth = np.array([[0.0, 5.0, 10.0], [10.0, 5.0, np.nan]])
    temp, reason = made.at(["T1", "T1", "T2"], days([0, 1, 2]), depth)
    np.testing.assert_allclose(temp, [[20, 16, 12], [10, 16, np.nan]])
    assert reason.tolist() == [["", "", ""], ["", "", NO_DEPTH]]


def test_values_are_exact_at_a_cast(field):
    made = field({0: {0: 20, 10: 10}, 2: {0: 22, 10: 12}})
    np.testing.assert_allclose(ask(made, [0, 2], [10, 10])[0], [10, 12])


def test_a_cast_holds_a_while_before_and_after_it(field):
    made = field({0: {0: 20, 10: 10}}, hold_days=3)
    temp, reason = ask(made, [-3.01, -3, 3, 3.01], 10)
    np.testing.assert_allclose(temp, [np.nan, 10, 10, np.nan])
    assert reason.tolist() == [CAST_TOO_FAR, "", "", CAST_TOO_FAR]


def test_a_long_gap_is_not_bridged_but_each_end_holds(field):
    made = field({0: {0: 20, 10: 10}, 30: {0: 10, 10: 6}}, between_days=21, hold_days=7)
    temp, reason = ask(made, [6.9, 7.1, 22.9, 23.1], 10)
    np.testing.assert_allclose(temp, [10, np.nan, np.nan, 6])
    assert reason.tolist() == ["", CAST_TOO_FAR, CAST_TOO_FAR, ""]


def test_below_the_deepest_value_it_holds_a_little(field):
    made = field({0: {0: 20, 10: 10}}, below_m=6)
    temp, reason = ask(made, 0, [10, 15.9, 16.1])
    np.testing.assert_allclose(temp, [10, 10, np.nan])
    assert reason.tolist() == ["", "", TOO_DEEP]


def test_above_the_shallowest_value_it_holds_a_little_without_surface_reading(field):
    made = field({0: {10: 10, 20: 6}}, above_m=6)
    temp, reason = ask(made, 0, [3.9, 4.1])
    np.testing.assert_allclose(temp, [np.nan, 10])
    assert reason.tolist() == [TOO_SHALLOW, ""]


def test_where_one_of_two_casts_is_too_shallow_the_other_holds_if_near(field):
    made = field({0: {0: 20, 40: 5}, 10: {0: 20, 10: 10}}, hold_days=4)
    temp, reason = ask(made, [0, 3.9, 4.1], 30)
    np.testing.assert_allclose(temp, [8.75, 8.75, np.nan])
    assert reason.tolist() == ["", "", TOO_DEEP]


def test_surface_reading_stands_for_the_skin_of_a_cast(field):
    made = field({0: {0: 20, 2: 18, 10: 10}}, [("T1", 0.0, 24.0, np.nan, np.nan)])
    np.testing.assert_allclose(ask(made, 0, [0, 1, 2, 6])[0], [24, 21, 18, 14])
    # another trip has no reading of its own
    np.testing.assert_allclose(ask(made, 0, [0, 1], trip="T2")[0], [20, 19])


def test_surface_reading_holds_until_the_next_and_before_the_first(field):
    made = field(
        {0: {0: 20, 2: 18}}, [("T1", 0.0, 24.0, np.nan, np.nan), ("T1", 0.1, 26, *[np.nan] * 2)]
    )
    np.testing.assert_allclose(ask(made, [-0.1, 0.0999, 0.1, 0.3], 0)[0], [24, 24, 26, 26])


def test_surface_reading_reaches_down_to_a_cast_that_begins_deeper(field):
    made = field({0: {10: 10, 20: 6}}, [("T1", 0.0, 20.0, np.nan, np.nan)])
    np.testing.assert_allclose(ask(made, 0, [0, 5, 10])[0], [20, 15, 10])


def test_probe_shifts_the_profile_around_its_depth(field):
    made = field({0: {0: 20, 20: 10}}, [("T1", 0.0, np.nan, 16.0, 10.0)], probe_m=4, probe_h=1)
    np.testing.assert_allclose(ask(made, 0, [10, 12, 14, 18])[0], [16, 14.5, 13, 11])
    np.testing.assert_allclose(ask(made, [1 / 24, 1.01 / 24], 10)[0], [16, 15])


def test_probe_alone_tells_only_of_its_own_depth(field):
    made = field({}, [("T1", 0.0, 20.0, 9.0, 10.0)], probe_m=4)
    temp, reason = ask(made, 0, [7.9, 8.1, 11.9, 12.1])
    np.testing.assert_allclose(temp, [np.nan, 9, 9, np.nan])
    assert reason.tolist() == [NO_CAST, "", "", NO_CAST]


def test_without_casts_nothing_is_known(field):
    assert ask(field({}), [0], 5)[1].tolist() == [NO_CAST]


def test_cast_of_one_depth(field):
    made = field({0: {10: 10}}, below_m=6, above_m=6)
    np.testing.assert_allclose(ask(made, 0, [4, 10, 16])[0], 10)


def test_log_without_readings_or_casts(tmp_path, season_files):
    log = read_log(season_files.write(tmp_path, readings=None, casts=None))
    temp, reason = TemperatureField.from_log(log).at(["T1"], days(0), [5.0])
    assert np.isnan(temp).all()
    assert reason.tolist() == [NO_CAST]


def test_usual_season_in_its_own_units(tmp_path, season_files):
    log = read_log(season_files.write(tmp_path))
    made = TemperatureField.from_log(log)
    feet = np.array([15, 30, 45, 60, 120]) * 0.3048
    fahrenheit = ask(made, -4 / 24, feet)[0] * 1.8 + 32
    # the sounder showed 62 at that hour, where the cast had 60
    np.testing.assert_allclose(fahrenheit, [(62 + 56) / 2, 56, 50.5, 45, 42])


def test_no_rows(field):
    temp, reason = field({0: {0: 20, 10: 10}}).at([], pd.DatetimeIndex([], tz="UTC"), [])
    assert (temp.shape, reason.shape) == ((0,), (0,))


LAYERED = {0.0: 18.0, 5.0: 16.0, 10.0: 12.0, 15.0: 8.0, 20.0: 6.0, 30.0: 5.0}


def shifted(by_m):
    """A cast whose layers lie deeper."""
    depths = list(LAYERED)
    return {d: float(np.interp(d - by_m, depths, list(LAYERED.values()))) for d in depths}


def test_layers_are_sure_at_a_cast_and_less_the_longer_ago_it_was(field):
    of = field({0: LAYERED, 10: LAYERED})
    doubt = of.doubt_m(days([0.0, 0.5, 1.0, 2.0, 5.0, 10.0, 12.0, 16.0]))
    assert doubt[0] == doubt[5] == 0
    assert (np.diff(doubt[:5]) > 0).all()
    assert (np.diff(doubt[5:]) > 0).all()
    assert doubt.max() < np.sqrt(2) * of.wander_m() + 1e-9


def test_without_casts_no_height_is_in_doubt(field):
    of = field({})
    assert (of.doubt_m(days([0, 3])) == 0).all()
    np.testing.assert_array_equal(of.layer_correlation(days([0, 3])), np.eye(2))


def test_error_of_interpolation_is_that_of_a_simulated_ornstein_uhlenbeck_walk(field):
    """Doubt and correlation against 40,000 simulated walks, interpolated between the casts."""
    of = field({0: LAYERED, 6: LAYERED, 8: LAYERED})
    at, casts = np.array([-1.0, 1.0, 2.0, 3.0, 5.0, 7.0, 9.5]), np.array([0.0, 6.0, 8.0])
    every = np.r_[at, casts]
    covariance = np.exp(-np.abs(every[:, None] - every) / LASTING_DAYS)
    walks = np.random.default_rng(1).multivariate_normal(np.zeros(len(every)), covariance, 40_000)
    seen = walks[:, len(at) :]
    error = walks[:, : len(at)] - np.array([np.interp(at, casts, row) for row in seen])
    np.testing.assert_allclose(of.doubt_m(days(at)), of.wander_m() * error.std(axis=0), rtol=0.02)
    np.testing.assert_allclose(of.layer_correlation(days(at)), np.corrcoef(error.T), atol=0.02)


def test_wander_is_found_from_casts_that_wander(field):
    """Casts every third day whose layers walk with sd 2.5 m: told within a quarter of it."""
    day = np.arange(0, 240, 3)
    covariance = 2.5**2 * np.exp(-np.abs(day[:, None] - day) / LASTING_DAYS)
    walk = np.random.default_rng(3).multivariate_normal(np.zeros(len(day)), covariance)
    told = field({int(d): shifted(w) for d, w in zip(day, walk, strict=True)}).wander_m()
    assert 2.5 / 1.25 < told < 2.5 * 1.25
