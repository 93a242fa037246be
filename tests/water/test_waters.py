"""Owns the tests of waters of season folders, and of water.csv."""

import numpy as np
import pandas as pd
import pytest

from analysis.log import read_log
from analysis.result_schema import RESULTS
from analysis.water.table import water_table
from analysis.water.waters import water_of, waters_of


@pytest.fixture
def write(tmp_path, season_files):
    """Write the usual season as a folder of a name, its boat.toml naming a water."""

    def of(name, water=None, **tables):
        log = season_files.write(tmp_path / name, **tables)
        if water is not None:
            file = log / "boat.toml"
            text = file.read_text()
            named = f'name = "{water}"\n'
            if "[water]\n" in text:
                text = text.replace("[water]\n", "[water]\n" + named)
            else:
                text += f"\n[water]\n{named}"
            file.write_text(text)
        return read_log(log)

    return of


def test_logs_that_name_one_water_share_its_thermometers(write):
    with_cast = write("one", "Ostermere")
    without = write("two", "ostermere", casts=None)
    elsewhere = write("three", "Nordmere", casts=None)
    waters = waters_of([with_cast, without, elsewhere])
    assert waters[0] is waters[1]
    assert waters[1].knows(2026)
    assert waters[2] is not waters[0]
    assert not waters[2].knows(2026)


def test_a_log_that_names_no_water_has_its_boats(write):
    log = write("one")
    assert water_of([log]).name == log.boat.name


def test_no_temperature_at_all_is_no_water(write):
    log = write("one", casts=None, readings=None)
    water = water_of([log])
    assert water.field is None
    assert not water.knows(2026)
    assert list(water_table([water], [log], 30.0).columns) == list(RESULTS["water"].names)


def test_no_doubt_is_a_table_whose_lines_are_numbers(write):
    """Put under the log's own, an empty table of text made text of their lines."""
    log = write("one", "Ostermere")
    doubts = water_of([log]).doubts_of(log)
    assert doubts.empty
    lines = pd.concat([pd.DataFrame({"row": [7]}), doubts[["row"]]])["row"]
    assert lines.dtype == np.int64


def test_water_table_tells_each_day_and_metre_and_what_tells_it(write):
    log = write("one", "Ostermere")
    (water,) = waters_of([log])
    table = water_table([water], [log], 30.0)
    assert list(table.columns) == list(RESULTS["water"].names)
    days = pd.date_range(log.trips["date"].min(), log.trips["date"].max())
    assert set(table["day"]) == set(days.strftime("%Y-%m-%d"))
    assert (np.diff(table["depth_m"].to_numpy()[:30]) == 1.0).all()
    assert set(table["source"]) <= {"cast", "logger", "probe", "surface", "season"}
    at = table.set_index(["day", "depth_m"])
    cast = log.casts.iloc[0]
    day = cast["time"].tz_convert(log.boat.time_zone).strftime("%Y-%m-%d")
    nearest = at.loc[day].iloc[round(cast["depth_m"])]
    assert nearest["temp_c"] == pytest.approx(cast["temp_c"], abs=1.5)
    assert (table["temp_sd_c"] > 0).all()


def test_nothing_near_in_time_is_the_shape_of_the_season(write):
    """Surface readings alone: below the surface only the season of the year tells."""
    log = write("one", casts=None)
    water = water_of([log])
    table = water_table([water], [log], 30.0)
    deep = table.loc[(table["depth_m"] == 12.0), "source"]
    assert set(deep) == {"season"}
    assert "surface" in set(table.loc[table["depth_m"] == 0.0, "source"])
