"""Owns the tests of the sentence of a period: which bands it names, and how much it claims.

Rates are set by hand: bands of 10 ft of which one or two are good in so many of 100 draws.
"""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pandas as pd
import pytest

from analysis.decision.answer import Period, answer
from analysis.decision.bands import judge
from analysis.show.sentences import answer as sentences
from analysis.show.sentences.answer import (
    best_rows,
    missing,
    period_sentence,
    season_sentence,
    spread_sentences,
)
from analysis.units import Units, to_si

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
EDGES_M = to_si(np.arange(0.0, 70.0, 10.0), "depth", "ft")
POOR, GOOD = 0.05, 0.25


@pytest.fixture(scope="module")
def made_answer():
    """A fitted season with bands of feet; its periods are replaced."""
    season = made.exposure(3, trips=16)
    rng = np.random.default_rng(1)
    found = answer(season, made.temperature_at, np.asarray(EDGES_M), rng, checked=False)
    return replace(found, choice=replace(found.choice, gains={}))


def period(good, *, name="season", hours=100.0, judged=True, strikes=20, may_be_clear=True):
    """Six bands; ``good`` tells of some of them in which of 100 draws they are the good ones."""
    draws = np.full((6, 100), POOR)
    for band, which in good.items():
        draws[band, which] = GOOD
    flags = np.full(6, judged)
    return Period(
        name=name,
        at_depth=draws[:, None],
        rod_hours=np.full(6, hours) + np.arange(6),
        strikes=np.full(6, strikes),
        judged=flags,
        judgement=judge(draws, flags, may_be_clear=may_be_clear),
    )


ALWAYS = slice(None)


def test_a_clear_band_is_told_with_its_rate_interval_hours_and_odds(made_answer):
    assert period_sentence(made_answer, period({2: slice(0, 93), 5: slice(93, 100)}), FEET) == (
        # 93 draws of 0.25 and 7 of 0.05: the lower bound of nine in ten is the poor rate
        # of which, over a width of 0.2, the third decimal says nothing
        "Over the season 20–30 ft produced best: 0.25 strikes per rod-hour (90 % interval 0.05 to "
        "0.25, 102 rod-hours there); 93 % sure that it holds a band within a tenth of the best."
    )


def test_two_neighbours_are_told_as_one_place_with_the_hours_of_both(made_answer):
    july = period({2: slice(0, 60), 3: slice(60, 100)}, name="2026-07")
    assert period_sentence(made_answer, july, FEET) == (
        # a rod that parts its hours has half of 0.25 and half of 0.05, in every draw
        # and of two halves that are never both good, the likelier is named
        "In July 20–40 ft (rather 20–30 ft) produced best: 0.150 strikes per rod-hour (90 % "
        "interval 0.150 to 0.150, 205 rod-hours there); over 99 % sure that it holds a band within "
        "a tenth of the best."
    )


@pytest.mark.parametrize("band", range(6))
def test_the_band_told_is_the_one_that_was_judged(made_answer, band):
    sentence = period_sentence(made_answer, period({band: ALWAYS}), FEET)
    assert f"Over the season {10 * band}–{10 * band + 10} ft produced best" in sentence
    assert f", {100 + band} rod-hours there)" in sentence


@pytest.mark.parametrize(
    ("best", "judged", "words"),
    [
        (4, slice(0, 5), "Deeper water was fished too little to judge, and may be better still."),
        (2, slice(2, 6), "Shallower water was fished too little to judge"),
        (2, slice(1, 5), ""),
        (0, slice(0, 5), ""),  # above the surface there is none
    ],
)
def test_a_best_at_the_edge_of_what_was_fished_is_not_the_last_word(
    made_answer, best, judged, words
):
    """Fish that stand deeper than any rod: the deepest band fished is the best of those alone."""
    found = period({best: ALWAYS})
    flags = np.zeros(6, dtype=bool)
    flags[judged] = True
    found = replace(found, judged=flags, judgement=judge(found.draws, flags))
    sentence = period_sentence(made_answer, found, FEET)
    assert words in sentence
    assert ("too little to judge" in sentence) == bool(words)


