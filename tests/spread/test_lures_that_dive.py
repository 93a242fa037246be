"""Owns the tests of spreads whose rods fish a lure that dives: let out less, and said so."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.lures import lures_from_toml
from analysis.rates.line_depths import GearLines
from analysis.show.card.words import card_text, line_why
from analysis.show.sentences.plan import rod_words
from analysis.spread.basis import basis_of
from analysis.spread.card import make_card
from analysis.spread.line_outs import spread_table
from analysis.spread.plan import plan_spread
from analysis.spread.rods import slots_of

PLUG = "Green Plug"


@pytest.fixture(scope="module")
def plugged(warm):
    """The warm season, its divers to port on a plug of which the fit was never told."""
    season = warm.seasons[0]
    log = season.log
    lures = lures_from_toml({PLUG: {"lift_area_m2": 0.001}}, log.boat.water.density_kg_m3)
    (gear,) = {slot.gear for slot in slots_of(season) if log.boat.gears[slot.gear].place.planes}

    def renamed(sets):
        on = (sets["gear"] == gear) & (sets["side"] == "port")
        return sets.assign(lure=sets["lure"].astype("str").where(~on, "green  plug"))

    boat = replace(log.boat, lures=lures)
    moved = replace(log, boat=boat, stretches=renamed(log.stretches))
    effort = replace(
        season.effort, sets=renamed(season.effort.sets), slices=renamed(season.effort.slices)
    )
    return gear, replace(season, log=moved, effort=effort)


def test_a_rod_is_known_by_the_lure_that_it_fished_most(plugged):
    gear, season = plugged
    lures = {slot.rod: slot.lure for slot in slots_of(season)}
    divers = {slot.rod: slot.side for slot in slots_of(season) if slot.gear == gear}
    assert {rod for rod, lure in lures.items() if lure} == {
        rod for rod, side in divers.items() if side == "port"
    }
    assert set(lures.values()) == {"", PLUG}


def test_line_outs_are_told_for_either_lure_and_the_plug_needs_less(plugged, warm):
    gear, season = plugged
    table = spread_table(warm.answer, [season])
    plain = spread_table(warm.answer, list(warm.seasons))
    mine = table.loc[table["gear"] == gear].set_index(["period", "setting", "lure"])["line_out_m"]
    assert set(table.loc[table["lure"] != "", "gear"]) == {gear}
    before = plain.set_index(["period", "gear", "setting"])["line_out_m"]
    shorter = []
    for (period, setting, lure), out in mine.items():
        if lure:
            if (period, setting, "") in mine.index:
                shorter.append(out <= mine[period, setting, ""])
        else:
            assert out == before[period, gear, setting]
    assert shorter
    assert all(shorter)
    row = table.loc[table["lure"] == PLUG].iloc[0]
    rig = season.rig(gear, PLUG)
    found = season.belief(gear).predict(
        setting=row["setting"],
        line_out_m=row["line_out_m"],
        speed_mps=1.1,
        tip_height_m=season.tip_height_m,
        **rig,
    )
    # at the season's own speed, which hardly moves a diver
    assert row["depth_m"] == pytest.approx(float(found.depth_m), rel=0.02)


def test_the_plan_and_the_card_let_it_out_by_its_lure_and_say_so(plugged, warm):
    _, season = plugged
    plan = plan_spread(warm.answer, [season], plan_for="July").table
    lures = {slot.rod: slot.lure for slot in slots_of(season)}
    for row in plan.itertuples():
        told = rod_words(row.why)
        assert (f"with {PLUG}, which dives" in told) == bool(lures.get(row.rod))
    basis = basis_of(warm.answer, season, 0, None)
    card = make_card(basis, date(2026, 7, 12), None, period="season")
    spoons = basis_of(warm.answer, warm.seasons[0], 0, None)
    usual = make_card(spoons, date(2026, 7, 12), None, period="season")
    assert {line.rod: line.lure for line in card.lines} == {
        line.rod: lures[line.rod] for line in card.lines
    }
    before = {line.rod: line.line_out for line in usual.lines}
    for line in card.lines:
        if line.lure:
            assert line.line_out < before[line.rod]
            assert f"with {PLUG}, which dives" in line_why(line)
        else:
            assert line.line_out == before[line.rod]
    facts = dict(card_text(card).facts)
    assert facts["Lures that dive"].count(PLUG) == sum(line.lure == PLUG for line in card.lines)


def test_the_doubt_of_a_lure_is_its_own(plugged, warm):
    """Its lift is off by a tenth, of which physics alone tells what that does to the depth."""
    gear, season = plugged
    known = GearLines.before_strikes(season, gear, 4000, np.random.default_rng(0))
    alone = known.own_errors.copy()
    alone[:, :-1] = 0.0  # all but the lure is as the model has it
    known = replace(known, own_errors=alone)
    asked = (np.array([1.0]), np.array([40.0]), np.array([1.1]), np.array([0.0]))
    with_it, without = (known.depths_of_each(*asked, lure=lure)[0] for lure in (PLUG, ""))
    lure = season.log.boat.lures["green plug"]
    rows = {"setting": 1.0, "line_out_m": 40.0, "speed_mps": 1.1}
    rows |= {"tip_height_m": season.tip_height_m}
    rows["leader_length_m"] = season.rig(gear, PLUG)["leader_length_m"]
    more, less = (
        float(
            solve(
                season.log.boat.gears[gear],
                lure=replace(lure, lift_area_m2=lure.lift_area_m2 * np.exp(way * lure.doubt)),
                **rows,
            ).depth_m
        )
        for way in (1.0, -1.0)
    )
    slope = 0.5 * np.log(more / less)
    assert with_it.depth_m[0] > without.depth_m[0]
    assert slope > 0.0
    assert with_it.log_shift[:, 0].std() == pytest.approx(slope, rel=0.1)
    assert without.log_shift[:, 0].std() == 0.0
