"""Owns the tests of the comparison with the season before."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis import labels
from analysis.review.year_on_year import BAND, OVERALL, SHARE, before_table
from analysis.season import Options, _summary
from analysis.show.season import data_tables
from analysis.show.season import tables as season_tables
from analysis.show.sentences.year_before import before_sentences, worded
from data.scenario import SCENARIOS


@pytest.fixture(scope="module")
def seasons(known):
    """Two seasons of the same fish; in the second one twice as many strikes."""
    scenario = SCENARIOS["benign"].but(day_sd=0.2, hour_sd=0.2)
    return known(scenario, 21, strikes=250), known(scenario, 21, strikes=500)


def test_the_change_of_all_strikes_is_counted_with_an_interval(seasons):
    before, now = seasons
    table = worded(before_table(now.answer, before.answer), now.units)
    overall = table.loc[table["what"] == OVERALL].iloc[0]
    for season, rate in ((before, overall["rate_before"]), (now, overall["rate_now"])):
        exposure = season.answer.exposure.table
        assert rate == pytest.approx(exposure["strikes"].sum() / exposure["hours"].sum())
    assert overall["ratio"] == pytest.approx(overall["rate_now"] / overall["rate_before"])
    assert overall["low"] < 2.0 < overall["high"] * 1.1
    assert overall["low"] > 1.3
    assert "up, " in overall["wording"]


def test_bands_changed_alike_and_their_shape_did_not(seasons):
    before, now = seasons
    table = worded(before_table(now.answer, before.answer), now.units)
    bands = table.loc[table["what"] == BAND]
    assert np.median(bands["ratio"]) == pytest.approx(2.0, rel=0.25)
    shape = table.loc[table["what"] == SHARE]
    assert len(shape) == len(bands)
    inside = (shape["low"] < 1.0) & (shape["high"] > 1.0)
    assert inside.mean() >= 0.75
    logs = np.log(shape["rate_now"])
    assert logs.mean() == pytest.approx(0.0, abs=0.05)


def test_the_interval_widens_where_trips_differ(seasons, known):
    """A season beside itself: the change is none, and its interval that of two alike."""
    calm, _ = seasons
    wild = known(SCENARIOS["benign"].but(day_sd=1.4, hour_sd=0.2), 21, strikes=250)
    widths = []
    for season in (calm, wild):
        row = worded(before_table(season.answer, season.answer), season.units).iloc[0]
        widths.append(np.log(row["high"] / row["low"]))
    assert widths[1] > 1.4 * widths[0]


def test_equal_seasons_show_no_change(seasons):
    before, _ = seasons
    table = worded(before_table(before.answer, before.answer), before.units)
    assert table["ratio"].to_numpy() == pytest.approx(1.0)
    assert not table["wording"].str.contains(": up|: down").any()
    told = before_sentences(table, before.answer, before.answer, before.units)
    assert told[1] == "Against the other bands none changed beyond its interval."
    assert told[2].startswith("Both seasons' answer is")


def test_no_season_before_is_said(seasons):
    _, now = seasons
    table = worded(before_table(now.answer, None), now.units)
    assert table.empty
    assert "nothing to compare" in before_sentences(table, now.answer, None, now.units)[0]


def test_a_season_without_strikes_cannot_be_compared(seasons):
    before, now = seasons
    empty = now.answer.exposure.with_strikes(np.zeros(len(now.answer.exposure.strike_row), bool))
    fit = replace(now.answer.fit, strikes=0)
    table = worded(
        before_table(replace(now.answer, exposure=empty, fit=fit), before.answer), before.units
    )
    assert len(table) == 1
    assert "cannot be compared" in table.iloc[0]["wording"]


def test_the_sentence_and_the_table_beside_it_tell_the_same_of_a_band(seasons):
    """A band may gain on the others while its own rate does not: the table shows both."""
    before, now = seasons
    table = worded(before_table(now.answer, before.answer), now.units)
    share = table["what"] == SHARE
    place = table.index[share]
    table.loc[place[0], ["ratio", "low", "high"]] = 0.8, 0.7, 0.9
    table.loc[place[1], ["ratio", "low", "high"]] = 1.2, 1.1, 1.3
    moved = before_sentences(table, now.answer, before.answer, now.units)[1]
    shown = season_tables.before(table, now.units)
    beside = dict(
        zip(shown.columns["Depth"], shown.columns["Against the other bands"], strict=True)
    )
    for row, word in zip(table.loc[place[:2]].itertuples(), ("worse", "better"), strict=True):
        band = labels.band(row.band_low_m, row.band_high_m, now.units)
        assert f"{band} fished {word}" in moved
        assert beside[band] == (
            f"{labels.ratio(row.ratio)} ({labels.interval(row.low, row.high, labels.ratio)})"
        )
    assert beside["all depths, as counted"] == "–"


def test_the_summary_counts_the_season_reviewed_alone(seasons):
    """Its counts stand beside bands of that season; a season before must not be in them."""
    before, now = seasons
    folders = [season.seasons[0].log.folder.name for season in seasons]
    aside = pd.DataFrame({"log": [*folders, "another"]})
    found = _summary(
        (*before.seasons, *now.seasons),
        now.seasons,
        {"set_aside": aside},
        now.answer,
        Options(),
        now.units,
    )
    season = now.answer.table.loc[lambda rows: rows["period"] == "season"]
    assert found["strikes_placed"] == now.answer.exposure.table["strikes"].sum()
    assert found["rod_hours"] == pytest.approx(season["rod_hours"].sum(), rel=1e-3)
    assert found["trips"] == len(now.seasons[0].log.trips)
    assert found["sets"] == len(now.seasons[0].effort.sets)


def test_the_models_named_are_those_of_the_formula(seasons):
    """An average is told as one: 'temperature alone' with a formula in depth contradicts itself."""
    _, now = seasons
    used = now.answer.choice.used
    members = now.answer.choice.members
    assert len(members) > 1
    assert used.startswith("average of ")
    assert all(name in used for name in members)
    parameters = {"band_m": 3.0}
    summary = {
        "model": used,
        "formula": now.answer.formula,
        "version": "1",
        "parameters": parameters,
    }
    rows = dict(data_tables.provenance(summary, now.units).rows)
    assert rows["Model or models used"] == used
    assert rows["Formula, with the terms of all models used"] == now.answer.formula
