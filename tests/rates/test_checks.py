"""Checks each named check on a fit that it must pass and on one that it must fail."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.rates.checks import check_fit

NAMES = (
    *("enough strikes", "convergence", "predicts better than a constant rate", "dispersion"),
    *("residuals against depth", "residuals against water temperature"),
    *("residuals against time of day", "residuals against day of the season"),
    *("residuals against speed", "no single trip decides", "curves told apart"),
    *("bands fished at the same time", "curves free enough"),
)


def told(whole, seed=1):
    return answer(whole, made.temperature_at, made.EDGES_M, np.random.default_rng(seed))


def checks(found, **changed):
    """The checks of an answer, by name, with parts of it changed."""
    parts = {"exposure": found.exposure, "fit": found.fit, "levels": found.levels}
    parts |= {"choice": found.choice, "hours": found.hours, "judged": found.season.judged}
    parts |= changed | {"rng": np.random.default_rng(3)}
    return {check.name: check for check in check_fit(**parts)}


@pytest.fixture(scope="module")
def usual():
    fish = made.Fish(rate=0.3, width_m=12.0, width_c=2.5)
    return told(made.exposure(3, trips=60, fish=fish))


def only(whole, chosen):
    """The season with the strikes of some slices alone."""
    return whole.with_strikes(chosen[whole.strike_row])


def test_a_season_as_the_model_has_it_passes_all(usual):
    found = checks(usual)
    assert tuple(found) == NAMES
    assert [name for name, check in found.items() if not check.passed] == []
    assert all(not check.next_step for check in found.values())
    assert tuple(check.name for check in usual.checks) == NAMES


def test_few_strikes_fail(usual):
    found = checks(usual, fit=replace(usual.fit, strikes=29))["enough strikes"]
    assert not found.passed
    assert found.finding.startswith("29 strikes")


@pytest.mark.parametrize(
    ("status", "remedy"),
    [
        ("did not converge", "Do not use the rates"),
        ("no moment with rods in different water", "second rod in other water"),
        ("no rod-hours", "Log sets"),
    ],
)
def test_a_fit_that_ended_badly_fails_with_its_own_remedy(usual, status, remedy):
    found = checks(usual, fit=replace(usual.fit, status=status, converged=False))["convergence"]
    assert not found.passed
    assert found.finding == status
    assert remedy in found.next_step


def test_what_was_not_run_is_said(usual):
    none = told(only(usual.exposure, np.zeros(len(usual.exposure.table), dtype=bool)))
    found = checks(none)
    assert list(found) == [*NAMES[:3], "further checks"]
    assert not any(check.passed for check in found.values())
    assert "no strikes" in found["further checks"].finding
    assert "cannot be told" in found["predicts better than a constant rate"].finding


def test_no_better_than_a_constant_fails(usual):
    """Told so, the check fails; how often chance alone passes it is not tested here."""
    worse = replace(usual.choice, beats_constant=False)
    failed = checks(usual, choice=worse)["predicts better than a constant rate"]
    assert not failed.passed
    assert "Do not choose a depth" in failed.next_step


def test_trips_that_differ_in_depth_fail_the_dispersion(usual):
    """Fish at 8 m on some trips and at 24 m on others, where nothing in the model says why."""
    parts = [
        made.exposure(seed, trips=25, fish=made.Fish(best_m=best, rate=0.3))
        for seed, best in ((1, 8.0), (2, 24.0))
    ]
    mixed = told(made.with_temperature(made.joined(*parts), np.nan))
    found = checks(mixed)["dispersion"]
    assert mixed.fit.dispersion > 1.6
    assert not found.passed
    two = checks(usual, fit=replace(usual.fit, trips=2))["dispersion"]
    assert not two.passed
    assert "cannot be told" in two.finding


def _half(values):
    return values > np.nanmedian(values)


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("depth", "depth_m"),
        ("water temperature", "lure_temp_c"),
        ("day of the season", "day"),
        ("speed", "speed_mps"),
    ],
)
def test_residuals_fail_where_half_of_a_covariate_expects_too_little(usual, name, column):
    expected = usual.levels.expected * np.where(_half(usual.exposure.table[column]), 0.4, 1.6)
    found = checks(usual, levels=replace(usual.levels, expected=expected))
    assert not found[f"residuals against {name}"].passed
    assert name in found[f"residuals against {name}"].next_step


def test_residuals_fail_where_strikes_come_late_in_the_day(usual):
    hour = (usual.exposure.start // made.US) % 48
    late = hour > np.median(hour)
    found = checks(told(only(usual.exposure, late)))
    assert not found["residuals against time of day"].passed
    assert found["residuals against depth"].passed


def test_the_trip_that_decides_is_named_with_what_it_does(usual):
    """A trip with 60 strikes at 27-30 m in a season of 25 at 6-9 m."""
    whole = usual.exposure
    depth = whole.table["depth_m"].to_numpy()
    strikes = np.zeros(len(depth), dtype=int)
    shallow = np.flatnonzero((depth > 6) & (depth < 9) & (whole.trip != 7))
    strikes[np.random.default_rng(0).choice(shallow, 25, replace=False)] = 1
    deep = np.flatnonzero((depth > 24) & (whole.trip == 7))
    strikes[deep] = 60 // len(deep)
    row = np.repeat(np.arange(len(depth)), strikes)
    moved = replace(
        whole,
        table=whole.table.assign(strikes=strikes),
        strike_row=row,
        strike_time=whole.start[row] + made.US // 2,
    )
    found = checks(told(made.with_temperature(moved, np.nan)))["no single trip decides"]
    assert not found.passed
    assert "7 (6-9 m)" in found.finding


def test_temperature_that_goes_with_depth_alone_cannot_be_told_from_it(usual):
    """Water whose layers never move: each depth has one temperature."""
    whole = usual.exposure
    depth = whole.table["depth_m"].to_numpy()
    still = replace(
        made.with_table(whole, lure_temp_c=18.0 - 0.4 * depth),
        temperature_c=18.0 - 0.4 * depth[:, None] * np.exp(made.SHIFTS),
    )
    fit = told(still).fit
    # a curve that was fitted to both, so that each has a share of it
    found = checks(told(still), fit=replace(fit, coef=np.where(fit.coef == 0, 0.1, fit.coef)))
    assert not found["curves told apart"].passed
    assert "depth_m" not in found["curves told apart"].finding


def test_bands_never_down_together_are_named(usual):
    """Rods at 9-15 m on even trips and at 15-21 m on odd ones."""
    whole = usual.exposure
    rng = np.random.default_rng(0)
    depth = np.where(whole.trip % 2, 15.0, 9.0) + rng.uniform(0.1, 5.9, len(whole.table))
    apart = made.with_table(whole, depth_m=depth)
    found = checks(told(apart))["bands fished at the same time"]
    assert not found.passed
    assert found.finding.endswith(": 12-15 with 15-18 m")


def test_a_curve_that_uses_all_its_bends_fails(usual):
    free = replace(usual.fit.smoothing, log_sd=np.full_like(usual.fit.smoothing.log_sd, 3.0))
    found = checks(usual, fit=replace(usual.fit, smoothing=free))["curves free enough"]
    assert not found.passed
    assert "leader length" in found.finding
