"""Checks whole answers: what must not matter, gaps and thin data, and refusals."""

import made_exposure as made
import numpy as np
import pandas as pd
import pytest

from analysis.decision.answer import answer
from analysis.decision.caps import Cap
from analysis.diagnostics.sensitivity import fit_by
from analysis.errors import FitError
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates


def told(whole, seed=1):
    return answer(whole, made.temperature_at, made.EDGES_M, np.random.default_rng(seed))


def fullest(whole):
    return next(iter(candidates(whole).values()))


def curve(fit, name="depth_m", at=(9.0, 15.0, 21.0)):
    """Draws of a curve's log ratios to its middle point."""
    smooth = fit.model.term(name)
    logs = smooth.design(np.array(at)) @ fit.draws[:, fit.model.columns_of(name)].T
    return logs - logs[1]


@pytest.fixture(scope="module")
def usual():
    return made.exposure(3, shared_sd=0.08)


@pytest.fixture(scope="module")
def usual_fit(usual):
    return fit_rate(usual, fullest(usual), np.random.default_rng(5))


def test_row_order_changes_nothing(usual, usual_fit):
    other = made.shuffled(usual, 4)
    fit = fit_rate(other, fullest(other), np.random.default_rng(5))
    # the smoothing's search stops at a relative 1e-7 of the evidence
    np.testing.assert_allclose(curve(fit), curve(usual_fit), atol=0.01)
    assert (fit.strikes, fit.trips) == (usual_fit.strikes, usual_fit.trips)


def test_hours_in_another_unit_scale_the_rates_and_nothing_else(usual, usual_fit):
    tenfold = made.with_table(usual, hours=10.0)
    fit = fit_rate(tenfold, fullest(tenfold), np.random.default_rng(5))
    np.testing.assert_allclose(curve(fit), curve(usual_fit), atol=1e-9)
    one, ten = told(usual), told(tenfold)
    judged = one.season.judged
    np.testing.assert_allclose(
        np.median(ten.season.draws[judged], axis=1) * 10,
        np.median(one.season.draws[judged], axis=1),
        rtol=1e-6,
    )


def test_trips_without_a_strike_change_no_curve(usual, usual_fit):
    """Given the strikes of each moment they say nothing; the rates still count their hours."""
    quiet = made.exposure(8, trips=10, fish=made.Fish(rate=1e-12), shared_sd=0.08)
    whole = made.joined(usual, quiet)
    assert len(quiet.strike_row) == 0
    fit = fit_rate(whole, usual_fit.model, np.random.default_rng(5))
    np.testing.assert_allclose(curve(fit), curve(usual_fit), atol=1e-9)


def test_no_strikes_end_in_a_status_and_an_open_verdict():
    whole = made.exposure(2, fish=made.Fish(rate=1e-12))
    found = told(whole)
    assert found.fit.status == "no strikes"
    assert {period.judgement.verdict for period in found.periods} == {"open"}
    assert not found.season.judgement.named.any()
    assert next(c.name for c in found.checks if not c.passed) == "enough strikes"


def test_one_rod_compares_with_nothing_and_the_status_says_so():
    whole = made.exposure(2, rods=1, fish=made.Fish(rate=0.5))
    found = told(whole)
    assert found.fit.strikes == 0
    assert "no moment with rods in different water" in found.fit.status
    assert found.season.judgement.verdict != "clear"
    assert any("no moment with rods in different water" in cap.name for cap in found.caps)


def test_all_strikes_in_one_trip_are_named_as_the_trip_that_decides():
    whole = made.exposure(2, fish=made.Fish(rate=0.5))
    one = whole.with_strikes(whole.trip[whole.strike_row] == 7)
    found = told(one)
    assert found.fit.trips == 1
    assert found.fit.strikes > 0
    check = next(c for c in found.checks if c.name == "no single trip decides")
    assert not check.passed
    assert "trip 7" in check.finding
    assert {period.judgement.verdict for period in found.periods} <= {"open", "leaning"}


@pytest.mark.parametrize("seed", range(3))
def test_fifteen_strikes_cannot_tell(seed):
    """Intervals of what a band gains hold 1, or nearly all do, and no verdict is clear."""
    whole = made.exposure(seed, trips=40)
    chosen = np.zeros(len(whole.strike_row), dtype=bool)
    chosen[np.random.default_rng(seed).permutation(len(chosen))[:15]] = True
    found = told(whole.with_strikes(chosen))
    assert {period.judgement.verdict for period in found.periods} <= {"open", "leaning"}
    effects = found.effects.loc[found.effects["term"] != "depth_m"]
    assert np.isfinite(effects[["ratio", "low", "high"]].to_numpy()).all()
    # nothing but depth matters in truth; 15 strikes must not make much of anything
    assert ((effects["low"] <= 1) & (effects["high"] >= 1)).mean() > 0.8
    rate = found.season.draws[found.season.judged]
    assert np.isfinite(rate).all()
    hours = whole.table["hours"].sum()
    assert np.median(rate) == pytest.approx(15 / hours, rel=1.0)


def test_a_band_without_a_strike_breaks_nothing():
    """All strikes between 12 and 18 m: rates elsewhere are low, finite and not zero."""
    whole = made.exposure(4, fish=made.Fish(rate=0.3))
    depth = whole.table["depth_m"].to_numpy()[whole.strike_row]
    found = told(whole.with_strikes((depth > 12) & (depth < 18)))
    assert found.fit.status == "fitted"
    rate = np.median(found.season.draws, axis=1)[found.season.judged]
    assert np.isfinite(rate).all()
    assert (rate > 0).all()
    named = np.flatnonzero(found.season.judgement.named)
    assert set(named) <= {4, 5}


