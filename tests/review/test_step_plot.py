"""Owns the tests of the way from the raw count to the rate at equal conditions."""

import numpy as np
import pandas as pd
import pytest

from analysis import labels
from analysis.review.step_plot import (
    TIMES,
    headline,
    influence_table,
    shares_table,
    steps_of,
)
from analysis.show.sentences.steps import shares_sentence, worded


def test_shares_are_of_the_strikes_and_rod_hours_of_their_own_period():
    bands = pd.DataFrame(
        {
            "period": ["season", "season", "2026-06", "2026-06", "2026-07"],
            "band_low_m": [0.0, 3.0, 0.0, 3.0, 0.0],
            "band_high_m": [3.0, 6.0, 3.0, 6.0, 3.0],
            "strikes": [30, 10, 3, 1, 0],
            "rod_hours": [60.0, 60.0, 30.0, 10.0, 20.0],
            "raw_rate": [0.5, 1 / 6, 0.1, 0.1, 0.0],
        }
        | dict.fromkeys(("rate", "rate_low", "rate_high"), 0.1)
    )
    shares = shares_table(bands)
    np.testing.assert_allclose(shares["strike_share"], [0.75, 0.25, 0.75, 0.25, np.nan])
    np.testing.assert_allclose(shares["hour_share"], [0.5, 0.5, 0.75, 0.25, 1.0])


def test_influences_of_a_band_lead_from_the_raw_to_the_standardised_rates_of_the_answer(warm):
    """What is multiplied is taken from the steps, what it comes to from the answer's bands."""
    steps = steps_of(warm.answer)
    first, best = headline(steps, warm.answer)
    bands = warm.answer.table
    season = bands.loc[bands["period"] == "season"].set_index("band_low_m")
    low = warm.answer.hours.edges_m[[first, best]]
    raw, rate = (season.loc[low, column].to_numpy() for column in ("raw_rate", "rate"))
    assert raw[0] > rate[0] * raw[1] / rate[1], "the headline band's raw rate does not mislead"
    # medians of draws, so only about
    product = np.median(steps.ratios(first, best).prod(axis=0))
    assert product == pytest.approx(raw[0] / raw[1] * rate[1] / rate[0], rel=0.05)


def test_good_days_and_hours_are_told_by_their_true_size(known):
    season = known("chasing_confounded", 3)
    steps = steps_of(season.answer)
    place = steps.names.index(TIMES)
    truth = season.simulated.truth
    rod = truth.rod_steps
    trip = np.asarray(rod["trip"], dtype=int)
    pace = np.exp(truth.response.log_time(trip, np.asarray(rod["minute"], dtype=float)))
    edges = season.answer.hours.edges_m
    band = np.searchsorted(edges, rod["model_depth_m"]) - 1
    hours = np.asarray(rod["hours"])
    true = {
        number: np.average(pace[band == number], weights=hours[band == number])
        for number in np.flatnonzero(steps.judged)
    }
    best = int(np.argmax(np.where(steps.judged, season.answer.season.rod_hours, 0)))
    told, wanted = [], []
    for number in np.flatnonzero(steps.judged):
        if number != best and season.answer.season.rod_hours[number] > 100:
            told.append(np.median(np.log(steps.ratios(int(number), best)[place])))
            wanted.append(np.log(true[number] / true[best]))
    assert len(told) >= 4
    # strikes come by chance, so their pace follows the true one only about
    assert np.corrcoef(told, wanted)[0, 1] > 0.6
    assert np.abs(np.subtract(told, wanted)).mean() < 0.25


def test_the_headline_band_alone_is_told_in_words(warm):
    table = worded(influence_table(steps_of(warm.answer), warm.answer), warm.units)
    told = table.loc[table["headline"]]
    assert told[["band_low_m", "against_low_m"]].drop_duplicates().shape[0] == 1
    assert (told["wording"].str.len() > 20).all()
    assert (table.loc[~table["headline"], "wording"] == "").all()
    assert ((table["ratio_low"] <= table["ratio"]) & (table["ratio"] <= table["ratio_high"])).all()


def test_the_sentence_names_the_band_with_the_highest_raw_rate(warm):
    """Not the one with most strikes: its own table of shares has both, and they differ here."""
    sentence = shares_sentence(steps_of(warm.answer), warm.answer, warm.units)
    shares = shares_table(warm.answer.table.loc[lambda bands: bands["judged"]])
    season = shares.loc[shares["period"] == "season"]
    rate, count = (season.loc[season[column].idxmax()] for column in ("raw_rate", "strike_share"))
    first = labels.band(rate["band_low_m"], rate["band_high_m"], warm.units)
    assert rate["band_low_m"] != count["band_low_m"]
    assert sentence.startswith(f"By the raw rate {first} looks best")


def test_without_temperature_the_last_step_is_the_place_in_the_band(known):
    steps = steps_of(known("no_casts", 1, surface=False).answer)
    assert steps.names[-1] == "depth_m"
