"""Checks each named check on a fit that it must pass and on one that it must fail."""

import itertools
from dataclasses import replace
from types import SimpleNamespace

import made_exposure as made
import numpy as np
import pandas as pd
import pytest

from analysis.decision.answer import answer
from analysis.diagnostics.checks import check_fit
from analysis.diagnostics.jackknife import Influence, influence
from analysis.rates.model_averaging import Member
from analysis.rates.model_selection import CONSTANT, SIMPLE, TACKLE, candidates
from analysis.rates.rods import rods_of
from analysis.season import Options, season_answer
from analysis.units import Units

NAMES = (
    *("enough strikes", "convergence", "predicts better than a constant rate"),
    *("predicts better than gear and leader alone", "dispersion"),
    *("residuals against depth", "residuals against water temperature"),
    *("residuals against time of day", "residuals against day of the season"),
    *("residuals against speed", "no single trip decides", "curves told apart"),
    *("rods fished together differ", "bands fished at the same time", "curves free enough"),
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
    # Not season 3: there the draws decide whether depth and temperature count as told apart.
    return told(made.exposure(4, trips=60, fish=fish))


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
    assert "by 29 strikes on" in found.finding


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
    assert list(found) == [*NAMES[:4], "further checks"]
    assert not any(check.passed for check in found.values())
    assert "no strikes" in found["further checks"].finding
    assert "cannot be told" in found["predicts better than a constant rate"].finding


@pytest.mark.parametrize("simple", [CONSTANT, TACKLE])
def test_a_gain_within_its_standard_error_fails(usual, simple):
    """How often chance alone passes the check is tested in `test_choice`."""
    worse = replace(usual.choice, gains=usual.choice.gains | {simple: (1.5, 1.6)})
    found = checks(usual, choice=worse)
    failed = [check for check in found.values() if not check.passed]
    assert [check.name for check in failed] == [f"predicts better than {SIMPLE[simple]}"]
    assert "gain 1.5 (standard error 1.6)" in failed[0].finding
    assert "Do not choose a depth" in failed[0].next_step


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


def test_the_trip_that_decides_is_named_with_what_it_does():
    """A trip with 60 strikes at 27–30 m in a season of 25 at 6-9 m."""
    whole = made.exposure(3, trips=60)
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
    assert "7 (6–9 m)" in found.finding


def _influence(*movers, best=4, only=None):
    return Influence(best=best, movers=movers, only=only)


def _told_of(monkeypatch, usual, found, **how):
    monkeypatch.setattr("analysis.diagnostics.checks.influence", lambda *_: found)
    return checks(usual, **how)["no single trip decides"]


def test_three_trips_are_named_and_the_rest_counted(usual, monkeypatch):
    movers = [(f"T{number}", 7) for number in range(5)]
    finding = _told_of(monkeypatch, usual, _influence(*movers)).finding
    assert finding.endswith("T0 (21–24 m), T1 (21–24 m), T2 (21–24 m) and 2 more")
    finding = _told_of(monkeypatch, usual, _influence(*movers[:3])).finding
    assert finding.endswith("T2 (21–24 m)")


def test_bands_are_named_in_the_boats_unit(usual, monkeypatch):
    """3 m are 9.84 ft (exact, by definition of the foot)."""
    found = _influence(("T1", 0))
    assert "39.4–49.2 ft with" in _told_of(monkeypatch, usual, found, depth_unit="ft").finding
    feet = made.EDGES_M / 3 * 10 * 0.3048
    hours = replace(usual.hours, edges_m=feet)
    finding = _told_of(monkeypatch, usual, found, depth_unit="ft", hours=hours).finding
    assert "40–50 ft with every trip" in finding
    assert finding.endswith("T1 (0–10 ft)")


@pytest.mark.parametrize(("bands", "moves"), [(1, False), (2, True)])
def test_a_move_to_the_neighbour_is_no_finding(usual, monkeypatch, bands, moves):
    """Rates that have their top so many bands deeper without the third trip with a strike."""
    rods = rods_of(usual.exposure, usual.fit.model)
    data = rods.strata(usual.fit.coef, usual.fit.error_draws.mean(axis=0))
    tops = itertools.chain([4, 4, 4, 4 + bands], itertools.repeat(4))
    monkeypatch.setattr(
        "analysis.diagnostics.jackknife._season_rates",
        lambda *_: lambda _coef: np.eye(len(usual.season.judged))[next(tops)],
    )
    every = np.ones_like(usual.season.judged)
    found = influence(rods, data, usual.fit, usual.levels, usual.hours, every)
    third = np.unique(usual.exposure.trip[usual.exposure.strike_row])[2]
    assert found.best == 4
    assert found.movers == (((str(third), 4 + bands),) if moves else ())


def test_checks_run_where_the_fullest_model_has_hardly_a_weight(usual):
    models = candidates(usual.exposure)
    weights = {"depth and temperature": 1e-4, "temperature alone": 1 - 1e-4}
    members = {name: Member(model=models[name], weight=w) for name, w in weights.items()}
    choice = replace(usual.choice, model=models["depth and temperature"], members=members)
    rng = np.random.default_rng(1)
    found = answer(usual.exposure, made.temperature_at, made.EDGES_M, rng, choice=choice)
    assert tuple(check.name for check in found.checks) == NAMES


def test_what_was_hardly_logged_cannot_be_told(usual):
    bare = made.with_table(usual.exposure, speed_mps=np.nan)
    found = checks(usual, exposure=bare)["residuals against speed"]
    assert not found.passed
    assert found.finding == "cannot be told: speed is known on too few trips, or hardly varied"
    assert found.next_step == "Log the speed with each set."


def test_too_few_trips_to_judge_ask_for_trips(usual):
    """40 trips, four to a tenth of the season: the days are all known, and no log lacks them."""
    few = told(made.exposure(3, trips=40, fish=made.Fish(rate=0.3)))
    found = checks(few)["residuals against day of the season"]
    assert not found.passed
    assert "too few trips" in found.finding
    assert found.next_step.startswith("Log more trips")


def test_gears_that_each_fish_their_own_depth_cannot_be_told_from_it(usual):
    """Divers at 4 to 15 m, riggers at 20 to 30 m."""
    whole = usual.exposure
    rng = np.random.default_rng(0)
    rigger = (whole.table["gear_setting"] == "rigger").to_numpy()
    depth = np.where(rigger, rng.uniform(20, 30, len(rigger)), rng.uniform(4, 15, len(rigger)))
    apart = told(made.with_table(whole, depth_m=depth))
    found = checks(apart, fit=_gear_matters(apart.fit))
    assert not found["curves told apart"].passed
    assert "gear and setting" in found["curves told apart"].finding
    mixed = checks(usual, fit=_gear_matters(usual.fit))["curves told apart"]
    assert mixed.passed


def _gear_matters(fit):
    """The fit with gears that differ, and nothing else that does."""
    coef = np.zeros_like(fit.coef)
    coef[fit.model.columns_of("gear_setting")] = (-0.3, 0.3)
    return replace(fit, coef=coef)


def test_what_is_flat_is_not_judged(usual):
    flat = replace(usual.fit, coef=np.zeros_like(usual.fit.coef))
    found = checks(usual, fit=flat)["curves told apart"]
    assert found.passed
    assert found.finding == "nothing matters enough to be taken for another"


def test_temperature_that_goes_with_depth_alone_cannot_be_told_from_it(usual):
    """Water whose layers never move: each depth has one temperature."""
    whole = usual.exposure
    depth = whole.table["depth_m"].to_numpy()
    still = replace(
        made.with_table(whole, lure_temp_c=18.0 - 0.4 * depth),
        temperature_c=18.0 - 0.4 * depth[:, None] * np.exp(made.SHIFTS),
    )
    found = checks(_each_has_a_share(told(still)))
    assert not found["curves told apart"].passed
    assert "% of what" in found["curves told apart"].finding


def _each_has_a_share(found):
    """The answer with no coefficient at zero, so that every curve is steep enough to judge."""
    coef = np.where(found.fit.coef == 0, 0.1, found.fit.coef)
    return replace(found, fit=replace(found.fit, coef=coef))


def test_what_went_together_between_trips_alone_is_told_apart(usual):
    """Trips in deep water were cold, but among rods at one time depth and temperature vary freely.

    Rods are compared at one time, so what differs between trips confounds nothing.
    """
    whole = usual.exposure
    rng = np.random.default_rng(0)
    rows = len(whole.table)
    place = 6.0 + whole.trip % 20
    temp_c = 18.0 - 0.4 * place + rng.uniform(-0.5, 0.5, rows)
    varied = replace(
        made.with_table(whole, depth_m=place + rng.uniform(-1.5, 1.5, rows), lure_temp_c=temp_c),
        temperature_c=np.repeat(temp_c[:, None], len(made.SHIFTS), axis=1),
    )
    assert checks(_each_has_a_share(told(varied)))["curves told apart"].passed


def _never_together(whole, edge_m):
    """Rods within 6 m above an edge on even trips, and within 6 m below it on odd ones."""
    rng = np.random.default_rng(0)
    above = 6.0 * (whole.trip % 2 == 0)
    depth = edge_m - above + rng.uniform(0.1, 5.9, len(whole.table))
    return made.with_table(whole, depth_m=depth)


def test_bands_never_down_together_are_named(usual):
    found = checks(told(_never_together(usual.exposure, 15.0)))["bands fished at the same time"]
    assert not found.passed
    assert found.finding.endswith(": 12–15 m with 15–18 m")


def test_a_boat_that_logs_in_feet_reads_feet(usual, monkeypatch):
    """50 ft are 15.24 m: the bands of 10 ft that meet there are never down together."""
    strikes = pd.DataFrame({"placed": np.ones(len(usual.exposure.strike_row), dtype=bool)})
    boat = SimpleNamespace(
        temperature_at=lambda *where: made.temperature_at(0, *where),
        effort=SimpleNamespace(strikes=strikes),
    )
    monkeypatch.setattr("analysis.season._log_caps", lambda seasons: ())  # made up: it has no log
    units = Units(
        length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
    )
    apart = _never_together(usual.exposure, 15.24)
    found = season_answer([boat], apart, Options(), units).checks
    finding = next(c.finding for c in found if c.name == "bands fished at the same time")
    assert finding.endswith(": 40–50 ft with 50–60 ft")


def test_a_curve_that_uses_all_its_bends_fails(usual):
    free = replace(usual.fit.smoothing, log_sd=np.full_like(usual.fit.smoothing.log_sd, 3.0))
    found = checks(usual, fit=replace(usual.fit, smoothing=free))["curves free enough"]
    assert not found.passed
    assert "leader length" in found.finding
