"""Runs the season study of tests/benchmarks on two seasons and holds it to what must be so."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).parents[2]
STUDY = ROOT / "tests" / "benchmarks" / "season_study.py"


def run(*arguments):
    done = subprocess.run(
        [sys.executable, str(STUDY), *arguments],
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": "", "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """Two seasons with chasing and confounding, by three methods."""
    file = tmp_path_factory.mktemp("study") / "rows.csv"
    arguments = ("--scenario", "chasing_confounded", "--methods", "per hour,ours,oracle")
    run(*arguments, "--seeds", "50100:50102", "--file", str(file))
    return file, arguments


def test_every_method_is_scored_on_every_period(study):
    rows = pd.read_csv(study[0])
    assert set(rows["method"]) == {"per hour", "ours", "oracle"}
    assert set(rows["seed"]) == {50100, 50101}
    season = rows.loc[rows["period"] == "season"]
    assert len(season) == 6
    shares = ["loss", "coverage", "coverage_published", "loss_named", "loss_named_mean"]
    values = rows[shares].to_numpy()
    assert np.isfinite(values[season.index]).all()
    assert ((values >= 0) & (values <= 1) | np.isnan(values)).all()
    assert (rows["loss_named"].dropna() <= rows["loss_named_mean"].dropna() + 1e-12).all()
    assert set(rows["verdict"]) <= {"clear", "leaning", "open"}


def test_knowing_the_true_form_loses_little(study):
    """The oracle's band gives up little: its curve is known but for a few numbers."""
    rows = pd.read_csv(study[0]).query("method == 'oracle' and period == 'season'")
    # shared statistics: 1.0-1.6 % on average in this scenario; of two seasons, at most a tenth
    assert rows["loss"].mean() < 0.1


def test_a_clear_verdict_names_a_band_within_a_tenth_of_the_best(study):
    """At most one clear verdict in twenty may be wrong: of a few seasons' none should be."""
    rows = pd.read_csv(study[0]).query("method == 'ours' and period == 'season'")
    assert not rows.loc[rows["verdict"] == "clear", "wrong"].astype(bool).any()
    # nominal 90 %; of some 18 bands whose errors hang together, half would be a broken chain
    assert rows["coverage"].mean() > 0.5


def test_a_run_taken_up_again_runs_nothing_twice(study):
    file, arguments = study
    before = file.read_bytes()
    done = run(*arguments, "--seeds", "50100:50102", "--file", str(file))
    assert done.stderr == ""
    assert file.read_bytes() == before


def test_the_table_has_a_line_for_every_method(study):
    text = run("--table", "--file", str(study[0])).stdout
    for title in ("## Whole seasons", "## Months", "## Ratios"):
        assert title in text
    for method in ("per hour", "ours", "oracle"):
        assert f"| chasing_confounded | {method} | 2 |" in text
