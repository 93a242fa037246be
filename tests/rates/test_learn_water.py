"""Owns the tests of waters that were seen at their surface alone and are read from the strikes."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import eigh

from analysis.rates.build_exposure import combine, join
from analysis.rates.fit import REFITS
from analysis.rates.learn_water import learn_water
from analysis.season import read_seasons
from analysis.show.sentences import first_lines
from data.lake import make_lake
from data.simulate import simulate_season

STUDY = Path(__file__).parents[1] / "benchmarks" / "unseen_water_study.md"


@pytest.fixture(scope="module")
def unseen(known):
    return known("no_casts", 1)


def test_strikes_bring_the_temperature_at_the_lures_nearer_to_the_truth(unseen):
    """Truth: the simulation's own water, whose thermocline is not the model's usual one."""
    untold = join(unseen.seasons)
    sets = unseen.simulated.truth.sets
    true = sets.groupby("trip")["temp_c"].mean()
    trip = untold.table["trip"].to_numpy()

    def off_c(exposure):
        here = np.argmin(np.abs(np.linspace(-0.6, 0.6, 13)))
        hours = exposure.table["hours"].to_numpy()
        told = exposure.temperature_c[:, here]
        mean = {t: np.average(told[trip == t], weights=hours[trip == t]) for t in true.index}
        return np.sqrt(np.mean((np.array([mean[t] for t in true.index]) - true) ** 2))

    assert off_c(unseen.answer.exposure) < 0.9 * off_c(untold)


def test_a_deep_thermocline_is_found_where_the_usual_water_leads_to_a_shallow_one(tmp_path):
    """Truth: the simulation's, 6 m deeper than usual; uphill from the usual it ends at 2 m."""

    def deep(day, rng):
        lake = make_lake(day, rng)
        return replace(lake, thermocline_m=lake.thermocline_m + 6.0)

    season = simulate_season("no_casts", 1, trips=24, strikes=150, water=deep)
    untold = join(read_seasons([season.write(tmp_path / "dunlin-2026")]))
    told = learn_water(untold, np.random.default_rng(1)).latent
    ways, _ = told.ways_of(0)
    middle_m = [ways.moved(at).middle(untold.start)[0].mean() for at in (0 * told.mean, told.mean)]
    true_m = season.truth.lake.thermocline_m[untold.trip].mean()
    assert abs(middle_m[1] - true_m) < 0.5 * abs(middle_m[0] - true_m), (middle_m, true_m)


def test_a_log_without_strikes_leaves_the_waters_as_they_were(unseen):
    bare = join(unseen.seasons)
    bare = bare.with_strikes(np.zeros(len(bare.strike_row), dtype=bool))
    told = learn_water(bare, np.random.default_rng(1))
    assert told.latent.mean == pytest.approx(0.0)
    assert told.temperature_c == pytest.approx(bare.temperature_c, nan_ok=True)
    assert told.latent.draws.shape == (REFITS, bare.latent.count)


def test_draws_lie_about_the_likeliest_and_are_told_once(unseen):
    told = unseen.answer.exposure
    assert told.latent.draws.mean(axis=0) == pytest.approx(told.latent.mean)
    assert (np.std(told.latent.draws, axis=0) < 1.6).all()
    assert learn_water(told, np.random.default_rng(2)) is told


def test_water_told_by_casts_is_left_alone(warm):
    whole = join(warm.seasons)
    assert whole.latent.count == 0
    assert learn_water(whole, np.random.default_rng(1)) is whole


def test_logs_of_one_water_share_its_unknowns_and_others_have_their_own(unseen):
    one = join(unseen.seasons)
    season = unseen.seasons[0]
    fit = season.water.field.fit
    field = replace(season.water.field, fit=replace(fit, state=fit.state + 0.01))
    elsewhere = join([replace(season, water=replace(season.water, field=field))])
    assert combine([one, one]).latent.count == one.latent.count
    both = combine([one, elsewhere])
    assert both.latent.count == 2 * one.latent.count
    rows = len(one.table)
    amount = np.concatenate([np.ones(one.latent.count), np.zeros(one.latent.count)])
    moved = both.in_water(amount)
    alone = one.in_water(np.ones(one.latent.count))
    assert moved.temperature_c[:rows] == pytest.approx(alone.temperature_c, nan_ok=True)
    assert moved.temperature_c[rows:] == pytest.approx(elsewhere.temperature_c, nan_ok=True)
    model, every = unseen.answer.fit.model, np.arange(2 * rows)
    shift = np.linspace(-0.3, 0.3, 2 * rows)
    once = both.values(model, every, shift, 1.0, amount)["lure_temp_c"]
    whole = moved.values(model, every, shift, 1.0)["lure_temp_c"]
    assert once == pytest.approx(whole, rel=1e-12, nan_ok=True)


def test_a_boat_beside_one_whose_water_is_settled_still_learns_its_own(unseen, warm):
    """Three boats of a club: one lowers a thermometer, one does not; their seasons are one fit."""
    settled = join(warm.seasons)
    both = combine([settled, join(unseen.seasons)])
    told = learn_water(both, np.random.default_rng(1))
    alone = learn_water(join(unseen.seasons), np.random.default_rng(1))
    rows = len(settled.table)
    assert told.temperature_c[:rows] == pytest.approx(settled.temperature_c, nan_ok=True)
    assert np.isfinite(told.latent.mean).all()
    # what the other boat's fish like, in the water that is known, may help, not contradict
    apart = np.abs(told.latent.mean - alone.latent.mean) / np.std(alone.latent.draws, axis=0)
    assert apart.max() < 3.0


def test_a_water_seen_at_its_surface_alone_is_more_doubtful_than_its_strikes_make_it(unseen):
    """Half as much again where strikes tell all that is known, and never beyond that."""
    whole = join(unseen.seasons)
    probed = learn_water(replace(whole, water_unseen=False), np.random.default_rng(1)).latent
    told = learn_water(whole, np.random.default_rng(1)).latent
    assert told.mean == pytest.approx(probed.mean)
    wider = eigh(np.cov(told.draws.T), np.cov(probed.draws.T), eigvals_only=True)
    assert ((wider > 0.9) & (wider < 2.5)).all()
    assert wider.max() > 1.7


def test_a_clear_verdict_is_surer_than_where_the_water_was_measured(known):
    """A season's own verdicts at the bounds: some months are clear, none of less than 0.97."""
    unseen = known("no_casts", 2)
    judged = [period.judgement for period in unseen.answer.periods]
    assert {one.verdict for one in judged} > {"clear"}
    assert all(one.p_near >= 0.97 for one in judged if one.verdict == "clear")
    assert any(0.9 <= one.p_near < 0.97 for one in judged)
    assert not unseen.answer.caps
    assert {cap.code for cap in unseen.answer.caps_of_less} == {"water-unseen"}
    told = " ".join(first_lines(unseen.answer, unseen.units))
    assert "only from 97 % on, not from 92 %" in told
    measured = " ".join(STUDY.read_text(encoding="utf-8").split())
    clear, wrong = re.search(r"(\d+) of \d+ months clear and (\d+) wrong", measured).groups()
    assert f"of {clear} such verdicts on months of simulated lakes {wrong} were wrong" in told
