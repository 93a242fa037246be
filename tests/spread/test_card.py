"""Owns the tests of a day's card: line-outs by expected rate, found by brute force too."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from analysis.show.card.words import card_text, line_why
from analysis.spread.basis import OFF_BY, basis_of, days_water, learnt_water
from analysis.spread.card import curve_of_day, make_card
from analysis.spread.expected import AS_GOOD, RateByDepth, expected_rates
from analysis.spread.hedge import Hedge
from analysis.units import to_si

UNIX = date(1970, 1, 1)


@pytest.fixture(scope="module")
def basis(warm):
    return basis_of(warm.answer, warm.seasons[0], 0, days_water(list(warm.seasons)))


@pytest.fixture(scope="module")
def day(basis):
    return date(basis.season, 7, 12)


@pytest.fixture(scope="module")
def water(basis, day):
    return basis.water.on((day - UNIX).days)


@pytest.fixture(scope="module")
def card(basis, day, water):
    return make_card(basis, day, water)


def test_the_curve_of_a_day_is_the_models_at_its_water(basis, day, rng):
    period = basis.period_of(7)
    temps = rng.uniform(4.0, 20.0, (len(basis.depth_m), len(basis.coef)))
    curve = curve_of_day(basis, period, day, temps)
    depth, draw = 7, 11
    at = np.array([basis.depth_m[depth]])
    of_day = np.array([[at[0], float(day.timetuple().tm_yday)]])
    values = {"depth_m": at, "drift": of_day, "lure_temp_c": temps[depth, draw : draw + 1]}
    log = sum(
        float(
            term.log_rate(values[term.name], basis.coef[draw, basis.model.columns_of(term.name)])[0]
        )
        for term in basis.model.terms
    )
    assert curve.rate[depth, draw] == pytest.approx(
        (np.exp(log) + basis.background[draw]) * period.level[draw]
    )


def test_no_other_line_out_is_expected_to_catch_better(basis, day, water, card):
    """Every line-out of every gear and setting, tried one by one."""
    period = basis.period_of(day.month)
    temps = water.temp_draws(basis.depth_m, len(basis.coef), np.random.default_rng(day.toordinal()))
    curve = curve_of_day(basis, period, day, temps)
    step = float(to_si(5.0, "length", "ft"))
    for line in card.lines:
        tackle = basis.gears[line.gear]
        out = step * np.arange(1, int(tackle.longest_m / step + 0.01) + 1)
        lines = tackle.lines.depths(line.setting, out, period.speed_mps, period.speed_scatter)
        band = np.digitize(lines.depth_m, basis.edges_m, right=True) - 1
        may = np.flatnonzero(period.judged[np.clip(band, 0, len(period.judged) - 1)])
        rate = expected_rates(curve, lines)[:, may]
        worth = (rate / rate.max(axis=1, keepdims=True)).mean(axis=0)
        scale = basis.counter_scale[line.rod]
        mine = np.argmin(np.abs(out[may] / step * 5.0 / scale - line.line_out))
        assert worth[mine] >= worth.max() - 2 * AS_GOOD


def test_deeper_water_of_the_same_temperature_takes_longer_lines(basis, day, water):
    """Fish follow the temperature: a cast that puts it 4 m deeper sends the lures after it."""
    depth = np.arange(0.0, 31.0, 1.5)
    cards = []
    for shift in (0.0, 4.0):
        unknowns = water.moments.mean[0].copy()
        unknowns[0] += shift
        cast = water.moments.profile(unknowns[None, :]).temp_c(depth)
        cards.append(make_card(basis, day, water.with_cast(depth, cast)))
    still, sunk = (np.array([line.depth_m for line in card.lines]) for card in cards)
    assert len(still) == len(sunk) > 0
    # Not all of the way: depth itself counts too, and only judged depths are asked.
    assert (sunk - still).mean() > 1.0


def test_a_wrong_speed_costs_where_depth_hangs_on_it(card):
    """A diver's depth hardly depends on speed, a ball's does (shared physics, closed form)."""
    assert OFF_BY == 0.25
    by_kind = {line.gear: max(abs(line.if_slow), abs(line.if_fast)) for line in card.lines}
    assert all(np.isfinite(cost) for cost in by_kind.values())
    if {"diver", "rigger"} <= set(by_kind):
        assert by_kind["rigger"] > by_kind["diver"]


def doubtful(basis, sd_m):
    """The boat with a rate that peaks at 12 m in the middle, and in each draw elsewhere by sd."""
    rng = np.random.default_rng(4)
    peak = 12.0 + sd_m * rng.standard_normal(len(basis.coef))
    rate = 0.02 + 0.2 * np.exp(-0.5 * ((basis.depth_m[:, None] - peak) / 2.0) ** 2)
    season = replace(basis.periods[0], curve=RateByDepth(depth_m=basis.depth_m, rate=rate))
    return replace(basis, periods=(season,))


def test_rods_that_share_a_doubt_stand_apart_as_in_a_starting_spread(basis, day):
    """Counted by hand: the better half of the rods in each draw catches more than together."""
    known = make_card(doubtful(basis, 0.0), day, None, period="season")
    assert known.hedge is None
    assert not any(line.apart for line in known.lines)
    found = make_card(doubtful(basis, 4.0), day, None, period="season")
    assert found.hedge is not None
    assert found.hedge.gain > found.hedge.cost > 0.0
    depths = [np.ptp([line.depth_m for line in card.lines]) for card in (known, found)]
    assert depths[1] > depths[0] + 2.0
    assert len(found.close) <= len(known.close)
    for line in found.lines:
        alone = line.line_out_low <= line.line_out <= line.line_out_high
        assert line.apart != alone


def test_a_rod_set_apart_says_what_it_gives_up_itself(basis, day):
    found = make_card(doubtful(basis, 4.0), day, None, period="season")
    apart = [line.loss for line in found.lines if line.apart]
    assert apart
    assert max(apart) > min(line.loss for line in found.lines)
    told = card_text(found)
    assert any("better half of them catches" in note for note in told.notes)
    assert any("for a rod alone" in rod.line_outs for rod in told.rods)
    assert "apart from its own best" in line_why(next(line for line in found.lines if line.apart))


def test_more_rods_than_the_log_knows_are_counted_not_made_up(basis, day, water):
    found = make_card(basis, day, water, len(basis.slots) + 3)
    assert len(found.lines) + len(found.unreached) == len(basis.slots)
    assert found.left_out == 3


def test_rods_that_come_too_near_are_said(basis, day, water):
    """Three rods of a side on the same setting lie over each other."""
    slot = next(slot for slot in basis.slots if slot.side == "port")
    alike = tuple(replace(slot, rod=f"P{n}") for n in (1, 2, 3))
    names = {one.rod: 1.0 for one in alike}
    crowded = replace(
        basis,
        slots=alike,
        usual_rods=3,
        counter_scale=names,
        tip_height_m=dict.fromkeys(names, 2.0),
    )
    assert make_card(crowded, day, water).close


def test_without_a_known_water_the_months_own_curve_stands(basis, day):
    found = make_card(replace(basis, water=None), day, None)
    assert not found.day_used
    assert found.lines
    assert all(np.isnan(line.temp_c) for line in found.lines)
    assert found.target_c is None


def test_a_gear_that_was_never_fished_is_named_and_left_out(basis, day, water):
    gears = {**basis.gears, "core": replace(basis.gears[basis.slots[0].gear], hours=0.0)}
    found = make_card(replace(basis, gears=gears), day, water)
    assert found.not_fished == ("core",)
    assert "core" not in {line.gear for line in found.lines}


def test_a_water_seen_at_its_surface_alone_is_the_strikes_and_says_so(known):
    unseen = known("no_casts", 1)
    told = days_water(list(unseen.seasons), learnt_water(unseen.answer, 0))
    basis = basis_of(unseen.answer, unseen.seasons[0], 0, told)
    day = date(basis.season, 7, 12)
    found = make_card(basis, day, basis.water.on((day - UNIX).days))
    assert found.day_used
    assert all(line.temp_sd_c > 0.3 for line in found.lines)
    assert any("made likely by the strikes" in note for note in card_text(found).notes)
    still = make_card(replace(basis, follows="depth"), day, basis.water.on((day - UNIX).days))
    assert any("keep to a depth tell nothing of it" in note for note in card_text(still).notes)
    seen = make_card(replace(basis, guessed=False), day, basis.water.on((day - UNIX).days))
    assert not any("No thermometer" in note for note in card_text(seen).notes)


def test_few_strikes_tell_no_depth_on_a_card_either(basis, warm, day, water):
    """As in the review: below 15 strikes nothing is likely, and no chance is told."""
    few = replace(warm.answer, fit=replace(warm.answer.fit, strikes=9))
    assert basis.told
    assert not basis_of(few, warm.seasons[0], 0, basis.water).told
    told = card_text(make_card(replace(basis, told=False), day, water)).answer
    assert told[0].startswith("The log cannot tell;")
    assert told[1].startswith("Take it as a place to begin, not as an answer; the water there")


@pytest.mark.parametrize(("share", "verdict"), [(0.33, "clear"), (0.34, "leaning")])
def test_no_card_is_clear_that_rests_on_spreads_alone(basis, day, share, verdict):
    periods = tuple(replace(one, on_spread=share) for one in basis.periods)
    found = make_card(
        replace(basis, periods=periods, capped=False), day, None, period=f"{day.year}-07"
    )
    assert found.verdict == verdict


def test_a_card_says_no_more_digits_than_are_known(card):
    """1.00 of which 0.6 to 1.4 is likely is 1.0, as `labels.rate_as_known` has it."""
    line = replace(card.lines[0], rate=0.335, rate_low=0.06, rate_high=0.802, leader_m=2.4)
    metric = replace(card.units, length="m", depth="m")
    told = card_text(replace(card, lines=(line,), total=(0.998, 0.59, 1.39), units=metric))
    assert "1.0 strikes an hour together (0.6–1.4)" in told.total
    assert (told.rods[0].rate, told.rods[0].rates) == ("0.3", "0.1–0.8")
    assert dict(told.facts)["Leader"] == "2.4 m"


def test_rods_that_may_tangle_are_named_once_and_with_what_to_do(card):
    """P1 is near P2 and P2 near P3: one knot of three, and two divers of it are set alike."""
    settings = {"P1": 1.0, "P2": 2.0, "P3": 1.0, "S1": np.nan, "S2": np.nan}
    lines = tuple(
        replace(card.lines[0], rod=rod, setting=setting) for rod, setting in settings.items()
    )
    close = (("P1", "P2"), ("S2", "S1"), ("P3", "P2"))
    notes = card_text(replace(card, lines=lines, close=close)).notes
    assert [note for note in notes if "tangle" in note] == [
        "S1 and S2 come near enough to tangle: put down one of them.",
        "P1, P2 and P3 come near enough to tangle: put down fewer of them, or turn one to another "
        "setting, with its line-out from the review.",
    ]


def test_gears_without_soaks_are_told_in_grammar(card):
    lines = tuple(replace(card.lines[0], gear=gear, trials=0) for gear in ("diver", "rigger"))
    (alone,) = [note for note in card_text(replace(card, lines=lines[:1])).notes if "soak" in note]
    (both,) = [note for note in card_text(replace(card, lines=lines)).notes if "soak" in note]
    assert "the diver runs: its depth is worked out" in alone
    assert "the diver and rigger run: their depths are worked out" in both


@pytest.mark.parametrize(("sd_m", "says"), [(3.0, "16 ± 16 ft"), (3.1, "not known")])
def test_a_thermocline_that_may_be_at_the_surface_is_not_known(card, sd_m, says):
    """1.645 x 3.0 m = 4.9 m: nine times in ten; in feet 16.2."""
    told = dict(card_text(replace(card, thermocline_m=(5.0, sd_m))).facts)
    assert told["Thermocline"] == says


def test_what_is_not_known_is_told_with_its_worst(card):
    """A log of nine strikes cannot choose: half of its draws give up nothing, and others much."""
    lines = tuple(replace(line, loss=0.0, loss_high=0.45) for line in card.lines)
    text = " ".join(card_text(replace(card, lines=lines)).notes)
    assert "costs a rod about 0 % of its catch, and 45 % at worst." in text


@pytest.mark.parametrize(
    ("rate", "apart", "words"),
    [
        (0.06, False, "that is expected to catch less"),
        (0.06, True, "that is expected to catch less"),
        (0.30, False, "expected to catch as well or better"),
        (0.30, True, "apart from the others"),
    ],
)
def test_a_rod_outside_the_depth_named_is_not_said_to_catch_as_well_where_it_does_not(
    card, rate, apart, words
):
    """A core that stays at 26 ft while the fish are at 50."""
    first, *others = [replace(line, rate=0.25) for line in card.lines]
    low, high = card.band_m
    away = replace(first, depth_m=high + (high - low), rate=rate, apart=apart)
    notes = [
        note
        for note in card_text(replace(card, lines=(away, *others))).notes
        if "outside the depth named" in note
    ]
    (note,) = [note for note in notes if first.rod in note]
    assert words in note


def test_what_hedging_gains_on_top_is_no_cost(card):
    hedged = replace(card, hedge=Hedge(width=0.1, cost=-0.01, gain=0.02))
    assert "costs nothing on average" in " ".join(card_text(hedged).notes)


def test_a_card_says_where_better_water_may_lie_that_was_hardly_fished(basis, day, water, card):
    assert card.beyond == ()
    last = np.searchsorted(basis.edges_m, card.band_m[1]) - 1
    month = basis.period_of(day.month)
    judged = month.judged & (np.arange(len(month.judged)) <= last)
    periods = tuple(replace(one, judged=judged) if one is month else one for one in basis.periods)
    found = make_card(replace(basis, periods=periods), day, water)
    assert found.beyond == ("deeper",)
    assert "Deeper water was fished too little to judge" in " ".join(card_text(found).notes)
