"""Owns the tests of the grouping of spellings and of the species table."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.review.species import (
    species_answers,
    species_bands,
    species_table,
    spellings,
)
from analysis.review.strikes import all_strikes
from analysis.season import read_seasons
from analysis.show.sentences.season import pooled_sentences
from analysis.stats.beside import share_out


@pytest.mark.parametrize(
    "spelling",
    ["Lake Trout", " lake  trout ", "lake-trout", "laketrout", "lake truot", "LK TROUT"],
)
def test_a_spelling_is_taken_for_the_more_frequent_one(spelling):
    names = ["lake trout"] * 5 + ["brown trout"] * 5 + [spelling]
    assert spellings(names)[spelling] == "lake trout"


def test_different_fish_of_like_names_stay_apart():
    names = [
        "rainbow trout",
        "brown trout",
        "brook trout",
        "lake trout",
        "king salmon",
        "pink salmon",
    ]
    assert spellings(names * 3) == {name: name for name in names}


def test_a_short_name_joins_one_longer_name_but_never_two():
    assert spellings(["landlocked salmon", "landl. salmon", "salmon"] * 2 + ["salmon"]) == {
        "landlocked salmon": "salmon",
        "landl. salmon": "salmon",
        "salmon": "salmon",
    }
    two = spellings(["trout"] * 9 + ["lake trout", "brown trout"])
    assert two == {"trout": "trout", "lake trout": "lake trout", "brown trout": "brown trout"}


def test_a_fish_not_seen_is_no_species():
    assert spellings(["", "pike", ""]) == {"": "", "pike": "pike"}


@given(st.lists(st.sampled_from(["pike", "Pike", "perch", "zander", "zandr", ""]), min_size=1))
def test_grouping_does_not_depend_on_order_and_is_settled(names):
    found = spellings(names)
    assert found == spellings(sorted(names))
    assert set(found) == set(names)
    assert all(found.get(species, species) == species for species in found.values())


def test_the_table_counts_every_strike_once_and_shows_the_spellings(season_files, tmp_path):
    trips = season_files.add("trips", "T3,2026-07-12,2026-07-12 06:00,10:00,north arm,2,")
    strikes = season_files.add(
        "strikes",
        "T1,10:00,S1,Lake  Trout,landed,31,9.5,",
        "T1,11:00,S1,lake-trout,,,,",
        "T3,07:00,P1,lake trout,released,20,,no set records",
    )
    folder = season_files.write(tmp_path / "dunlin-2026", trips=trips, strikes=strikes)
    seasons = read_seasons([folder])
    gathered = all_strikes(seasons)
    table = species_table(gathered)
    assert table["strikes"].sum() == len(gathered) == 6
    parts = ["landed", "released", "lost", "missed", "not_logged"]
    assert table[parts].sum().sum() == 6
    trout = table.iloc[0]
    assert trout["species"] == "lake trout"
    assert trout["spelt_as"] == "lake trout (2); Lake  Trout (1); lake-trout (1)"
    assert list(trout[parts]) == [2, 1, 0, 0, 1]
    assert trout["biggest_length_m"] == pytest.approx(31 * 0.0254)
    assert trout["biggest_weight_kg"] == pytest.approx(9.5 * 0.45359237)
    # the strike of the trip without sets counts here and in no slice
    assert (gathered["row"] < 0).sum() == 1
    assert seasons[0].effort.slices["strikes"].sum() == 5


def test_strikes_carry_what_their_rod_was_fishing(warm):
    strikes = all_strikes(warm.seasons)
    placed = strikes.loc[strikes["row"] >= 0]
    np.testing.assert_array_equal(placed["row"], warm.answer.exposure.strike_row)
    table = warm.answer.exposure.table.iloc[placed["row"]]
    assert list(placed["gear_setting"]) == list(table["gear_setting"])
    np.testing.assert_array_equal(placed["leader_length_m"], table["leader_length_m"])


def test_each_species_with_enough_strikes_has_bands_of_its_own_depth(known, rng):
    from data.scenario import SCENARIOS, Species

    two = (
        Species(name="shallow trout", best_depth_m=5.0, depth_width_m=(3.0, 3.0)),
        Species(name="deep trout", share=2.0, best_depth_m=14.0, depth_width_m=(4.0, 4.0)),
        Species(name="rare char", share=0.05),
    )
    season = known(SCENARIOS["benign"].but(species=two), 3, strikes=400)
    strikes = all_strikes(season.seasons)
    kinds = strikes.loc[strikes["row"] >= 0, "kind"].to_numpy()
    asked = species_answers(season.answer, kinds, season.temperature_at, rng)
    share_out(list(asked.values()))
    answers = {kind: errand.made for kind, errand in asked.items()}
    assert set(answers) == {"shallow trout", "deep trout"}
    assert (kinds == "rare char").sum() < 60
    placed = (kinds == "rare char").sum()
    assert pooled_sentences(answers, kinds) == [
        f"Rare char has no bands of its own: its strikes ({placed} placed, of the 60 that takes) "
        "are pooled in the rates of all species."
    ]
    bands = species_bands(answers)
    best = bands.loc[bands["named"] & (bands["period"] == "season")]
    middle = best.assign(at=(best["band_low_m"] + best["band_high_m"]) / 2)
    depth = middle.groupby("species")["at"].mean()
    assert abs(depth["shallow trout"] - 5.0) < 3.1
    assert abs(depth["deep trout"] - 14.0) < 3.1
    season_rows = bands.loc[bands["period"] == "season"]
    for kind, rows in season_rows.groupby("species"):
        placed_in_bands = np.isfinite(
            season.answer.exposure.table["depth_m"].to_numpy()[
                season.answer.exposure.strike_row[kinds == kind]
            ]
        )
        assert rows["strikes"].sum() == placed_in_bands.sum()


def test_one_species_alone_has_the_answer_of_the_season(warm, rng):
    kinds = np.full(len(warm.answer.exposure.strike_row), "lake trout", dtype=object)
    assert species_answers(warm.answer, kinds, warm.temperature_at, rng) == {}
    assert pooled_sentences({}, kinds) == []
    assert species_bands({}).empty


def test_no_strike_gives_an_empty_table():
    strikes = pd.DataFrame({name: [] for name in ("kind", "species", "outcome")})
    strikes = strikes.assign(length_m=[], weight_kg=[])
    assert species_table(strikes).empty
