"""Owns the tests of an answer's periods: what is counted and judged in each, and what caps it."""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import _caps, _period, answer
from analysis.decision.caps import Cap
from analysis.rates.model_selection import candidates
from analysis.show.sentences.caps import cap_words

BANDS = len(made.EDGES_M) - 1


@pytest.fixture(scope="module")
def found():
    season = made.exposure(3, trips=16)
    rng = np.random.default_rng(1)
    whole = answer(season, made.temperature_at, made.EDGES_M, rng, checked=False)
    # as if strikes and trips were plenty, and depth foretold trips
    fit = replace(whole.fit, strikes=200, trips=16, status="fitted")
    return replace(whole, choice=replace(whole.choice, gains={}), fit=fit)


def caps(found, exposure=None, **fit):
    exposure = found.exposure if exposure is None else exposure
    return _caps(exposure, found.choice, replace(found.fit, **fit))


def test_a_log_that_has_all_has_no_cap(found):
    assert caps(found) == ()


@pytest.mark.parametrize(("doubt_m", "capped"), [(1.9, False), (2.1, True)])
def test_layers_in_doubt_by_two_metres_cap(found, doubt_m, capped):
    doubted = replace(found.exposure, layer_doubt=doubt_m / found.exposure.depth_m)
    assert caps(found, doubted) == (Cap(code="layers-unknown"),) * capped


@pytest.mark.parametrize(
    ("unseen", "followed", "capped"),
    [(True, 0.5, True), (True, 0.95, False), (True, 0.05, False), (False, 0.5, False)],
)
def test_who_is_followed_in_an_unseen_water_must_be_told(found, unseen, followed, capped):
    latent = replace(found.exposure.latent, followed=followed)
    doubted = replace(found.exposure, water_unseen=unseen, latent=latent)
    assert caps(found, doubted) == (Cap(code="follower-unknown"),) * capped


def test_the_layers_doubt_weighs_by_rod_hours_as_a_variance_does(found):
    """A quarter of the rod-hours with 4.1 m and none else: its root mean square is 2.05 m."""
    quarter = np.arange(len(found.exposure.trip)) % 4 == 0
    doubt = np.where(quarter, 4.1, 0.0) / found.exposure.depth_m
    assert caps(found, replace(found.exposure, layer_doubt=doubt))
    fewer = made.with_table(
        replace(found.exposure, layer_doubt=doubt), hours=np.where(quarter, 0.9, 1.0)
    )
    assert not caps(found, fewer)


@pytest.mark.parametrize(("share", "capped"), [(0.49, False), (0.5, True), (0.51, True)])
def test_temperature_unknown_for_half_of_the_rod_hours_caps(found, share, capped):
    table = found.exposure.table
    lost = np.arange(len(table)) < round(share * 100) * len(table) // 100
    poor = made.with_table(found.exposure, lure_temp_c=np.where(lost, np.nan, table["lure_temp_c"]))
    assert caps(found, poor) == (Cap(code="water-unknown"),) * capped


def test_one_temperature_throughout_caps(found):
    choice = replace(found.choice, model=candidates(found.exposure)["depth alone"])
    (cap,) = _caps(found.exposure, choice, found.fit)
    assert cap == Cap(code="water-alike")


@pytest.mark.parametrize(
    ("fit", "cap"),
    [
        ({"strikes": 100}, None),
        ({"strikes": 99}, "rods fishing at the same time are compared by 99 strikes only"),
        ({"trips": 3}, None),
        ({"trips": 2}, "all strikes that compare rods are of 2 trips"),
        ({"trips": 1}, "all strikes that compare rods are of 1 trip"),
        ({"trips": 0}, None),  # that there are none is told by the status
        ({"status": "did not converge"}, "the search for the best model did not settle"),
    ],
)
def test_few_strikes_few_trips_and_a_failed_fit_cap(found, fit, cap):
    assert [cap_words(found) for found in caps(found, **fit)] == ([] if cap is None else [cap])


def test_a_model_that_foretells_no_trip_caps(found):
    choice = replace(found.choice, gains={"constant rate": (0.1, 0.2)})
    (cap,) = _caps(found.exposure, choice, found.fit)
    assert cap_words(cap) == "depth and water predict unseen trips no better than a constant rate"


def period(found, name="season", *, caps=(), strikes=200, told=True, **columns):
    """Judge a period whose band 6-9 m is surely the best."""
    at_depth = np.full((BANDS, 3, 100), 0.05)
    at_depth[2] = 0.2
    exposure = made.with_table(found.exposure, **columns)
    return _period(name, exposure, made.EDGES_M, at_depth, caps, strikes, told=told)


