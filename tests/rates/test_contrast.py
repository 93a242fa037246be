"""Owns the tests of terms in which rods fished together did not differ: they carry nothing away."""

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.rates.contrast import prior_sd, told_directions, untold_terms
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.rods import rods_of
from analysis.rates.within_trip import fit_within_trips

LONGEST_M = 3.0


def tied_for_the_day(whole, seed=5):
    """The same catches, one length of leader tied for each trip."""
    length = np.random.default_rng(seed).uniform(1.2, LONGEST_M, int(whole.trip.max()) + 1)
    return made.with_table(whole, leader_length_m=length[whole.trip])


def told_of(whole):
    """The fullest model of a season, and what its log tells of it."""
    model = next(iter(candidates(whole).values()))
    rods = rods_of(whole, model)
    data = rods.strata(np.zeros(model.size), np.zeros(rods.errors))
    return model, told_directions(data, model)


def answered(whole, seed=1):
    rng = np.random.default_rng(seed)
    return answer(whole, made.temperature_at, made.EDGES_M, rng, checked=False)


@pytest.mark.parametrize(("trips", "rate"), [(40, 0.08), (13, 0.12)])
def test_a_leader_tied_for_the_day_moves_no_rate(trips, rate):
    """Mixed or tied, the catches are the same, and so must be what is said of the bands."""
    whole = made.exposure(3, trips=trips, fish=made.Fish(rate=rate))
    mixed, tied = answered(whole).season, answered(tied_for_the_day(whole)).season
    fished = mixed.rod_hours > 0
    one, other = (
        np.quantile(period.draws[fished], (0.05, 0.5, 0.95), axis=1) for period in (mixed, tied)
    )
    assert np.all((one[0] <= other[1]) & (other[1] <= one[2]))
    assert np.all((other[0] <= one[1]) & (one[1] <= other[2]))
    # where strikes are, the tied log's doubt is no larger than chance between two sets of draws
    produced = mixed.strikes >= 5
    width = np.log([one[2] / one[0], other[2] / other[0]])[:, produced[fished]]
    assert np.all(width[1] < 1.35 * width[0])


def test_the_ratio_of_an_untold_leader_is_that_of_its_prior():
    """Its 90 % interval over the draws is 1.645 standard deviations of the prior either way."""
    whole = tied_for_the_day(made.exposure(4, trips=60))
    model, told = told_of(whole)
    assert "leader_length_m" in untold_terms(told, model)
    found = answered(whole).effects.query("term == 'leader_length_m'")
    term = model.term("leader_length_m")
    away = term.design(found["at"].to_numpy()) - term.design(found["reference"].to_numpy())
    sd = np.sqrt(away**2 @ prior_sd(model)[model.columns_of("leader_length_m")] ** 2)
    half = np.log(found["high"] / found["low"]).to_numpy() / 2
    apart = sd > 0.1
    assert half[apart] == pytest.approx(1.645 * sd[apart], rel=0.25)
    assert found["low"].min() > 0.1
    assert found["high"].max() < 10.0


def test_leaders_that_differ_at_one_time_are_told():
    model, told = told_of(made.exposure(4, trips=60))
    here = model.columns_of("leader_length_m")
    assert "leader_length_m" not in untold_terms(told, model)
    assert told[here, here][0, 0] > 0.9  # the slope: long against short
    assert told @ told == pytest.approx(told)


def test_a_check_names_what_rods_fished_together_did_not_differ_in():
    rng = np.random.default_rng(1)
    whole = made.exposure(4, trips=60)
    checks = [
        answer(one, made.temperature_at, made.EDGES_M, rng).checks
        for one in (whole, tied_for_the_day(whole))
    ]
    mixed, tied = (
        next(check for check in some if check.name == "rods fished together differ")
        for some in checks
    )
    assert mixed.passed
    assert not tied.passed
    assert "leader length" in tied.finding
    assert tied.next_step


def test_gears_never_down_together_are_told_apart_by_nothing():
    """Each of two gears on its own days; a third beside both says how they compare with it."""
    whole = made.exposure(6, trips=60, fish=made.Fish(rate=0.4))
    day = np.where(whole.trip % 2, "rigger", "diver 2")
    alone = made.with_table(whole, gear_setting=day)
    alone.table["gear_setting"] = alone.table["gear_setting"].astype("category")
    model, told = told_of(alone)
    assert untold_terms(told, model) == {"gear_setting"}
    beside = np.where(np.arange(len(day)) % 3 == 0, "core", day)
    third = made.with_table(whole, gear_setting=beside)
    third.table["gear_setting"] = third.table["gear_setting"].astype("category")
    model, told = told_of(third)
    here = model.columns_of("gear_setting")
    # of three effects two differences are told; what all share is not
    assert np.linalg.matrix_rank(told[here, here], tol=1e-6) == 2
    assert told[here, here] @ np.ones(3) == pytest.approx(np.zeros(3), abs=0.05)


def test_mixed_water_tells_no_temperature():
    """Every rod of a day in one temperature: days differ, rods that fish together do not."""
    whole = made.exposure(7, trips=50)
    day_c = 8.0 + 6.0 * np.random.default_rng(2).random(int(whole.trip.max()) + 1)
    mixed = made.with_temperature(whole, 10.0)
    mixed.table["lure_temp_c"] = day_c[whole.trip]
    mixed.temperature_c[:] = day_c[whole.trip][:, None]
    model, told = told_of(mixed)
    assert untold_terms(told, model) == {"lure_temp_c"}
    rng = np.random.default_rng(0)
    found = answer(
        mixed, lambda _log, trips, _times, _depth: _of_day(day_c, trips, _depth), made.EDGES_M, rng
    )
    curve = found.effects.query("term == 'lure_temp_c'")
    assert curve["high"].max() < 25.0
    produced = found.season.strikes >= 5
    middle, high = np.quantile(found.season.draws[produced], (0.5, 0.95), axis=1)
    raw = (found.season.strikes / np.maximum(found.season.rod_hours, 1e-9))[produced]
    assert np.all(high < 3.0 * middle)
    assert np.median(np.abs(np.log(middle / raw))) < 0.3


def _of_day(day_c, trips, depth_m):
    return np.broadcast_to(day_c[np.asarray(trips, dtype=int)], np.shape(depth_m))


def test_a_speed_that_hardly_changes_on_a_trip_keeps_to_its_prior():
    whole = made.exposure(8, trips=40)
    rng = np.random.default_rng(3)
    of_trip = rng.normal(1.1, 0.15, int(whole.trip.max()) + 1)[whole.trip]
    steady = made.with_table(whole, speed_mps=of_trip + 0.001 * rng.standard_normal(len(of_trip)))
    fit = fit_rate(steady, candidates(steady)["depth alone"], rng)
    hours = steady.table["hours"].to_numpy()
    curve = fit_within_trips(steady, fit, hours, "speed_mps", rng)
    ratio = np.exp(np.ptp(curve.log_rate(np.array([0.9, 1.3])), axis=0))
    assert np.quantile(ratio, 0.95) < 5.0
