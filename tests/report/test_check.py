"""Owns the tests that `check` tells of every rod-hour without a depth, and draws nothing."""

import re
import subprocess
import sys

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.kinds import Diver
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, gaps_of, join
from analysis.rates.slice_depths import why_no_depth
from analysis.report.check import examine


@pytest.fixture
def folder(tmp_path, season_files):
    """One set's speed is 0, one line does not reach the water, the others have a depth."""
    return season_files.write(
        tmp_path / "Dunlin-2026",
        sets=season_files.add(
            "sets",
            "T2,S1,starboard,rigger,,3,10,,blue plug,20:00,21:00,end",
            "T2,S1,starboard,rigger,,3.5,10,,blue plug,21:10,21:40,end",
        ),
        readings=season_files.add("readings", "T1,11:00,0,water,62"),
    )


def test_every_rod_hour_without_a_depth_is_in_a_gap_with_its_reason(folder):
    log = read_log(folder)
    season = BoatSeason.of(log, count_effort(log))
    exposure = join([season])
    table = exposure.table
    lost = table["depth_m"].isna()
    assert (lost == (table["depth_note"] != "")).all()
    why = why_no_depth(log, season.effort, season.calibrations)  # without the rest of the exposure
    assert why.tolist() == table["depth_note"].tolist()
    found = gaps_of(season, unsolved=why, untried={}, further=None)
    gaps = [gap for gap in found if gap.what.startswith("no depth of")]
    hours = table["hours"].sum()
    assert [gap.what for gap in gaps] == [
        f"no depth of rigger for {100 * 1.5 / hours:.0f} % of rod-hours: "
        "line too short to reach the water",
        f"no depth of diver for {100 * 1.0 / hours:.0f} % of rod-hours: "
        "a speed of 0 mph; a line is towed only at a speed above 0",
        f"no depth of rigger for {100 * 1.0 / hours:.0f} % of rod-hours: "
        "a speed of 0 mph; a line is towed only at a speed above 0",
    ]
    assert np.isclose(table.loc[lost, "hours"].sum(), 3.5)


def test_check_tells_of_them(folder):
    told = " ".join(examine(folder).text.split())
    assert "no depth of rigger for 8 % of rod-hours: line too short to reach the water" in told
    assert "0 strikes in 2 rod-hours are in no band" in told


def test_check_tells_of_temperatures_that_were_not_believed(season_files, tmp_path):
    """A cast with its depths turned round, and a probe below the bottom."""
    upside_down = [
        f"T1,06:10,{depth},{temp}" for depth, temp in ((0, 41), (20, 42), (40, 64), (60, 70))
    ]
    folder = season_files.write(
        tmp_path / "Dunlin-2026",
        boat=season_files.BOAT + "\n[water]\nmax_depth_m = 40\n",
        casts="\n".join(["trip,time,depth,temp", *upside_down]),
        readings="trip,time,speed,speed_kind,surface_temp,depth_temp,probe_depth\n"
        "T1,06:00,2.4,water,70,42,250\nT1,07:00,2.6,water,70,,\n",
    )
    told = " ".join(examine(folder).text.split())
    assert "casts, temp '5.0 C', line 2: this cast has the heavier water on top" in told
    assert "where the water is 40 m deep at most" in told


def test_it_imports_no_pictures_and_no_models():
    told = subprocess.run(
        [sys.executable, "-c", "import analysis.report.check, sys; print(*sys.modules)"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    assert "analysis.log.findings" in told
    for heavy in ("matplotlib", "analysis.season", "analysis.rates.fit", "IPython"):
        assert heavy not in told


def test_a_log_is_read_without_what_its_check_imports_meanwhile():
    told = subprocess.run(
        [
            sys.executable,
            "-c",
            "from analysis.log import read_log; import sys; print(*sys.modules)",
        ],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    assert "analysis.log.vetting.rows" in told
    for later in ("scipy", "analysis.rates", "analysis.water", "analysis.report"):
        assert later not in told


def test_a_suspect_trial_is_named_by_its_line_with_what_it_probably_was_and_the_next_trial(
    season_files, tmp_path
):
    """Line-out 210 ft written for 120, among trials of the defaults' own boat."""
    marks = [(0, 60), (0, 140), (1, 80), (1, 130), (2, 90), (2, 120), (3, 90), (3, 160)]
    depths = solve(
        Diver(),
        setting=[mark for mark, _ in marks],
        line_out_m=[out * 0.3048 for _, out in marks],
        speed_mps=2.4 * 0.44704,
        tip_height_m=2.0,
    ).depth_m
    rows = [
        f"diver,{mark},{210 if row == 5 else out},2.4,{depth / 0.3048:.1f}"
        for row, ((mark, out), depth) in enumerate(zip(marks, depths, strict=True))
    ]
    text = "gear,setting,line_out,speed,depth\n" + "\n".join(rows) + "\n"
    log = season_files.write(tmp_path / "dunlin", soaks=text)
    told = " ".join(examine(log).text.split())
    assert "diver, 7 trials used: The trial of line 7 is left out: it logged" in told
    assert "was it line-out 210 ft for 120 ft, digits swapped" in told
    assert re.search(r"The next trial that teaches most: setting [\d.]+ with \d+ ft out", told)
