"""Owns the tests of line-outs chosen by what they are expected to catch."""

import numpy as np
import pytest

from analysis.decision.answer import Period
from analysis.decision.bands import judge
from analysis.rates.exposure import SharedErrors
from analysis.rates.line_depths import GearLines, LineDepths
from analysis.spread.expected import AS_GOOD, TOP_M, RateByDepth, advise, expected_rates
from analysis.spread.line_outs import fished_m, longest_lines, spread_table

EDGES_M = np.arange(0.0, 41.0, 2.0)
DEPTHS_M = (EDGES_M[:-1, None] + np.array([1, 3, 5]) / 3).ravel()
ALL = np.ones(len(EDGES_M) - 1, dtype=bool)
EVERYWHERE_M = (0.0, np.inf)


def lines_of(shift, own_sd=0.0):
    """Lines that run half as deep as they are long, give or take."""
    out = np.arange(1.0, 81.0)
    return LineDepths(
        setting=1.0,
        line_out_m=out,
        depth_m=out / 2,
        log_shift=np.broadcast_to(np.asarray(shift)[:, None], (len(shift), len(out))),
        own_sd=np.full(len(out), own_sd),
    )


def bell(best, below, above, draws):
    away = DEPTHS_M - best
    log = -0.5 * (away / np.where(away < 0, below, above)) ** 2
    return RateByDepth(depth_m=DEPTHS_M, rate=np.repeat(np.exp(log)[:, None], draws, axis=1))


def test_the_rate_of_a_line_is_the_curve_where_it_truly_runs(rng):
    """By numerical integration over the sets' own error, which no code of the project did."""
    curve = bell(16.0, 6.0, 6.0, 1)
    lines = lines_of([0.1], own_sd=0.08)
    error = np.linspace(-5, 5, 4001)
    weight = np.exp(-0.5 * error**2)
    depth = 0.5 * 30.0 * np.exp(0.1 + 0.08 * error)
    expected = np.average(np.exp(-0.5 * ((depth - 16.0) / 6.0) ** 2), weights=weight)
    found = expected_rates(curve, lines)[0, 29]
    assert found == pytest.approx(expected, rel=2e-3)


def test_a_line_that_the_strikes_say_runs_deep_is_let_out_less():
    curve = bell(16.0, 5.0, 5.0, 50)
    sure = advise(curve, lines_of(np.zeros(50)), EDGES_M, ALL, fished_m=EVERYWHERE_M)
    deep = advise(curve, lines_of(np.full(50, np.log(1.25))), EDGES_M, ALL, fished_m=EVERYWHERE_M)
    assert sure.line_out_m == pytest.approx(32.0, abs=0.51)
    assert deep.line_out_m == pytest.approx(32.0 / 1.25, abs=0.51)
    assert deep.depth_low_m == pytest.approx(16.0, abs=0.4)
    assert sure.loss == pytest.approx(0.0, abs=1e-9)


def test_doubt_of_depth_moves_the_line_to_the_side_that_costs_less(rng):
    """A rate that falls off a cliff below the best depth: aim above it, the more the doubt."""
    curve = bell(16.0, 8.0, 1.5, 400)
    sure = advise(curve, lines_of(np.zeros(400)), EDGES_M, ALL, fished_m=EVERYWHERE_M)
    unsure = advise(
        curve, lines_of(0.15 * rng.standard_normal(400)), EDGES_M, ALL, fished_m=EVERYWHERE_M
    )
    error = np.linspace(-4, 4, 2001)
    depth = 0.5 * np.arange(1.0, 81.0)[:, None] * np.exp(0.15 * error) - 16.0
    rate = np.exp(-0.5 * (depth / np.where(depth < 0, 8.0, 1.5)) ** 2)
    by_integral = 1.0 + np.argmax(rate @ np.exp(-0.5 * error**2))
    assert by_integral < 0.9 * sure.line_out_m
    assert unsure.line_out_m == pytest.approx(by_integral, abs=1.0)
    # What it gives up is told: by the same draws, aiming at the likeliest depth gives up more.
    shift = 0.15 * np.random.default_rng(5).standard_normal(400)
    rates = expected_rates(curve, lines_of(shift))
    share = rates / rates.max(axis=1, keepdims=True)
    likeliest, chosen = int(sure.line_out_m) - 1, int(unsure.line_out_m) - 1
    assert share[:, chosen].mean() > share[:, likeliest].mean() + 0.02
    assert unsure.loss > 0.02
    assert unsure.loss == pytest.approx(np.median(1.0 - share[:, chosen]), abs=1e-9)
    assert unsure.loss_low <= unsure.loss <= unsure.loss_high


