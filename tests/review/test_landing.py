"""Owns the tests of hook-up and landing."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates.build_exposure import join
from analysis.review.landing import OTHERS, covariates, landing
from analysis.review.strikes import all_strikes
from analysis.season import read_seasons
from analysis.show.sentences.tackle import landing_notes, landing_sentences
from data.scenario import SCENARIOS
from data.simulate import simulate_season


@pytest.fixture(scope="module")
def leaders(tmp_path_factory):
    """Logs of a season in which a longer leader lands far more fish; landing takes no fit."""
    season = simulate_season(SCENARIOS["benign"].but(landing_leader=2.5), 4, strikes=500)
    return read_seasons([season.write(tmp_path_factory.mktemp("leaders") / "dunlin-2026")])


@pytest.fixture(scope="module")
def units(leaders):
    return leaders[0].log.boat.units


def test_counts_are_those_of_the_log(leaders, units, rng):
    strikes = all_strikes(leaders)
    found = landing(strikes, units, rng)
    outcome = strikes["outcome"].value_counts()
    hooked = outcome[["landed", "released", "lost"]].sum()
    assert found.landing.trials == hooked
    assert found.landing.successes == outcome[["landed", "released"]].sum()
    assert found.hookup.trials == len(strikes)
    assert found.hookup.successes == hooked
    gears = found.outcomes.loc[found.outcomes["term"] == "gear and setting"]
    assert gears["hooked"].sum() == hooked
    assert set(gears["level"]) == {*join(leaders).table["gear_setting"].cat.categories}


def test_a_true_effect_of_leader_length_is_found_and_told(leaders, units, rng):
    found = landing(all_strikes(leaders), units, rng)
    rows = found.outcomes.loc[found.outcomes["term"] == "leader length"]
    assert rows["modelled"].all()
    assert list(rows["boated_rate"]) == sorted(rows["boated_rate"])
    assert rows["low"].iloc[-1] > rows["high"].iloc[0]
    told = " ".join(landing_sentences(found, units))
    assert "By leader length" in told
    assert found.landing.formula.startswith("log odds = constant + s(log leader_length_m)")


def test_what_lost_fish_lack_is_not_modelled_and_said(warm, rng):
    strikes = all_strikes(warm.seasons)
    lost = strikes["outcome"].isin(["lost", "missed"])
    strikes.loc[lost, "length_m"] = np.nan
    strikes.loc[:, "kind"] = np.where(strikes.index % 2, "lake trout", "brown trout")
    strikes.loc[strikes.index[lost][::3], "kind"] = ""
    found = landing(strikes, warm.units, rng)
    assert "length of the fish" not in set(found.outcomes["term"])
    species = found.outcomes.loc[found.outcomes["term"] == "species"]
    assert len(species) == 2
    assert not species["modelled"].any()
    notes = " ".join(landing_notes(found))
    assert "What length of the fish did to the share landed or released cannot be told" in notes
    assert "shares landed or released of the known ones look better than they are" in notes


def test_strikes_without_an_outcome_are_left_out_and_counted(warm, rng):
    strikes = all_strikes(warm.seasons)
    strikes.loc[strikes.index[:7], "outcome"] = ""
    found = landing(strikes, warm.units, rng)
    assert found.hookup.trials == len(strikes) - 7
    assert "7 strikes without an outcome" in landing_notes(found)[-1]


def test_rare_classes_stand_together(warm):
    strikes = all_strikes(warm.seasons)
    strikes.loc[strikes.index[:3], "gear_setting"] = "hand line"
    gears = next(c for c in covariates(strikes, warm.units) if c.name == "gear and setting")
    assert gears.levels[-1] == OTHERS
    assert (gears.level[:3] == len(gears.levels) - 1).all()


def test_a_log_without_strikes_has_empty_tables(warm, rng):
    nothing = all_strikes(warm.seasons).head(0)
    found = landing(nothing, warm.units, rng)
    assert found.outcomes.empty
    assert found.hookups.empty
    assert landing_sentences(found, warm.units) == []
    assert isinstance(found.outcomes, pd.DataFrame)
