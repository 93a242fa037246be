"""Owns the tests of next season's starting spread."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.kinds import Diver
from analysis.effort.on_board import trail_m
from analysis.errors import RodhoursError
from analysis.show.sentences.plan import near_words, plan_sentences, rod_words
from analysis.spread.basis import basis_of, days_water
from analysis.spread.boat_plan import BEST, EXPLORE, NEAREST, BoatPlanner
from analysis.spread.card import make_card
from analysis.spread.exploring import LEAST_CHANCE, explorers, learning
from analysis.spread.line_outs import advised_lines, speed_of_boat, spread_table
from analysis.spread.plan import PLAN, plan_period, plan_spread
from analysis.spread.reasons import NearReason, RodReason
from analysis.spread.rods import slots_of
from analysis.units import Units, to_si

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)


@pytest.fixture(scope="module")
def july(warm):
    return plan_spread(warm.answer, warm.seasons, rods=8, plan_for="July")


def named_edges(season, period):
    named = np.flatnonzero(period.judgement.named)
    edges = season.answer.hours.edges_m
    return edges[named[0]], edges[named[-1] + 1]


def test_it_has_the_rods_asked_for_and_they_run_where_it_says(warm, july):
    table = july.table
    assert list(table.columns) == list(PLAN)
    assert len(table) == table["rod"].nunique() == 8
    boat = warm.seasons[0].log.boat
    for row in table.itertuples():
        found = solve(
            boat.gears[row.gear],
            setting=row.setting,
            line_out_m=row.line_out_m,
            speed_mps=usual_speed(warm, "2026-07"),
            tip_height_m=2.0,
        )
        assert row.depth_m == pytest.approx(float(found.depth_m), rel=1e-6)
        assert row.line_out == round(row.line_out)  # what a counter in feet shows
        assert row.line_out_m == pytest.approx(float(to_si(row.line_out, "length", "ft")))
        assert abs(row.lateral_m) == pytest.approx(float(found.lateral_m), abs=1e-6)


def usual_speed(season, period):
    return speed_of_boat(season.answer, period, 0)


def test_rods_stand_among_the_line_outs_that_do_as_well_port_and_starboard_alike(warm, july):
    best = july.table.loc[july.table["purpose"] == BEST]
    assert len(best) >= 6
    advised = spread_table(warm.answer, warm.seasons)
    advised = advised.loc[advised["period"] == "2026-07"]
    for row in best.itertuples():
        same = (advised["gear"] == row.gear) & (advised["setting"].eq(row.setting))
        known = advised.loc[same | ((advised["gear"] == row.gear) & advised["setting"].isna())]
        known = known.iloc[0]
        assert known["line_out_low"] <= row.line_out <= known["line_out_high"]
        ends = f"{known['line_out_low']:.0f} to {known['line_out_high']:.0f} ft all do"
        assert (ends in rod_words(row.why)) == (known["line_out_low"] < known["line_out_high"])
        low, high = row.why.band_m
        clear = max(low - row.depth_m, row.depth_m - high, 0.0) > (high - low) / 4
        assert rod_words(row.why).startswith("covers") != clear
    pairs = best.groupby(best["gear"].astype(str) + best["setting"].astype(str))
    for _, rows in pairs:
        if set(rows["side"]) == {"port", "starboard"}:
            sides = rows.groupby("side")["line_out"].apply(sorted)
            assert (
                len(sides["port"]) != len(sides["starboard"]) or sides["port"] == sides["starboard"]
            )


def test_outer_divers_have_the_higher_settings_and_keep_apart(warm, july):
    gears = warm.seasons[0].log.boat.gears
    divers = july.table.loc[[isinstance(gears[gear], Diver) for gear in july.table["gear"]]]
    for _, rows in divers.groupby("side"):
        outward = rows.reindex(rows["lateral_m"].abs().sort_values().index)
        assert outward["setting"].is_monotonic_increasing
        assert outward["setting"].nunique() == len(outward)
    assert not july.clearance["flagged"].any()
    names = set(divers["rod"])
    side = july.table.set_index("rod")["side"]
    both = [
        row
        for row in july.clearance.itertuples()
        if {row.rod_a, row.rod_b} <= names and side[row.rod_a] == side[row.rod_b]
    ]
    assert both
    assert all(row.sideways_m >= 15 * 0.3048 for row in both)


def test_one_or_two_rods_explore_where_most_is_learnt(warm, july):
    period = next(p for p in warm.answer.periods if p.name == "2026-07")
    exploring = july.table.loc[july.table["purpose"] == EXPLORE]
    assert 1 <= len(exploring) <= 2
    assert all("rod-hours in July" in rod_words(why) for why in exploring["why"])
    found = learning(warm.answer, period)
    edges = warm.answer.hours.edges_m
    band = np.searchsorted(edges, exploring["depth_m"]) - 1
    assert not period.judgement.named[band].any()
    # the first of them is the best of all bands, for a rod that reaches any
    assert found.worth.argmax() in band


def test_learning_grows_with_doubt_and_with_the_chance_to_be_good(warm):
    period = warm.answer.season
    found = learning(warm.answer, period)
    assert (found.worth[period.judgement.named] == 0).all()
    assert ((found.chance >= 0) & (found.chance <= 1)).all()
    rng = np.random.default_rng(1)
    band = int(np.argmax(found.worth))
    blurred = period.at_depth.copy()
    blurred[band] *= np.exp(rng.normal(0.0, 0.8, blurred.shape[-1]))
    wider = learning(warm.answer, replace(period, at_depth=blurred))
    assert wider.worth[band] > found.worth[band]


def planner_of(warm, name, **changed):
    period = next(p for p in warm.answer.periods if p.name == name)
    teaches = learning(warm.answer, period)
    return replace(
        BoatPlanner.of(warm.answer, period, teaches, warm.seasons[0], 0, None), **changed
    )


def test_a_rod_that_does_not_reach_the_band_runs_where_it_catches_best(warm):
    """A diver that stays above the fish is no explorer of water that the log knows as poor."""
    planner = planner_of(warm, "2026-08")
    reach_m = planner.band_m[0] - 1.0
    nothing = replace(planner.teaches, worth=np.zeros_like(planner.teaches.worth))
    short = replace(planner, teaches=nothing, reach_m=planner.reach_m | {"diver": reach_m})
    table = short.plan(8).table
    divers = table.loc[table["gear"] == "diver"]
    assert len(divers)
    assert set(divers["purpose"]) == {NEAREST}
    rate = np.median(planner.period.draws, axis=1)
    within = planner.edges_m[:-1] < reach_m
    best = int(np.argmax(np.where(within, rate, -1.0)))
    middle = min(0.5 * (planner.edges_m[best] + planner.edges_m[best + 1]), reach_m)
    assert divers["depth_m"].to_numpy() == pytest.approx(middle, abs=0.1 * middle)
    low, _ = planner.band_m
    assert all(
        rod_words(why).startswith("does not reach") and why.band_m[0] == low
        for why in divers["why"]
    )
    facts = short.facts(short.plan(8), 8)
    assert facts.short == len(divers)


def test_no_rod_explores_where_there_is_nothing_to_learn(warm):
    planner = planner_of(warm, "2026-07")
    told = planner.plan(8).table["purpose"]
    nothing = replace(planner.teaches, worth=np.zeros_like(planner.teaches.worth))
    assert EXPLORE in set(told)
    assert set(replace(planner, teaches=nothing).plan(8).table["purpose"]) == {BEST}
    good = planner.teaches.worth > 0
    assert (planner.teaches.chance[good] >= LEAST_CHANCE).all()


def test_gear_that_runs_in_the_upper_half_of_the_band_reaches_it(warm):
    """Lines at six feet fish a band from the surface to twenty feet."""
    season = warm.seasons[0]
    period = warm.answer.season
    top = np.arange(len(period.judged)) < 2
    shallow = replace(
        period, judged=period.judged | top, judgement=replace(period.judgement, named=top)
    )
    sets = season.effort.sets.copy()
    sets.loc[sets["gear"] == "rigger", "line_out_m"] = (
        3.1  # of which a metre and more is in the air
    )
    short = replace(season, effort=replace(season.effort, sets=sets))
    riggers = [
        line for line in advised_lines(warm.answer, short, 0, [shallow]) if line.gear == "rigger"
    ]
    assert riggers
    assert all(line.advice.depth_m < 0.5 * warm.answer.hours.edges_m[2] for line in riggers)


@pytest.mark.parametrize(
    ("rods", "verdict", "count"),
    [(1, "open", 0), (2, "open", 0), (4, "clear", 1), (5, "clear", 1), (6, "leaning", 2)],
)
def test_how_many_explore(rods, verdict, count):
    assert explorers(rods, verdict) == count


@pytest.mark.parametrize("rods", [1, 2, 3, 5, 12])
def test_any_number_of_rods_asked_for_is_put_down(warm, rods):
    plan = plan_spread(warm.answer, warm.seasons, rods=rods, plan_for="July")
    assert len(plan.table) == plan.table["rod"].nunique() == rods
    sides = plan.table["side"].value_counts()
    assert abs(sides.get("port", 0) - sides.get("starboard", 0)) <= 1


def test_no_rod_is_made_up_while_the_boat_has_its_own(warm):
    own = set(warm.seasons[0].effort.sets["rod"])
    for rods in (4, 6, 8, 10):
        for period in ("2026-05", "2026-08"):
            plan = plan_spread(
                warm.answer,
                warm.seasons,
                rods=rods,
                gears=["diver", "rigger"],
                plan_for=period,
            )
            assert set(plan.table["rod"]) <= own
            assert len(plan.table) == rods


def test_where_nobody_asked_no_two_divers_come_too_near(warm):
    for period in warm.answer.periods[1:]:
        plan = plan_spread(warm.answer, warm.seasons, plan_for=period.name)
        assert not plan.clearance["flagged"].any()
        assert len(plan.table) <= 8


def test_a_log_without_sides_has_them_from_the_rods_names_or_shared_out(warm):
    season = warm.seasons[0]
    known = {slot.rod: slot.side for slot in slots_of(season)}
    sets = season.effort.sets.assign(side="")
    nameless = replace(season, effort=replace(season.effort, sets=sets))
    slots = slots_of(nameless)
    labelled = [slot for slot in slots if slot.side_from == "label"]
    assert labelled
    assert all(slot.side == known[slot.rod] for slot in labelled)
    for gear in {slot.gear for slot in slots}:
        shared = [s.side for s in slots if s.gear == gear and s.side_from == "shared"]
        assert abs(shared.count("port") - shared.count("starboard")) <= 1
    plan = plan_spread(warm.answer, [nameless], rods=6, plan_for="July")
    assert {"port", "starboard"} <= set(plan.table["side"])
    assert "on which side" in " ".join(plan_sentences(plan, warm.answer, FEET))


def test_only_gears_on_board_are_planned(warm):
    plan = plan_spread(warm.answer, warm.seasons, rods=6, gears=["rigger"], plan_for="July")
    assert set(plan.table["gear"]) == {"rigger"}
    with pytest.raises(RodhoursError, match=r"gear 'kite' is in no boat\.toml; there are diver"):
        plan_spread(warm.answer, warm.seasons, gears=["kite"])


def test_the_plan_is_for_the_opening_month_where_the_water_moves_the_fish(warm, known):
    assert plan_period(warm.answer).name == "2026-05"
    assert plan_period(warm.answer, "July").name == plan_period(warm.answer, "2026-07").name
    assert plan_period(warm.answer, "season").name == "season"
    with pytest.raises(RodhoursError, match=r"no period 'Yule' to plan for\. Choose one of season"):
        plan_period(warm.answer, "Yule")
    no_temperature = known("no_casts", 1, surface=False)
    assert plan_period(no_temperature.answer).name == "season"
    plan = plan_spread(warm.answer, warm.seasons)
    text = plan_sentences(plan, warm.answer, warm.units)[0]
    assert text.startswith("The starting spread is for May, as May 2026 went: it covers")


@pytest.mark.parametrize(("unit", "step"), [("ft", 5.0), ("m", 1.0)])
def test_a_plan_asks_no_finer_line_out_than_the_season_table_and_the_card(warm, unit, step):
    """143 ft of core where 110 to 150 ft all do is a number that nobody knows."""
    boat = warm.seasons[0].log.boat
    units = replace(boat.units, length=unit)
    log = replace(warm.seasons[0].log, boat=replace(boat, units=units))
    table = plan_spread(warm.answer, (replace(warm.seasons[0], log=log),), plan_for="July").table
    assert set(table["unit"]) == {unit}
    assert (table["line_out"] % step == 0).all()


def test_a_counter_that_reads_wrong_is_told_its_own_reading(warm):
    boat = warm.seasons[0].log.boat
    rods = sorted(set(warm.seasons[0].effort.sets["rod"]))
    scaled = replace(boat, counter_scale=dict.fromkeys(rods, 1.25))
    season = replace(warm.seasons[0], log=replace(warm.seasons[0].log, boat=scaled))
    plain = plan_spread(warm.answer, warm.seasons, rods=4, plan_for="July").table
    table = plan_spread(warm.answer, (season,), rods=4, plan_for="July").table
    assert list(table["rod"]) == list(plain["rod"])
    half_steps_m = to_si(2.5 + 2.5 * 1.25, "length", "ft")  # both are rounded, each by its counter
    np.testing.assert_allclose(table["line_out_m"], plain["line_out_m"], atol=half_steps_m)
    true_m = to_si(table["line_out"] * 1.25, "length", "ft")
    np.testing.assert_allclose(table["line_out_m"], true_m)
    assert all("its counter shows" in rod_words(why) for why in table["why"])


def test_no_band_no_plan(warm):
    nothing = tuple(
        replace(
            period,
            judgement=replace(period.judgement, named=np.zeros_like(period.judgement.named)),
        )
        for period in warm.answer.periods
    )
    plan = plan_spread(replace(warm.answer, periods=nothing), warm.seasons)
    assert plan.table.empty
    assert plan.clearance.empty
    assert plan_sentences(plan, warm.answer, warm.units) == [
        "No starting spread can be planned: the log tells no depth from another."
    ]


def test_a_lure_is_drawn_with_its_lead_or_leader_astern(warm, july):
    """The ball hangs nearly below its pulley; the lure trails behind it by its lead."""
    boat, sets = warm.seasons[0].log.boat, warm.seasons[0].effort.sets
    seen = set()
    for row in july.table.itertuples():
        alone = solve(
            boat.gears[row.gear],
            setting=row.setting,
            line_out_m=row.line_out_m,
            speed_mps=usual_speed(warm, "2026-07"),
            tip_height_m=2.0,
        )
        column = {"rigger": "lead_m", "diver": "leader_length_m"}.get(row.gear)
        trail = 0.0 if column is None else sets.loc[sets["gear"] == row.gear, column].median()
        seen.add(row.gear)
        assert trail == trail_m(warm.seasons[0].log, row.gear)
        assert row.setback_m == pytest.approx(float(alone.setback_m) + trail, rel=1e-6)
    assert "rigger" in seen


def test_a_plan_is_as_sure_of_its_depths_as_the_card(warm):
    """What strikes told of the gear, and how the boat's speed sways, is in both or in neither."""
    table = plan_spread(warm.answer, warm.seasons, rods=8, plan_for="July").table
    basis = basis_of(warm.answer, warm.seasons[0], 0, days_water(list(warm.seasons)))
    card = make_card(basis, date(basis.season, 7, 12), None, 8, period="2026-07")
    compared = 0
    for line in card.lines:
        same = table[(table["gear"] == line.gear) & (table["line_out"] == line.line_out)]
        same = same[same["setting"].fillna(-1.0) == np.nan_to_num(line.setting, nan=-1.0)]
        for sd in same["depth_sd_m"]:
            assert sd == pytest.approx(line.depth_sd_m, rel=0.2)  # by its draws, of a few hundred
            compared += 1
    assert compared >= 4


