"""Owns the tests of one rod set otherwise: where it runs, what it is compared with, its words."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.depth.lures import Lure, lure_key
from analysis.errors import RodhoursError, UsageError
from analysis.workbook import Season, example, open_season
from analysis.workbook.rod_wishes import wished_rod
from analysis.workbook.what_if import Boat
from analysis.workbook.what_if_controls import rod_controls

ROD = "P1"


def test_the_rod_as_it_was_is_no_change(asked: Season) -> None:
    same = asked.what_if(ROD)
    np.testing.assert_array_equal(same.ratio, 1.0)
    assert "Nothing was asked for" in repr(same)


def test_a_line_out_runs_as_deep_as_the_depth_model_says(asked: Season, warm) -> None:
    """Beside the depth model itself, which knows no fit; strikes and soaks may move it a little."""
    told = asked.what_if(ROD, line_out=(150, "ft"), speed=(1.1, "m/s"))
    rod = told.wished.fishes
    (season,) = warm.seasons
    modelled = season.belief(rod.gear).predict(
        setting=rod.setting, line_out_m=rod.line_out_m, speed_mps=1.1,
        tip_height_m=season.tip_height_m,
    )  # fmt: skip
    assert rod.line_out_m == pytest.approx(45.72)
    assert told.wished.depth_m == pytest.approx(float(modelled.depth_m), rel=0.15)
    assert told.wished.depth_m > told.was.depth_m or rod.line_out_m < told.was.fishes.line_out_m


def test_a_rod_runs_with_the_lure_that_dives_which_it_fishes_most(warm) -> None:
    (season,) = warm.seasons
    sets = season.effort.sets
    mine = sets[(sets["rod"] == ROD)]
    lure = str(mine.groupby("lure")["hours"].sum().idxmax())
    plug = {lure_key(lure): Lure(name=lure, lift_area_m2=0.0015, drag_area_m2=0.0015)}
    boat = replace(season.log.boat, lures=plug)
    dives = replace(season, log=replace(season.log, boat=boat))
    told = []
    for one in (season, dives):
        asked = Boat(warm.answer, one, 0)
        usual = asked.usual(ROD)
        told.append(asked.what_if(usual, usual))
    assert [one.was.fishes.lure for one in told] == ["", lure]
    assert told[1].was.depth_m > 1.02 * told[0].was.depth_m
    assert told[1].was.depth_sd_m > told[0].was.depth_sd_m
    assert f"with {lure}, which dives" in repr(told[1])
    ends = [one.ends.set_index("rod").loc[ROD, "depth_m"] for one in told]
    assert ends[1] > 1.02 * ends[0]
    other = next(gear for gear in asked.basis.gears if gear != usual.gear)
    nothing = dict.fromkeys(("setting", "line_out", "leader", "speed", "day"))
    moved = wished_rod(asked, usual, gear=other, **nothing)
    assert moved.lure == (lure if lure in dives.rigs(other) else "")


def test_a_day_changes_both_so_that_it_is_no_merit_of_the_setting(asked: Season) -> None:
    days = sorted(asked.trips["date"])
    for day in (days[3], days[-3]):
        told = asked.what_if(ROD, date=day)
        assert told.was.fishes.day == told.wished.fishes.day
        np.testing.assert_allclose(told.ratio, 1.0)


def test_the_ratio_follows_the_season_s_curve_of_the_water(asked: Season) -> None:
    """The fish of this season follow a temperature: the line nearest to it does best."""
    day = sorted(asked.trips["date"])[len(asked.trips) // 2]
    outs = [60, 100, 140, 180, 220]
    told = [asked.what_if(ROD, line_out=(out, "ft"), date=day) for out in outs]
    rate = np.array([np.median(one.wished.rate) for one in told])
    temp = np.array([one.wished.temp_c for one in told])
    effect = asked.effects.query("term == 'lure_temp_c'")
    assert len(effect)
    best = float(effect["at"].iloc[int(effect["ratio"].argmax())])
    nearest = int(np.argmin(np.abs(temp - best)))
    assert abs(int(np.argmax(rate)) - nearest) <= 1


def test_what_the_boat_never_fished_is_not_told(asked: Season) -> None:
    told = asked.what_if(ROD, line_out=(1200, "ft"))
    assert told.beyond
    assert "The log cannot tell" in repr(told)


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        ({"rod": "P11"}, "has no rod 'P11'"),
        ({"gear": "divr"}, "did you mean 'diver'"),
        ({"setting": 77}, "was fished on"),
        ({"line_out": -3}, "above 0"),
        ({"speed": "fast"}, "speed 'fast'"),
        ({"leader": (2, "fathoms")}, "there is no unit 'fathoms'"),
        ({"date": "01-02"}, "tells nothing of other times"),
        ({"boat": "Dunlim"}, "did you mean 'Dunlin'"),
    ],
)
def test_a_wish_that_cannot_be_says_what_can(asked: Season, wishes, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        asked.what_if(**{"rod": ROD, **wishes})


def test_a_log_without_a_strike_that_compares_rods_cannot_tell(tmp_path) -> None:
    example(tmp_path / "heron")
    (tmp_path / "heron" / "sets.csv").unlink()
    with pytest.raises(RodhoursError, match="no strike compares rods"):
        rod_controls(open_season(tmp_path / "heron"))


def test_the_spread_moves_with_the_rod_and_with_no_other(asked: Season) -> None:
    one, other = (asked.what_if(ROD, line_out=(out, "ft")).ends for out in (100, 200))
    moved = one.set_index("rod")["astern_m"] != other.set_index("rod")["astern_m"]
    assert moved[moved].index.tolist() == [ROD]


def test_a_slider_on_its_nearest_step_does_not_pass_for_another_setting(tmp_path) -> None:
    controls = rod_controls(open_season(example(tmp_path / "heron")))
    for rod in controls.rod.options:
        controls.rod.value = rod
        assert controls.newest.wait_shown(60)
        assert "Nothing was asked for but the rod as it was" in controls.answer.value
    controls.speed.value = float(
        np.nextafter(controls.speed.value, 0.0)
    )  # as a browser sends it back
    assert controls.wishes["speed"] is None
    controls.line_out.value += controls.line_out.step
    assert controls.newest.wait_shown(60)
    assert "Nothing was asked for" not in controls.answer.value


def test_controls_stand_as_the_rod_was_and_answer(asked: Season) -> None:
    controls = rod_controls(asked)
    controls.rod.value = ROD
    was = asked.boat_to_ask().usual(ROD)
    assert controls.gear.value == was.gear
    assert controls.newest.wait_shown(60)
    before, drawn = controls.answer.value, controls.spread.value
    controls.line_out.value = controls.line_out.max
    assert controls.newest.wait_shown(60)
    assert controls.answer.value != before
    assert "times the rate" in controls.answer.value or "cannot tell" in controls.answer.value
    assert "The spread from behind and from above" in controls.spread.value
    assert controls.spread.value != drawn
    controls.gear.value = "rigger"
    assert controls.setting.disabled
    assert controls.newest.wait_shown(60)
    assert "rigger" in controls.answer.value