@pytest.mark.parametrize("name", ["season", "2026-06", "2026-07"])
def test_rod_hours_and_strikes_are_of_the_period_by_modelled_depth(found, name):
    table = found.exposure.table
    mine = table[(table["period"] == name) | (name == "season")]
    count, _ = np.histogram(mine["depth_m"], made.EDGES_M, weights=mine["hours"])
    struck, _ = np.histogram(mine["depth_m"], made.EDGES_M, weights=mine["strikes"])
    judged = period(found, name)
    np.testing.assert_allclose(judged.rod_hours, count)
    np.testing.assert_allclose(judged.strikes, struck)
    assert judged.judgement.verdict == "clear"
    assert list(np.flatnonzero(judged.judgement.named)) == [2]


@pytest.mark.parametrize(
    ("name", "hours", "judged"),
    [
        ("season", 20.1, True),
        ("season", 19.9, False),
        ("2026-06", 8.1, True),
        ("2026-06", 7.9, False),
    ],
)
def test_a_band_needs_twenty_rod_hours_in_a_season_and_eight_in_a_month(found, name, hours, judged):
    table = found.exposure.table
    in_band = ((table["depth_m"] >= 6) & (table["depth_m"] < 9)).to_numpy()
    counted = in_band & ((table["period"] == name) | (name == "season")).to_numpy()
    each = np.where(in_band, hours / counted.sum(), 1.0)
    made_of = period(found, name, hours=each)
    assert made_of.rod_hours[2] == pytest.approx(hours)
    assert bool(made_of.judged[2]) is judged
    assert bool(made_of.judgement.named[2]) is judged


@pytest.mark.parametrize(("strikes", "named"), [(1, [2]), (0, [])])
def test_without_a_strike_no_band_is_named(found, strikes, named):
    assert list(np.flatnonzero(period(found, strikes=strikes).judgement.named)) == named


def test_a_cap_and_a_log_that_tells_nothing_lower_the_verdict(found):
    assert period(found).judgement.verdict == "clear"
    assert period(found, caps=(Cap(code="picked"),)).judgement.verdict == "leaning"
    assert period(found, told=False).judgement.verdict == "open"


@pytest.mark.parametrize(("share", "verdict"), [(0.33, "clear"), (0.34, "leaning")])
def test_above_a_third_on_a_spread_alone_no_verdict_is_clear(found, share, verdict):
    rows = len(found.exposure.trip)
    source = np.where(np.arange(rows) < share * rows, "spread", "sets")
    on_spread = period(found, source=source)
    assert on_spread.on_spread == pytest.approx(share, abs=0.005)
    assert on_spread.judgement.verdict == verdict


def test_the_table_has_the_season_first_and_all_bands_between_those_fished(found):
    """Nobody fished 9-12 m: its row stands, with no rate; deeper than 30 m there is none."""
    depth = found.exposure.table["depth_m"]
    gap = made.with_table(found.exposure, depth_m=np.where((depth >= 9) & (depth < 12), 8.0, depth))
    at_depth = np.full((BANDS, 3, 100), 0.05)
    at_depth[2, :, :] = np.linspace(0.1, 0.2, 100)
    periods = tuple(
        _period(name, gap, made.EDGES_M, at_depth, (), 200, told=True)
        for name in ("season", "2026-06")
    )
    whole = replace(found, exposure=gap, periods=periods)
    assert whole.season.name == "season"
    table = whole.table
    assert list(dict.fromkeys(table["period"])) == ["season", "2026-06"]
    season = table[table["period"] == "season"].set_index("band_low_m")
    assert list(season.index) == [3.0, 6.0, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 27.0]
    nothing = season.loc[9.0]
    assert (nothing["rod_hours"], nothing["strikes"]) == (0, 0)
    assert np.isnan([nothing["raw_rate"], nothing["rate"], nothing["rate_low"]]).all()
    best = season.loc[6.0]
    assert best["raw_rate"] == pytest.approx(best["strikes"] / best["rod_hours"])
    # 5, 50 and 95 % of an even spread from 0.1 to 0.2
    told = best[["rate_low", "rate", "rate_high"]].astype(float)
    np.testing.assert_allclose(told, [0.105, 0.15, 0.195], atol=1e-4)
    assert bool(best["named"])


@pytest.mark.parametrize(("hours", "judged"), [(8.1, True), (7.9, False)])
def test_a_season_of_one_month_judges_the_bands_that_its_month_judges(found, hours, judged):
    """Else the season would be surer than its only month, of the same rods."""
    depth = found.exposure.table["depth_m"].to_numpy()
    in_band = (depth >= 6) & (depth < 9)
    each = np.where(in_band, hours / in_band.sum(), 1.0)
    told = [period(found, name, hours=each, period="2026-06") for name in ("season", "2026-06")]
    assert [bool(one.judged[2]) for one in told] == [judged, judged]
    np.testing.assert_array_equal(told[0].judged, told[1].judged)
    assert told[0].judgement.p_near == told[1].judgement.p_near
