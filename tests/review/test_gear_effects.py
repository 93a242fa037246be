"""Owns the tests of gears compared at equal depth, speed and water."""

import numpy as np
import pytest

from analysis.depth import solve
from analysis.review.gear_effects import gear_effects
from analysis.season import read_seasons
from analysis.show.sentences.tackle import gear_sentence, worded
from data.scenario import SCENARIOS


@pytest.fixture(scope="module")
def better_rigger(known):
    effect = {"diver": 0.0, "rigger": 0.9, "core": 0.0}
    return known(SCENARIOS["benign"].but(gear_effect=effect), 6, strikes=600)


def test_a_better_gear_is_told_apart(better_rigger):
    table = worded(gear_effects(better_rigger.answer, better_rigger.seasons))
    reference = table["reference"].iloc[0]
    rigger = table.loc[table["gear"] == "rigger"].iloc[0]
    assert reference.startswith("diver")
    assert rigger["told_apart"]
    assert rigger["low"] < np.exp(0.9) < rigger["high"] * 1.25  # shrunk toward no difference
    assert rigger["ratio"] > 1.4
    out, used_most = (f"{row['line_out_m'] / 0.3048:.0f} ft out" for row in (rigger, table.iloc[0]))
    assert (
        f"rigger at {out} took {rigger['ratio']:.2f} times the strikes of {reference} at "
        f"{used_most} ("
    ) in gear_sentence(table, better_rigger.units)
    nowhere = gear_sentence(table.assign(line_out_m=np.nan), better_rigger.units)
    assert f"rigger took {rigger['ratio']:.2f} times the strikes of {reference} (" in nowhere
    others = table.loc[table["gear"] == "diver"]
    assert not others["told_apart"].any()  # one gear, whatever its setting


def test_the_reference_is_one_and_hours_are_all_there(better_rigger):
    table = worded(gear_effects(better_rigger.answer, better_rigger.seasons))
    first = table.iloc[0]
    assert (first["ratio"], first["low"], first["high"]) == (1.0, 1.0, 1.0)
    assert table["rod_hours"].is_monotonic_decreasing
    exposure = better_rigger.answer.exposure.table
    assert table["rod_hours"].sum() == pytest.approx(exposure["hours"].sum())
    assert table["strikes"].sum() == exposure["strikes"].sum()


def test_line_outs_put_each_gear_at_the_same_depth(better_rigger):
    table = gear_effects(better_rigger.answer, better_rigger.seasons).dropna(subset=["line_out_m"])
    boat = better_rigger.seasons[0].log.boat
    assert len(table) > 3
    for row in table.loc[table["gear"] == "diver"].itertuples():
        found = solve(
            boat.gears[row.gear],
            setting=row.setting,
            line_out_m=row.line_out_m,
            speed_mps=1.1,
            tip_height_m=2.0,
        )
        assert float(found.depth_m) == pytest.approx(row.depth_m, rel=0.12)


def test_alike_gears_cannot_be_told_apart(known):
    alike = {"diver": 0.0, "rigger": 0.0, "core": 0.0}
    season = known(SCENARIOS["benign"].but(gear_effect=alike), 6, strikes=300)
    table = worded(gear_effects(season.answer, season.seasons))
    assert not table["told_apart"].any()
    assert table["wording"].iloc[1:].str.startswith("cannot be told apart").all()
    assert "no gear or setting can be told apart" in gear_sentence(table, season.units)


def test_one_gear_gives_an_empty_table(season_files, tmp_path, known):
    from analysis.rates.build_exposure import join
    from analysis.season import Options, season_answer

    sets = season_files.SETS.replace("rigger,,50,10", "diver,1,90,").replace("2.5,", "1,")
    sets = sets.replace("diver,3", "diver,1")
    seasons = read_seasons([season_files.write(tmp_path / "dunlin-2026", sets=sets)])
    answer = season_answer(seasons, join(seasons), Options(), seasons[0].log.boat.units)
    table = worded(gear_effects(answer, seasons))
    assert table.empty
    assert "cannot be told apart" in gear_sentence(table, seasons[0].log.boat.units)