def test_plan_and_line_out_table_tow_at_one_speed(warm, july):
    """Two tables, two depths (a rod's own, the band's middle), one relation between them."""
    table = spread_table(warm.answer, warm.seasons)
    same = table.loc[table["period"] == "2026-07"]
    boat = warm.seasons[0].log.boat
    for row in same.itertuples():
        found = solve(
            boat.gears[row.gear],
            setting=row.setting,
            line_out_m=row.line_out_m,
            speed_mps=usual_speed(warm, "2026-07"),
            tip_height_m=2.0,
        )
        assert float(found.depth_m) == pytest.approx(row.depth_m, abs=0.02)


@pytest.mark.parametrize(
    ("why", "words"),
    [
        ({}, "covers 30–40 ft"),
        ({"explores": "season"}, "30–40 ft: nothing is known of it"),
        (
            {"explores": "2026-07", "rod_hours": 9.2, "chance": 0.31},
            "30–40 ft: 9 rod-hours in July; as good as the best on 31 % of days",
        ),
        ({"all_do_m": (24.384, 27.432)}, "covers 30–40 ft; 80 to 90 ft all do"),
        ({"all_do_m": (24.384, 24.390)}, "covers 30–40 ft"),
        ({"short": True}, "does not reach 30–40 ft; the best of what it reaches"),
        ({"beyond": "deeper"}, "does as well as 30–40 ft"),
        ({"beyond": "shallower", "apart": True}, "in case fish are shallower than 30–40 ft"),
        (
            {"counter": 80.0, "counter_scale": 1.25},
            "covers 30–40 ft; its counter shows 80 ft for 100 ft out",
        ),
    ],
)
def test_a_rods_reason_in_words(why, words):
    assert rod_words(RodReason(band_m=(9.144, 12.192), units=FEET, **why)) == words


@pytest.mark.parametrize(
    ("how", "limit_m", "words"),
    [
        ("cross", 0.0, "they cross"),
        ("divers", 4.572, "less than 15 ft between divers of a side"),
        ("pass", 0.3048, "they pass within 1.0 ft"),
    ],
)
def test_why_lines_may_tangle_in_words(how, limit_m, words):
    assert near_words(NearReason(how=how, limit_m=limit_m, units=FEET)) == words
    assert near_words(None) == ""
