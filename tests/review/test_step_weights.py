"""Owns the tests of what the steps weigh by, counted anew strike by strike and slice by slice.

The fit's draws are set by hand, so that each step has a value that a table and a loop give.
"""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.review.step_plot import CHANCE, TIMES, steps_of

RIGGER = 3.0
"""Times the rate of a diver."""


@pytest.fixture(scope="module")
def season():
    """Slices of a quarter to a full hour; every rod of an hour starts with it."""
    whole = made.exposure(3, trips=16)
    hours = np.random.default_rng(8).uniform(0.25, 1.0, len(whole.trip))
    return made.with_table(whole, hours=hours)


@pytest.fixture(scope="module")
def fitted(season):
    rng = np.random.default_rng(1)
    return answer(season, made.temperature_at, made.EDGES_M, rng, checked=False)


@pytest.fixture(scope="module")
def gear_alone(fitted):
    """The answer as if riggers took three times as much and nothing else mattered."""
    model = fitted.fit.model
    levels = list(fitted.exposure.table["gear_setting"].cat.categories)
    draws = np.zeros_like(fitted.fit.draws)
    column = range(model.size)[model.columns_of("gear_setting")][levels.index("rigger")]
    draws[:, column] = np.log(RIGGER)
    return replace(fitted, fit=replace(fitted.fit, draws=draws), speed=None)


def table_of(answer):
    """Slices with their band, the factor of their gear and the moment's rods they belong to."""
    table = answer.exposure.table.assign(start=answer.exposure.start)
    band = np.floor(table["depth_m"] / 3.0).astype(int)
    factor = np.where(table["gear"] == "rigger", RIGGER, 1.0)
    return table.assign(band=band, factor=factor)


def step(steps, name):
    """Rates by band after an influence was taken out, of the first draw."""
    return steps.rates[steps.names.index(name) + 1][:, 0]


def by_band(values, bands):
    out = np.full(bands, np.nan)
    out[values.index] = values
    return out


def test_the_first_rates_are_the_strikes_counted_over_rod_hours(gear_alone):
    steps, table = steps_of(gear_alone), table_of(gear_alone)
    total = table.groupby("band")[["strikes", "hours"]].sum()
    raw = by_band(total["strikes"] / total["hours"], len(made.EDGES_M) - 1)
    np.testing.assert_allclose(steps.rates[0, :, 0], raw)


def test_a_strike_is_shared_out_by_rate_among_the_rods_down(gear_alone):
    steps, table = steps_of(gear_alone), table_of(gear_alone)
    expected = dict.fromkeys(sorted(set(table["band"])), 0.0)
    for _, rods in table.groupby(["trip", "start"]):
        share = rods["factor"] / rods["factor"].sum()  # a strike falls to a rod, not to an hour
        for band, part in zip(rods["band"], share, strict=True):
            expected[band] += rods["strikes"].sum() * part
    assert sum(expected.values()) == pytest.approx(table["strikes"].sum())
    hours = table.groupby("band")["hours"].sum()
    wanted = by_band(hours * 0 + list(expected.values()), len(made.EDGES_M) - 1) / by_band(
        hours, len(made.EDGES_M) - 1
    )
    np.testing.assert_allclose(step(steps, CHANCE), wanted)


def test_at_a_constant_pace_each_slice_weighs_by_its_rod_hours(gear_alone):
    steps, table = steps_of(gear_alone), table_of(gear_alone)
    assert "speed_mps" not in steps.names
    paced = (table["hours"] * table["factor"]).groupby(table["band"]).sum()
    hours = table.groupby("band")["hours"].sum()
    wanted = by_band(paced / hours, len(made.EDGES_M) - 1)
    for name in (TIMES, "leader_length_m"):  # leaders are without effect here
        np.testing.assert_allclose(step(steps, name), wanted)
    fished = np.isfinite(wanted)
    assert np.ptp(wanted[fished]) > 0.1
    # with the gears taken out nothing is left that differs
    np.testing.assert_allclose(step(steps, "gear")[fished], 1.0)


def test_speed_weighs_by_its_curve_and_an_unknown_speed_is_a_usual_one(fitted):
    """Against the curve itself, at every slice; its level is no matter."""
    blank = np.arange(len(fitted.exposure.trip)) % 5 == 0
    speed = np.where(blank, np.nan, fitted.exposure.table["speed_mps"])
    exposure = made.with_table(fitted.exposure, speed_mps=speed)
    nothing = replace(fitted.fit, draws=np.zeros_like(fitted.fit.draws))
    steps = steps_of(replace(fitted, exposure=exposure, fit=nothing))
    table = table_of(fitted)
    curve = fitted.speed.log_rate(speed[~blank])[:, 0]
    factor = np.ones(len(table))
    factor[~blank] = np.exp(curve - curve.mean())
    paced = (table["hours"] * factor).groupby(table["band"]).sum()
    wanted = by_band(paced / table.groupby("band")["hours"].sum(), len(made.EDGES_M) - 1)
    np.testing.assert_allclose(step(steps, TIMES), wanted)
    fished = np.isfinite(wanted)
    assert np.ptp(wanted[fished]) > 0.01
    np.testing.assert_allclose(step(steps, "speed_mps")[fished], 1.0)