@pytest.mark.parametrize("column", ["leader_length_m", "speed_mps", "lure_temp_c", "depth_m"])
@pytest.mark.parametrize("value", [1.5, np.nan])
def test_a_covariate_constant_or_empty_is_left_out(usual, column, value):
    whole = made.with_table(usual, **{column: value})
    if column == "lure_temp_c":
        whole = made.with_temperature(whole, value)
    found = told(whole)
    assert column not in found.fit.model.names
    assert column not in set(found.effects["term"])
    lost = column == "depth_m" and np.isnan(value)
    status = "no strike whose depth and water are known" if lost else "fitted"
    assert found.fit.status == status
    if column == "lure_temp_c":
        assert {cap.code for cap in found.caps} & {"water-unknown", "water-alike"}
        assert found.season.judgement.verdict != "clear"


def test_of_two_boats_one_without_casts_says_what_that_costs():
    """The other boat's rods still count; where most hours have no temperature it is not used."""
    with_casts = made.exposure(5, trips=30)
    without = made.with_temperature(made.exposure(6, trips=20), np.nan)
    both = made.joined(with_casts, without, boats=True)
    found = told(both)
    assert found.fit.status == "fitted"
    assert "lure_temp_c" in found.fit.model.names  # most of the rod-hours have one
    alone = fit_rate(with_casts, fullest(with_casts), np.random.default_rng(5)).strikes
    assert found.fit.strikes == alone
    fewer = made.joined(made.exposure(5, trips=12), without, boats=True)
    assert "lure_temp_c" not in told(fewer).fit.model.names
    assert {cap.code for cap in told(fewer).caps} & {"water-unknown", "water-alike"}


@pytest.mark.parametrize("hours", [0.0, np.inf, np.nan, -1.0])
def test_effort_that_cannot_be_is_refused(usual, hours):
    bad = usual.table["hours"].where(usual.table.index != 17, hours)
    with pytest.raises(FitError, match=r"row 17 of the exposure has \S+ rod-hours.*Set the row"):
        made.with_table(usual, hours=bad)


@pytest.mark.parametrize("column", ["leader_length_m", "depth_m", "speed_mps"])
def test_text_for_numbers_is_refused(usual, column):
    text = usual.table[column].astype(object).where(usual.table.index != 3, "abt 8")
    with pytest.raises(FitError, match=rf"column '{column}' holds text\. Set rows aside"):
        made.with_table(usual, **{column: text})


def test_unknown_strata_are_refused(usual):
    with pytest.raises(FitError, match=r"strata 'week': no such strata\. Use one of same time"):
        fit_by(usual, fullest(usual), np.random.default_rng(0), strata="week")


@pytest.mark.parametrize("strata", ["trip hour", "trip", "season", "trip hour gamma"])
def test_other_strata_end_in_a_fit_of_the_same_kind(usual, usual_fit, strata):
    """Rods that fish without chasing: every way tells the same curve, within its own doubt."""
    fit = fit_by(usual, usual_fit.model, np.random.default_rng(0), strata=strata, refits=4)
    assert fit.status == "fitted"
    assert fit.strikes == usual.table["strikes"].sum()
    assert fit.error_draws.shape == (len(fit.draws), usual.loadings.shape[1])
    assert strata.split()[0] in fit.formula or strata == "season"
    sd = curve(usual_fit)[::2].std(axis=1)
    # the same strikes in both: they differ by less than one fit does from the truth
    difference = curve(fit)[::2].mean(axis=1) - curve(usual_fit)[::2].mean(axis=1)
    assert (np.abs(difference) < 2 * sd).all()
    assert isinstance(fit.coef, np.ndarray)
    assert pd.notna(fit.dispersion)


def test_casts_too_rare_to_tell_the_layers_leave_no_verdict_clear():
    fish = made.Fish(rate=0.2)
    sure, guessed = (
        told(made.exposure(6, fish=fish, layer_doubt_m=doubt_m)) for doubt_m in (0.5, 3.0)
    )
    assert Cap(code="layers-unknown") not in sure.caps
    assert Cap(code="layers-unknown") in guessed.caps
    assert all(period.judgement.verdict != "clear" for period in guessed.periods)


def test_strikes_of_one_trip_leave_every_period_open():
    """However many: nothing tells how trips differ."""
    whole = made.exposure(3, fish=made.Fish(rate=2.0))
    found = told(whole.with_strikes(whole.trip[whole.strike_row] == 4))
    assert found.fit.strikes > 15
    assert {period.judgement.verdict for period in found.periods} == {"open"}
    assert found.choice.why.endswith("better than a constant rate: –")


def test_nothing_fitted_leaves_no_curve(usual):
    none = usual.with_strikes(np.zeros(len(usual.strike_row), dtype=bool))
    assert "depth_m" not in set(told(none).effects["term"])
    assert "depth_m" in set(told(usual).effects["term"])


def test_the_formula_tells_curves_from_peaks_and_lines(usual):
    models = candidates(usual)
    written = {models[name].formula for name in models}
    assert len(written) == len(models)
    assert "peak(depth_m)" in models["one plain peak in each"].formula
    assert " = depth_m + " in models["a straight line in depth"].formula
