"""Owns the tests of what is drawn over the water: nothing lost of strikes and rod-hours."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.review.course.section import fished_depths, strike_depths, thermometers
from analysis.review.strikes import all_strikes


def test_every_strike_placed_on_a_rod_is_there_at_its_slice(warm) -> None:
    table = warm.answer.exposure.table
    found = strike_depths(all_strikes(warm.seasons), table, warm.seasons)
    assert len(found) == table["strikes"].sum() > 0
    struck = table.loc[table["strikes"] > 0]
    for row in found.sample(20, random_state=1).itertuples():
        covers = struck[
            (struck["trip"] == row.trip)
            & (struck["rod"] == row.rod)
            & (struck["start"] <= row.time)
            & (row.time <= struck["end"])
        ]
        assert row.depth_m in covers["depth_m"].to_numpy()
    dates = warm.seasons[0].log.trips.set_index("trip")["date"]
    assert (pd.to_datetime(found["trip"].map(dates)) == found["date"]).all()


def test_rod_hours_by_day_and_metre_add_up_to_those_with_a_depth(warm) -> None:
    table = warm.answer.exposure.table
    found = fished_depths(table, warm.seasons)
    known = table.loc[table["depth_m"].notna()]
    assert found["rod_hours"].sum() == pytest.approx(known["hours"].sum())
    mean = np.average(found["depth_m"] + 0.5, weights=found["rod_hours"])
    assert mean == pytest.approx(np.average(known["depth_m"], weights=known["hours"]), abs=0.5)
    assert not found.duplicated(["water", "date", "depth_m"]).any()


def test_thermometers_are_the_casts_of_the_log(warm) -> None:
    log = warm.seasons[0].log
    found = thermometers(warm.seasons)
    casts = found[found["source"] == "cast"]
    local = log.casts["time"].dt.tz_convert(log.boat.time_zone).dt.strftime("%Y-%m-%d")
    assert set(casts["day"]) == set(local)
    assert casts["deepest_m"].max() == log.casts["depth_m"].max()
    assert casts["count"].sum() == len(log.casts)


def test_a_log_without_thermometers_has_none(warm) -> None:
    season = warm.seasons[0]
    without = thermometers([replace(season, water=replace(season.water, field=None))])
    assert without.empty
    assert list(without) == ["water", "day", "source", "shallowest_m", "deepest_m", "count"]
