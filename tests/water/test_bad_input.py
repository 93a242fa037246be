"""Owns the tests of thermometers that cannot be right: found, named, and not believed."""

from dataclasses import replace

import made_water as made
import numpy as np
import pytest

from analysis.water.field import Water
from analysis.water.fit import fit_water
from analysis.water.measured import DAY_US, KINDS
from analysis.water.prior import Prior
from analysis.water.vet import believed


@pytest.fixture(scope="module")
def season():
    """A season's water, its trips, and what was measured rightly."""
    water, days = made.made_water("tanh", 1), made.trip_days(1)
    return water, days, made.thermometers(water, days, 1, casts=range(0, 70, 4))


def doubted(rows, prior=None):
    """Reasons of what is not believed, with the count of rows."""
    return [(doubt.reason, int(doubt.rows.sum())) for doubt in believed(rows, prior or Prior())[1]]


def changed(rows, which, **columns):
    made_anew = {name: getattr(rows, name).copy() for name in columns}
    for name, change in columns.items():
        made_anew[name][which] = change(made_anew[name][which])
    return replace(rows, **made_anew)


def cast_rows(rows, number):
    casts = np.flatnonzero(rows.of_kind("cast"))
    groups = np.unique(rows.group[casts])
    return rows.group == groups[number]


def test_a_right_season_is_believed(season):
    assert doubted(season[2]) == []


def test_a_cast_upside_down(season):
    rows = season[2]
    which = cast_rows(rows, 8)
    found = doubted(changed(rows, which, temp_c=lambda temp: temp[::-1]))
    assert len(found) == 1
    assert "heavier water on top" in found[0][0]
    assert found[0][1] == which.sum()


def test_a_cast_of_another_water(season):
    rows = season[2]
    found = doubted(changed(rows, cast_rows(rows, 8), temp_c=lambda temp: temp - 6.0))
    assert [count for _, count in found] == [cast_rows(rows, 8).sum()]
    assert "neither the water of the days around it" in found[0][0]


def test_surface_temperatures_of_a_week_in_the_wrong_unit(season):
    """Read 6 C too warm in five trips between casts that say otherwise."""
    water, days, _ = season
    rows = made.thermometers(water, days, 1, casts=range(70))
    surface = rows.of_kind("surface")
    week = surface & (np.abs(rows.day - days[30]) < 5)
    found = doubted(changed(rows, week, temp_c=lambda temp: temp + 8.0))
    assert sum(count for _, count in found) == week.sum()
    assert all("surface temperatures" in reason for reason, _ in found)


def test_a_probe_below_the_bottom():
    water, days = made.made_water("tanh", 2), made.trip_days(2)
    rows = made.thermometers(water, days, 2, probe=True)
    deep = np.flatnonzero(rows.of_kind("probe"))[:2]
    rows = changed(rows, deep, depth_m=lambda depth: depth + 60.0)
    found = doubted(rows, Prior(max_depth_m=45.0))
    assert "45 m deep at most" in found[0][0]


def test_two_probes_that_disagree_widen_the_doubt_and_are_split():
    """Two boats' probes 1 C apart: each boat's sensor has an error of its own."""
    water, days = made.made_water("tanh", 3), made.trip_days(3)
    one = made.parts_of(water, days, 3, probe=True)
    other = made.parts_of(water, days, 4, probe=True)
    for part in other:
        part["boat"] = part["boat"] + 1
        part["group"] = part["group"] + 1000
        part["temp_c"] = part["temp_c"] + 1.0 * (part["kind"] == KINDS.index("probe"))
    fit = fit_water(made.together(one + other), Prior())
    sensors = fit.state[fit.place.sensors].reshape(-1, 2)
    assert sensors[1, 1] - sensors[0, 1] == pytest.approx(1.0, abs=0.35)


def test_all_readings_on_one_day_leave_the_rest_of_the_season_in_doubt(season):
    water, days, _ = season
    rows = made.thermometers(water, days[30:31], 1, casts=(0,))
    field = Water(fit=fit_water(rows, Prior()))
    time = np.round((days[[30, 60]] + 0.1) * DAY_US).astype(np.int64)
    sd = field.at(time, np.full(2, 12.0))[1]
    assert sd[0] < 1.0
    assert sd[1] > 1.5


def test_a_shallow_bay_is_mixed_to_its_bottom_and_said_to_be():
    """A bay of 6 m, the same temperature all the way down."""
    rng = np.random.default_rng(1)
    water, days = made.made_water("tanh", 5), made.trip_days(5)
    parts = []
    for trip, day in enumerate(days):
        temp = water.temp(day, 0.0)
        depth = np.arange(0.0, 7.0)
        parts.append(made.rows("cast", 0, trip, day, depth, temp + rng.normal(0, 0.2, 7)))
    field = Water(fit=fit_water(made.together(parts), Prior(max_depth_m=6.0)))
    time = np.round(np.repeat(days, 7) * DAY_US).astype(np.int64)
    off = field.at(time, np.tile(np.arange(0.0, 7.0), len(days)))[0] - water.temp(
        np.repeat(days, 7), 0.0
    )
    assert np.sqrt(np.mean(off**2)) < 0.3


def test_sea_water_may_be_colder_below_than_fresh_water_can_be():
    """A cold sea: 12 C over 1 C. Fresh water's deep temperature would be held near 4.8 C."""
    rng = np.random.default_rng(2)
    days = made.trip_days(6)
    depth = np.arange(0.0, 46.0, 3.0)
    parts = []
    for trip, day in enumerate(days[::3]):
        temp = 1.0 + 11.0 * made.tanh_form((depth - 14.0) / 4.0) + rng.normal(0, 0.2, len(depth))
        parts.append(made.rows("cast", 0, trip, day, depth, temp))
    rows = made.together(parts)
    assert doubted(rows, Prior(density_kg_m3=1026.0)) == []
    field = Water(fit=fit_water(rows, Prior(density_kg_m3=1026.0)))
    time = np.round(days[30:31] * DAY_US).astype(np.int64)
    assert field.at(time, np.array([45.0]))[0][0] == pytest.approx(1.0, abs=0.3)


def test_an_overturn_is_one_temperature_with_hardly_a_doubt():
    """Late casts of 6 C throughout, after a layered summer."""
    rng = np.random.default_rng(3)
    water, days = made.made_water("tanh", 7), made.trip_days(7)
    depth = np.arange(0.0, 37.0, 3.0)
    parts = made.parts_of(water, days[:40], 7, casts=range(0, 40, 3))
    late = days[-1] + 20.0 + np.arange(3)
    for number, day in enumerate(late):
        temp = 5.0 + rng.normal(0, 0.2, len(depth))
        parts.append(made.rows("cast", 0, 900 + number, day, depth, temp))
        parts.append(made.rows("surface", 0, 950 + number, day, 0.0, 5.0))
    field = Water(fit=fit_water(made.together(parts), Prior()))
    time = np.full(3, np.round(late[1] * DAY_US)).astype(np.int64)
    mean, sd = field.at(time, np.array([2.0, 15.0, 35.0]))
    np.testing.assert_allclose(mean, 5.0, atol=0.4)
    assert (sd < 0.4).all()