def test_a_leaning_log_leans(made_answer):
    june = period({2: slice(0, 75), 5: slice(75, 100)}, name="2026-06")
    sentence = period_sentence(made_answer, june, FEET)
    assert sentence.startswith("In June the log leans to 20–30 ft: 0.25 strikes per rod-hour")
    assert sentence.endswith("; 75 % sure that it holds a band within a tenth of the best.")


def test_a_cap_takes_the_word_best_away(made_answer):
    capped = period({2: ALWAYS}, may_be_clear=False)
    sentence = period_sentence(made_answer, capped, FEET)
    assert sentence.startswith("Over the season the log leans to 20–30 ft")
    assert "produced best" not in sentence


def test_an_open_log_says_first_that_it_cannot_tell_and_what_is_missing(made_answer):
    found = period({1: slice(0, 55), 4: slice(55, 100)})
    sentence = period_sentence(made_answer, found, FEET)
    assert sentence.startswith("Over the season the log cannot tell; 10–20 ft looks best so far:")
    assert "; 55 % sure that it holds a band within a tenth of the best. Missing: " in sentence
    # of the two that may be best the shallower was fished an hour or three less
    assert sentence.endswith(
        "Missing: rod-hours in 10–20 ft (101 so far) and about 1,000 more strikes."
    )


def test_odds_are_not_told_by_a_model_that_does_not_foretell_trips(made_answer):
    lame = replace(made_answer.choice, gains={"constant rate": (0.0, 1.0)})
    for best, chances in {
        "10–20 ft": {1: slice(0, 55), 4: slice(55, 100)},
        "0–10 ft": {band: ALWAYS for band in range(6)},
    }.items():
        sentence = period_sentence(replace(made_answer, choice=lame), period(chances), FEET)
        assert sentence.startswith(f"Over the season the log cannot tell; {best} looks best so far")
        assert "sure" not in sentence
        assert "likely" not in sentence


def test_where_all_bands_may_be_alike_none_is_said_to_have_produced(made_answer):
    """In 20 of 100 draws one band is poor, in the others all are alike."""
    found = period({band: ALWAYS for band in range(5)} | {5: slice(0, 80)})
    sentence = period_sentence(made_answer, found, FEET)
    assert sentence.startswith(
        "Over the season depth may have made no difference: it is 80 % likely that every band "
        "fished enough was within a tenth of the best."
    )
    assert "best:" not in sentence
    assert "leans" not in sentence


def test_where_bands_are_nearly_alike_the_most_that_one_gave_up_is_told(made_answer):
    """In 20 of 100 draws one band is down by a quarter, in the others all are alike."""
    found = period({band: ALWAYS for band in range(6)})
    draws = found.draws.copy()
    draws[5, 80:] *= 0.75
    found = replace(found, at_depth=draws[:, None], judgement=judge(draws, found.judged))
    sentence = period_sentence(made_answer, found, FEET)
    assert sentence.startswith(
        "Over the season depth may have made no difference: of the depths fished enough none gave "
        "up more than 25 % of the best (90 % sure)."
    )


def test_bands_fished_too_little_are_not_told_of(made_answer):
    sentence = period_sentence(made_answer, period({2: ALWAYS}, judged=False), FEET)
    assert sentence == (
        "Over the season the log cannot tell which depth produced: fewer than two bands were "
        "fished long enough to compare."
    )


def test_what_is_missing_is_hours_where_the_best_may_be_and_least_was_fished(made_answer):
    """Bands 3 and 5 may be best; band 1 has the fewest hours, and is it in 1 draw of 20 alone."""
    found = period({3: slice(0, 55), 5: slice(55, 95), 1: slice(95, 100)})
    hours = np.array([90.0, 10.0, 90.0, 60.0, 90.0, 30.0])
    assert missing(made_answer, replace(found, rod_hours=hours), FEET).startswith(
        "rod-hours in 50–60 ft (30 so far) and about "
    )


