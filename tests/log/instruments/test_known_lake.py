"""Owns the test of loggers against a simulated season: depths, temperatures and clock are known."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from made_instruments import logger_csv, trace

from analysis.effort.on_board import calibrations_of
from analysis.log import read_log
from analysis.water.table import water_table
from analysis.water.waters import water_of
from data.simulate import SCENARIOS, simulate_season

SLOW_MIN = 7.0
GEAR = "diver"


@pytest.fixture(scope="module")
def known(tmp_path_factory):
    """A season without casts, a logger on a diver of each of eight trips, its clock slow."""
    scenario = SCENARIOS["no_casts"].but(shared_depth_error=0.1)
    simulated = simulate_season(scenario, 3, trips=8)
    folder = simulated.write(tmp_path_factory.mktemp("lake") / "dunlin-2026")
    frames, truth, boat = simulated.frames, simulated.truth, simulated.boat
    rng = np.random.default_rng(8)
    sets = frames["sets"].assign(true_m=truth.sets["depth_m"].to_numpy())
    (folder / "loggers").mkdir()
    rows = []
    typed = []
    for number, trip in enumerate(frames["trips"].itertuples()):
        mine = sets.loc[(sets["trip"] == trip.trip) & (sets["gear"] == GEAR)]
        mine = mine.loc[mine["rod"] == mine["rod"].iloc[number % 2 * -1]]
        local = trip.start.tz_convert(boat.time_zone).tz_localize(None)
        down = [
            (
                (s.time_in - trip.start).total_seconds() / 60,
                (s.time_out - trip.start).total_seconds() / 60,
                s.true_m,
            )
            for s in mine.itertuples()
        ]
        length = (trip.end - trip.start).total_seconds() / 60
        minute, depth = trace(-10.0, length + 10.0, down)
        temp = truth.lake.temp_c(np.full(len(minute), number), minute, depth)
        in_feet = (depth + rng.normal(0, 0.1, len(depth))) / 0.3048
        in_f = (temp + rng.normal(0, 0.1, len(depth))) * 1.8 + 32
        text = logger_csv(local.to_pydatetime(), minute, in_feet, in_f, slow_min=SLOW_MIN)
        (folder / "loggers" / f"td{number}.csv").write_text(text)
        rows.append(f"td{number}.csv,{trip.trip},{mine['rod'].iloc[0]},,,")
        typed.append(mine)
    (folder / "loggers.csv").write_text("\n".join(["file,trip,rod,time_in,time_out,offset", *rows]))
    return simulated, read_log(folder), pd.concat(typed)


def test_every_clock_is_found_to_a_minute_or_so(known):
    _, log, _ = known
    said = log.changed.loc[log.changed["table"] == "loggers", "reason"]
    found = said.str.extract(r"about ([0-9.]+) minutes slow")[0].astype(float)
    assert len(log.set_aside.loc[log.set_aside["table"] == "loggers"]) == 0
    assert len(found) == 8
    assert (found - SLOW_MIN).abs().max() <= 2.0


def test_each_soak_is_of_the_set_it_was_taken_from(known):
    """Matched by clock, its depth is the true one of the set with its setting and line-out."""
    _, log, typed = known
    assert len(log.soaks) >= 8
    for soak in log.soaks.to_dict("records"):
        fits = typed.loc[
            (typed["setting"] == soak["setting"])
            & (np.abs(typed["line_out_m"] - soak["line_out_m"]) < 0.2)
        ]
        assert np.abs(fits["true_m"] - soak["depth_m"]).min() < 0.15


def test_they_calibrate_as_typed_soaks_do(known):
    """The same trials typed by hand, each at its set's true depth, teach the same."""
    _, log, typed = known
    by_hand = log.soaks.copy()
    for row, soak in log.soaks.iterrows():
        near = typed.loc[typed["setting"] == soak["setting"]]
        off = (near["line_out_m"] - soak["line_out_m"]).abs()
        off += (near["true_m"] - soak["depth_m"]).abs()
        by_hand.loc[row, "depth_m"] = near.loc[off.idxmin(), "true_m"]
    use = {"setting": [0, 1, 2, 3], "line_out_m": [30, 30, 40, 40], "speed_mps": 1.1}
    by_logger, by_typing, before = (
        calibrations_of(replace(log, soaks=soaks))[GEAR].belief.predict(**use)
        for soaks in (log.soaks, by_hand, None)
    )
    assert by_logger.depth_m == pytest.approx(by_typing.depth_m, rel=0.01)
    assert (by_logger.shared_sd_m < 0.5 * before.shared_sd_m).all()


def test_they_tell_the_water(known):
    """Where the loggers hung, the water's temperature is right to a few tenths of a degree."""
    simulated, log, _ = known
    lake = water_of([log]).field
    start = simulated.frames["trips"].set_index("trip")["start"]
    number = {trip: i for i, trip in enumerate(start.index)}
    some = log.logged.iloc[::50]
    minute = (some["time"] - some["trip"].map(start)).dt.total_seconds().to_numpy() / 60
    true = simulated.truth.lake.temp_c(
        some["trip"].map(number).to_numpy(), minute, some["depth_m"].to_numpy()
    )
    modelled, sd = lake.at(some["time"].astype("int64").to_numpy(), some["depth_m"].to_numpy())
    assert np.sqrt(np.mean((modelled - true) ** 2)) < 0.6
    assert np.mean(np.abs(modelled - true) < 1.645 * np.hypot(sd, 0.05)) > 0.75


def test_the_water_says_that_loggers_tell_it(known):
    _, log, _ = known
    table = water_table([water_of([log])], [log], 40.0)
    assert "logger" in set(table["source"])