def test_no_line_is_let_out_a_metre_where_many_do_as_well():
    """Fish at the surface, a rate that hardly falls: nobody tows a diver on ten feet of line."""
    advice = advise(
        bell(0.0, 30.0, 30.0, 20), lines_of(np.zeros(20)), EDGES_M, ALL, fished_m=EVERYWHERE_M
    )
    assert advice.line_out_low_m == 1.0
    assert advice.line_out_m == (advice.line_out_low_m + advice.line_out_high_m) // 2
    assert advice.depth_m >= TOP_M
    assert advice.loss < AS_GOOD
    sharp = advise(
        bell(0.0, 2.0, 2.0, 20), lines_of(np.zeros(20)), EDGES_M, ALL, fished_m=EVERYWHERE_M
    )
    assert sharp.line_out_m == 1.0


def test_a_flat_best_is_a_range():
    sharp = advise(
        bell(16.0, 3.0, 3.0, 20), lines_of(np.zeros(20)), EDGES_M, ALL, fished_m=EVERYWHERE_M
    )
    flat = advise(
        bell(16.0, 30.0, 30.0, 20), lines_of(np.zeros(20)), EDGES_M, ALL, fished_m=EVERYWHERE_M
    )
    assert sharp.line_out_high_m - sharp.line_out_low_m <= 2.0
    # 2 % of a bell lie within 0.2 of its width, to either side: 12 m of depth, 24 m of line.
    assert flat.line_out_high_m - flat.line_out_low_m == pytest.approx(24.0, abs=2.0)
    assert flat.line_out_low_m < flat.line_out_m < flat.line_out_high_m


def test_no_line_is_advised_where_nobody_fished():
    judged = (EDGES_M[:-1] >= 4) & (EDGES_M[1:] <= 12)
    curve = bell(30.0, 5.0, 5.0, 20)
    advice = advise(curve, lines_of(np.zeros(20)), EDGES_M, judged, fished_m=EVERYWHERE_M)
    assert 4.0 <= advice.depth_m <= 12.0
    none = np.zeros_like(judged)
    assert advise(curve, lines_of(np.zeros(20)), EDGES_M, none, fished_m=EVERYWHERE_M) is None


def test_no_line_is_aimed_at_the_end_of_a_judged_band_that_was_hardly_fished():
    """A curve that runs on upwards where one rod-hour in a hundred was fished is a guess."""
    judged = (EDGES_M[:-1] >= 4) & (EDGES_M[1:] <= 12)
    told = bell(0.0, 5.0, 5.0, 20), lines_of(np.zeros(20)), EDGES_M, judged
    assert advise(*told, fished_m=EVERYWHERE_M).depth_m < 5.0
    assert advise(*told, fished_m=(5.3, 11.0)).depth_m == pytest.approx(5.5)


def test_a_gear_that_runs_only_where_hardly_any_rod_did_is_asked_in_the_judged_bands():
    short = lines_of(np.zeros(20)).take(np.arange(10))
    advice = advise(bell(16.0, 5.0, 5.0, 20), short, EDGES_M, ALL, fished_m=(8.0, 30.0))
    assert advice.depth_m == pytest.approx(5.0)


def test_nearly_all_rod_hours_were_fished_between_these_depths(warm):
    depth = warm.answer.exposure.depth_m
    hours = warm.answer.exposure.table["hours"].to_numpy()
    total = hours[np.isfinite(depth)].sum()
    low, high = fished_m(warm.answer.exposure)
    assert hours[depth < low].sum() == pytest.approx(0.01 * total, rel=0.05)
    assert hours[depth > high].sum() == pytest.approx(0.01 * total, rel=0.05)


def test_errors_of_a_gear_keep_what_the_fit_learnt_and_are_else_as_before(rng):
    turn = np.array([[0.6, 0.8, 0.0]])
    errors = SharedErrors(first=1, turn=turn)
    modes = np.column_stack([np.zeros(4000), np.full(4000, 1.5)])
    own = errors.own(modes, rng)
    assert own @ turn[0] == pytest.approx(np.full(4000, 1.5))
    across = own @ np.array([0.8, -0.6, 0.0])
    assert across.std() == pytest.approx(1.0, abs=0.05)
    assert own[:, 2].std() == pytest.approx(1.0, abs=0.05)