def test_a_spread_alone_is_told_of_in_the_periods_where_it_keeps_from_clear(made_answer):
    periods = (
        replace(period({2: ALWAYS}), on_spread=0.32),
        replace(period({2: ALWAYS}, name="2026-06"), on_spread=0.34),
        replace(period({2: ALWAYS}, name="2026-07"), on_spread=0.5),
    )
    (line,) = spread_sentences(replace(made_answer, periods=periods))
    assert "in June (34 %), July (50 %): no verdict is 'clear' there." in line
    assert "season (" not in line
    assert spread_sentences(replace(made_answer, periods=periods[:1])) == []
    every = tuple(replace(one, on_spread=1.0) for one in periods)
    (line,) = spread_sentences(replace(made_answer, periods=every))
    assert "in the season and in each of its months: no verdict is 'clear' there." in line


def test_where_nearly_every_depth_will_do_that_is_the_answer(made_answer):
    draws = np.repeat([[0.21], [0.22], [0.25], [0.22], [0.21], [0.05]], 100, axis=1)
    flags = np.ones(6, dtype=bool)
    october = replace(
        period({2: ALWAYS}, name="2026-10"), at_depth=draws[:, None], judgement=judge(draws, flags)
    )
    assert period_sentence(made_answer, october, FEET) == (
        "In October any depth in 0–50 ft did nearly as well: none gave up more than a fifth of the "
        "best (over 99 % sure). The best by a little was 20–30 ft: 0.250 strikes per rod-hour "
        "(90 % interval 0.250 to 0.250, 102 rod-hours there)."
    )


@pytest.mark.parametrize("follows", ["temperature", "depth"])
def test_a_season_of_fish_that_followed_the_water_has_no_one_depth(
    made_answer, monkeypatch, follows
):
    season = period({2: ALWAYS})
    months = tuple(replace(season, name=name) for name in ("2026-06", "2026-07"))
    found = replace(made_answer, periods=(season, *months))
    monkeypatch.setattr(sentences, "what_they_follow", lambda _: follows)
    monkeypatch.setattr(sentences, "favourite_water", lambda *_: "Fish the 9 to 11 °C water.")
    told = season_sentence(found, FEET)
    rows = best_rows(found, FEET)
    assert [row["an_average"] for row in rows] == [follows == "temperature", False, False]
    assert rows[0]["sentence"] == told
    if follows == "depth":
        assert told == period_sentence(found, season, FEET)
    else:
        assert told == (
            "No one depth is the season's: 20–30 ft was best on average, over days whose water "
            "lay at other depths. Go by the month."
        )


@pytest.mark.parametrize(
    ("may_be_clear", "begins"), [(True, "Fish the"), (False, "The log leans to the")]
)
def test_the_first_line_orders_no_water_where_no_verdict_is_clear(
    made_answer, monkeypatch, may_be_clear, begins
):
    """As of a season two weeks old: fish follow the water, and 30 strikes are few."""
    season = period({2: ALWAYS}, may_be_clear=may_be_clear)
    at = np.array([8.0, 10.0, 12.0])
    curve = pd.DataFrame({"term": "lure_temp_c", "at": at, "ratio": [0.2, 1.0, 0.2], "high": 0.4})
    found = replace(made_answer, periods=(season, replace(season, name="2026-06")), effects=curve)
    monkeypatch.setattr(sentences, "what_they_follow", lambda _: "temperature")
    assert found.told
    assert sentences.favourite_water(found, FEET).startswith(f"{begins} 50 °F water; in June")


@pytest.mark.parametrize(("strikes", "sure"), [(20, True), (14, False)])
def test_of_few_strikes_no_chance_is_told(made_answer, strikes, sure):
    """Fewer than 15 strikes tell no depth, however sure the model is of itself."""
    found = replace(made_answer, fit=replace(made_answer.fit, strikes=strikes, trips=9))
    season = period({2: ALWAYS})
    season = replace(season, judgement=season.judgement.as_open())
    told = period_sentence(found, season, FEET)
    assert told.startswith("Over the season the log cannot tell; 20–30 ft looks best so far")
    assert ("% sure" in told) is sure
