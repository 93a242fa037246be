"""Owns the tests of the comparison with the season before."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.decision.before import BAND, OVERALL, SHARE, before_sentences, before_table
from data.scenario import SCENARIOS


@pytest.fixture(scope="module")
def seasons(known):
    """Two seasons of the same fish; in the second one twice as many strikes."""
    scenario = SCENARIOS["benign"].but(day_sd=0.2, hour_sd=0.2)
    return known(scenario, 21, strikes=250), known(scenario, 21, strikes=500)


def test_the_change_of_all_strikes_is_counted_with_an_interval(seasons):
    before, now = seasons
    table = before_table(now.answer, before.answer, now.units)
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
    table = before_table(now.answer, before.answer, now.units)
    bands = table.loc[table["what"] == BAND]
    assert np.median(bands["ratio"]) == pytest.approx(2.0, rel=0.25)
    shape = table.loc[table["what"] == SHARE]
    assert len(shape) == len(bands)
    inside = (shape["low"] < 1.0) & (shape["high"] > 1.0)
    assert inside.mean() >= 0.75
    logs = np.log(shape["rate_now"])
    assert logs.mean() == pytest.approx(0.0, abs=0.05)


def test_the_interval_widens_where_trips_differ(seasons, known):
    wild = SCENARIOS["benign"].but(day_sd=1.4, hour_sd=0.2)
    noisy = (known(wild, 21, strikes=250), known(wild, 21, strikes=500))
    widths = []
    for before, now in (seasons, noisy):
        row = before_table(now.answer, before.answer, now.units).iloc[0]
        widths.append(np.log(row["high"] / row["low"]))
    assert widths[1] > 1.4 * widths[0]


def test_equal_seasons_show_no_change(seasons):
    before, _ = seasons
    table = before_table(before.answer, before.answer, before.units)
    assert table["ratio"].to_numpy() == pytest.approx(1.0)
    assert not table["wording"].str.contains(": up|: down").any()
    told = before_sentences(table, before.answer, before.answer, before.units)
    assert told[1] == "Against the other bands none changed beyond its interval."
    assert told[2].startswith("Both seasons' answer is")


def test_no_season_before_is_said(seasons):
    _, now = seasons
    table = before_table(now.answer, None, now.units)
    assert table.empty
    assert "nothing to compare" in before_sentences(table, now.answer, None, now.units)[0]


def test_a_season_without_strikes_cannot_be_compared(seasons):
    before, now = seasons
    empty = now.answer.exposure.with_strikes(np.zeros(len(now.answer.exposure.strike_row), bool))
    fit = replace(now.answer.fit, strikes=0)
    table = before_table(replace(now.answer, exposure=empty, fit=fit), before.answer, before.units)
    assert len(table) == 1
    assert "cannot be compared" in table.iloc[0]["wording"]
