"""Owns the tests of what a turn that was logged does to the depths of both sides' rods."""

import numpy as np
import pytest

from analysis.depth import solve
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join

CORE = """[gear.core]
kind = "weighted line"
core = "27 lb lead core"
colours = 10
"""
SETS = """trip,rod,side,gear,line_out,lure,time_in,time_out
T1,P1,port,core,150,spoon,06:00,07:30
T1,S1,starboard,core,150,spoon,06:00,07:30
T1,7,,core,150,spoon,06:00,07:30
"""
STRIKES = "trip,time,rod\nT1,06:50,P1\n"


def season_of(season_files, folder, *, turns=True, rods=""):
    """A boat at 2.4 mph: half an hour straight, half an hour round to starboard, the rest unseen.

    0.6 degrees a second: a circle of 102 m.
    """
    rows = ["trip,time,speed,speed_kind,heading"]
    for minute in range(61):
        heading = (350 + 36 * max(minute - 30, 0)) % 360 if turns else ""
        rows.append(f"T1,{6 + minute // 60:02d}:{minute % 60:02d},2.4,water,{heading}")
    boat = season_files.BOAT.replace("counter_scale = { S1 = 1.04 }", rods) + CORE
    tables = {"readings": "\n".join(rows) + "\n", "sets": SETS, "strikes": STRIKES, "soaks": None}
    folder = season_files.write(folder, boat=boat, casts=None, **tables)
    log = read_log(folder)
    return log, join([BoatSeason.of(log, count_effort(log))]).table


def test_rods_inside_and_outside_a_turn_run_where_the_model_has_them(season_files, tmp_path):
    log, table = season_of(season_files, tmp_path / "turns", rods="tip_to_side_m = { S1 = 2.5 }")
    _, straight = season_of(season_files, tmp_path / "straight", turns=False)
    told = table["turn_rad_s"].to_numpy()
    # each rod's half hours, with what is past the last heading
    assert table.groupby("rod")["turn_rad_s"].count().to_dict() == {"7": 2, "P1": 2, "S1": 2}
    assert np.isnan(told).sum() == 3
    assert table["hours"].sum() == pytest.approx(straight["hours"].sum())
    rate = np.radians(0.6)
    known = {"line_out_m": 150 * 0.3048, "speed_mps": 2.4 * 0.44704, "tip_height_m": 2.0}
    gear = log.boat.gears["core"]
    ahead = float(solve(gear, **known).depth_m)
    for rod, way in (("P1", -1.0), ("S1", 1.0)):
        mine = table.loc[table["rod"] == rod].set_index("turn_rad_s")
        assert mine.loc[0.0, "depth_m"] == pytest.approx(ahead, rel=1e-6)
        (turned,) = mine.loc[mine.index > 0, "depth_m"]
        # 0.0105 rad/s, told to 0.001
        if rod == "P1":
            asked = solve(gear, **known, turn_rad_s=way * mine.index.max()).depth_m
            assert turned == pytest.approx(float(asked), rel=1e-6)
        assert mine.index.max() == pytest.approx(rate, abs=6e-4)
    # a rod that nobody puts on a side may be on either
    seven = table.loc[table["rod"] == "7"]
    assert seven["depth_m"].nunique() == 1
    # the boat's own rods lie further out than a core's usually do: faster outside, slower inside
    usual = season_of(season_files, tmp_path / "usual")[1]
    inside = [
        float(one.loc[(one["rod"] == "S1") & (one["turn_rad_s"] > 0), "depth_m"].iloc[0])
        for one in (table, usual)
    ]
    assert inside[0] != pytest.approx(inside[1], rel=1e-3)


def test_a_turn_that_is_known_is_no_doubt(season_files, tmp_path):
    _, table = season_of(season_files, tmp_path / "turns")
    share = table["depth_sd_m"] / table["depth_m"]
    doubted = table["turn_rad_s"].isna() | ((table["rod"] == "7") & (table["turn_rad_s"] != 0.0))
    straight = table["turn_rad_s"] == 0.0
    assert share[straight & ~doubted].max() < share[doubted].min()
