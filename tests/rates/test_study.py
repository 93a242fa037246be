"""Runs the season study of tests/benchmarks on two seasons and holds it to what must be so."""

import importlib.util
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).parents[2]
STUDY = ROOT / "tests" / "benchmarks" / "season_study.py"


@pytest.fixture
def told(monkeypatch, capsys):
    """Run the study within this process; what it printed and what it told on the way."""
    spec = importlib.util.spec_from_file_location(STUDY.stem, STUDY)
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, STUDY.stem, module)  # as dataclasses ask for
    spec.loader.exec_module(module)

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", [str(STUDY), *arguments])
        module.main()
        return capsys.readouterr()

    return run


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """A season at a fixed depth and one that follows a temperature, by three methods."""
    file = tmp_path_factory.mktemp("study") / "rows.csv"
    arguments = ("--scenario", "chasing_confounded,temperature", "--seeds", "50100:50101")
    arguments += ("--methods", "per hour,ours,oracle", "--processes", "2")
    done = subprocess.run(
        [sys.executable, str(STUDY), *arguments, "--file", str(file)],
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": "", "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return file, arguments


def test_every_method_is_scored_on_every_period(study):
    rows = pd.read_csv(study[0])
    assert set(rows["method"]) == {"per hour", "ours", "oracle"}
    assert set(rows["seed"]) == {50100}
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
    # shared statistics: 0.5-1.6 % on average in these scenarios; of two seasons, at most 5 %
    assert rows["loss"].mean() < 0.05


def test_the_answer_gives_up_less_than_strikes_per_hour(study):
    """Shared statistics: 9 to 17 % by strikes per rod-hour, 1 to 4 % by a model that is right."""
    rows = pd.read_csv(study[0])
    lost = rows.groupby("method")["loss"].mean()
    assert lost["ours"] < 0.5 * lost["per hour"]


def test_a_clear_verdict_names_a_band_within_a_tenth_of_the_best(study):
    """At most one clear verdict in twenty may be wrong: of a few seasons' none should be."""
    rows = pd.read_csv(study[0]).query("method == 'ours' and period == 'season'")
    assert not rows.loc[rows["verdict"] == "clear", "wrong"].astype(bool).any()
    # nominal 90 %; the share of a season's bands has a standard deviation of some 15 points, so
    # that the mean of two below 0.65 would be 2.4 of its standard errors away
    assert rows["coverage"].mean() > 0.65


def test_a_run_taken_up_again_runs_nothing_twice(study, told):
    file, arguments = study
    before = file.read_bytes()
    assert told(*arguments, "--file", str(file)).err == ""
    assert file.read_bytes() == before


def test_the_table_has_a_line_for_every_method(study, told):
    text = told("--table", "--file", str(study[0])).out
    for title in ("## Whole seasons", "## Months", "## Ratios"):
        assert title in text
    for scenario in ("chasing_confounded", "temperature"):
        for method in ("per hour", "ours", "oracle"):
            assert f"| {scenario} | {method} | 1 |" in text
