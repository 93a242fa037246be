"""Owns the tests of what lures and soaks of other seasons do to the depths of a season's slices."""

import numpy as np
import pytest

from analysis.depth.lures import lure_columns
from analysis.effort import count_effort
from analysis.effort.on_board import calibrations_of
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join


def exposure_of(folder):
    log = read_log(folder)
    return log, join([BoatSeason.of(log, count_effort(log))])


def test_a_lure_that_dives_takes_its_sets_deeper_and_brings_its_own_doubt(season_files, tmp_path):
    """The rigger's blue plug dives below its ball; the divers' spoons run as before."""
    _, plain = exposure_of(season_files.write(tmp_path / "plain", soaks=None))
    boat = season_files.BOAT + '[lures]\n"Blue  Plug" = { diving = "deep" }\n'
    log, dives = exposure_of(season_files.write(tmp_path / "dives", boat=boat, soaks=None))
    before, now = plain.table["depth_m"].to_numpy(), dives.table["depth_m"].to_numpy()
    plug = (dives.table["lure"] == "blue plug").to_numpy()
    assert plug.any()
    assert (now[plug] > before[plug] + 0.5).all()
    np.testing.assert_array_equal(now[~plug], before[~plug])
    sd = {name: one.table["depth_sd_m"].to_numpy() for name, one in (("p", plain), ("d", dives))}
    assert (sd["d"][plug] > sd["p"][plug]).all()
    # what all sets with the plug share is more than without it, and its rows share all of it
    shared = [np.linalg.norm(one.loadings[plug], axis=1) for one in (plain, dives)]
    assert (shared[1] > shared[0]).all()
    columns = lure_columns(["blue plug", "other", float("nan")], log.boat.lures)
    assert columns["lure_lift_area_m2"][0] == pytest.approx(0.0015)
    assert np.isnan(columns["lure_lift_area_m2"][1:]).all()


def test_a_soak_with_a_lure_that_dives_is_fitted_with_it(season_files, tmp_path):
    """The rigger's logged 48 ft is its ball's depth with a spoon, a shallow ball with a plug."""
    boat = season_files.BOAT + '[lures]\nplug = { diving = "deep" }\n'
    soaks = season_files.TABLES["soaks"].replace("note", "lure")
    depths = []
    for name in ("", "Plug"):
        row = soaks.replace("48,,\n", f"48,,{name}\n")
        folder = season_files.write(tmp_path / f"with{name}", boat=boat, soaks=row)
        done = calibrations_of(read_log(folder))["rigger"]
        assert done.trials.columns.described.tolist() == [name != ""]
        depths.append(float(done.belief.predict(line_out_m=15.0, speed_mps=1.1).depth_m))
    assert depths[1] < depths[0]


def test_soaks_of_an_earlier_season_count_for_the_same_gear_only(season_files, tmp_path):
    def last_year(table):
        return season_files.TABLES[table].replace("2026", "2025")

    early = season_files.write(
        tmp_path / "dunlin-2025",
        **{name: last_year(name) for name in ("trips", "sets", "strikes", "readings", "soaks")},
    )
    now = season_files.write(tmp_path / "dunlin-2026", soaks=None)
    logs = [read_log(folder) for folder in (early, now)]
    done = calibrations_of(logs[1], logs)
    assert (done["diver"].belief.trials, done["rigger"].belief.trials) == (2, 1)
    assert "of dunlin-2025" in done["diver"].trials.names[0]
    assert calibrations_of(logs[1])["diver"].belief.trials == 0
    other = season_files.BOAT.replace('"diver"\n', '"diver"\nline_diameter_mm = 0.5\n')
    changed = read_log(season_files.write(tmp_path / "changed", boat=other, soaks=None))
    again = calibrations_of(changed, [logs[0]])
    assert (again["diver"].belief.trials, again["rigger"].belief.trials) == (0, 1)