def test_depths_of_lines_are_those_of_the_fit(warm):
    """A slice of the log: its own shift is the shift of a line like it."""
    season, answer = warm.seasons[0], warm.answer
    exposure, fit = answer.exposure, answer.fit
    table = exposure.table
    for gear, setting in (("diver", 2.0), ("rigger", np.nan)):
        same = (table["gear"] == gear) & np.isfinite(table["depth_m"])
        same &= np.isclose(table["speed_mps"], 1.1, atol=0.03)
        if np.isfinite(setting):
            same &= table["setting"] == setting
        row = int(np.flatnonzero(same)[0])
        known = GearLines.of(season, gear, exposure.shared[0, gear], fit, np.random.default_rng(1))
        slices = season.effort.slices
        out = float(slices["line_out_m"].iloc[row])
        lines = known.depths(setting, np.array([out, 2 * out]), float(table["speed_mps"][row]), 0.0)
        assert lines.depth_m[0] == pytest.approx(table["depth_m"][row], rel=0.01)
        alone = exposure.shifts.take(np.array([row]))
        by_fit = np.array([alone.log_shift(error)[0] for error in fit.error_draws])
        # the errors that no mode holds bend it a little more
        assert np.corrcoef(by_fit, lines.log_shift[:, 0])[0, 1] > 0.9
        assert lines.log_shift[:, 0].std() == pytest.approx(by_fit.std(), rel=0.15)


def test_a_gear_that_never_fished_is_as_doubtful_as_before_any_strike(warm):
    season, fit = warm.seasons[0], warm.answer.fit
    known = GearLines.of(season, "core", None, fit, np.random.default_rng(1))
    lines = known.depths(np.nan, np.array([60.0]), 1.1, 0.0)
    assert 0.08 < lines.log_shift.std() < 0.4


@pytest.fixture(scope="module")
def advised(warm):
    return spread_table(warm.answer, warm.seasons)


def test_the_table_says_what_each_line_out_costs(warm, advised):
    assert len(advised)
    assert (advised["line_out_low"] <= advised["line_out"]).all()
    assert (advised["line_out"] <= advised["line_out_high"]).all()
    assert (advised["line_out"] % 5 == 0).all()  # what a counter in feet is set by
    assert ((advised["loss_low"] >= 0) & (advised["loss_low"] <= advised["loss"])).all()
    assert (advised["loss"] <= advised["loss_high"]).all()
    assert (advised["rate_low"] < advised["rate"]).all()
    longest = longest_lines(warm.seasons[0])
    assert (advised["line_out_m"] <= advised["gear"].map(longest) + 0.01).all()
    periods: tuple[Period, ...] = warm.answer.periods
    assert set(advised["period"]) <= {period.name for period in periods}


def test_the_advised_lines_do_what_they_say_in_the_true_water(warm, advised):
    """Held against the generator: gear as written, so a season's lines give up little."""
    truth = warm.simulated.truth
    period = warm.answer.season
    edges = warm.answer.hours.edges_m
    bands = truth.band_rates(edges)
    true = bands.loc[bands["period"] == "season", "rate"].to_numpy()
    rows = advised.loc[advised["period"] == "season"]
    middle = 0.5 * (edges[:-1] + edges[1:])
    rate = np.interp(rows["depth_m"], middle, true)
    loss = 1 - rate / true[period.judged].max()
    assert loss.mean() < 0.1
    assert judge(period.draws, period.judged).named.any()


def test_the_exposure_and_the_depth_command_know_a_gear_equally_well(warm):
    """`rodhours depth` prints the belief's own doubt: gear that no soak tried has no other here."""
    season, table = warm.seasons[0], warm.answer.exposure.table
    for gear in ("diver", "rigger"):
        assert not season.belief(gear).trials
        row = int(np.flatnonzero((table["gear"] == gear) & np.isfinite(table["speed_mps"]))[0])
        one = table.iloc[row]
        found = season.belief(gear).predict(
            setting=one["setting"],
            line_out_m=one["line_out_m"],
            speed_mps=one["speed_mps"],
            tip_height_m=season.log.boat.tip_height_of(one["rod"]),
            leader_length_m=one["leader_length_m"],
        )
        assert one["depth_m"] == pytest.approx(float(found.depth_m), rel=1e-6)
        # speed over ground adds its own doubt to the exposure's
        assert one["depth_sd_m"] == pytest.approx(float(found.depth_sd_m), rel=0.1)
