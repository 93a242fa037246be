"""Owns the tests that the notebooks run from top to bottom on logs that hold little.

That they run in a kernel and in JupyterLab is tested by the few that differ most.
"""

from pathlib import Path

import pytest
from in_process import shown

from analysis.errors import RodhoursError
from analysis.workbook import example

ASK_A_LOG = (
    "api", "ask", "catch_rate", "depth_explorer", "explore", "log_entry", "run_depth", "start",
    "what_if",
)  # fmt: skip
"""All but those that run a report of their own, which their own tests run: tour, season_review,
weekly_report."""


def strikes_alone(folder: Path) -> Path:
    """A log of a trip and a strike, without a rod-hour."""
    log = example(folder)
    (log / "sets.csv").unlink()
    return log


def one_gear_in_metres(folder: Path) -> Path:
    """A log of two rods with one gear, in metres, km/h and degrees Celsius."""
    log = example(folder)
    toml = (log / "boat.toml").read_text().replace('"ft"', '"m"').replace('"mph"', '"km/h"')
    toml = toml.replace('"F"', '"C"').partition("[gear.rigger]")[0]
    (log / "boat.toml").write_text(toml)
    sets = (log / "sets.csv").read_text().replace(",120,,8,", ",37,,2.4,")
    (log / "sets.csv").write_text(sets.replace("rigger,,55,15,6", "diver,3,30,,2.4"))
    return log


@pytest.mark.parametrize("name", ASK_A_LOG)
def test_a_notebook_runs_on_a_metric_boat_with_one_gear(name: str, tmp_path: Path) -> None:
    html = shown(name, season=one_gear_in_metres(tmp_path / "heron-2026"))
    assert ">nan<" not in " ".join(html).lower()
    if name not in ("api", "ask"):  # whose examples, and the depth it asks for, are in feet
        assert " ft" not in " ".join(html)


NEEDS_HOURS = ("explore", "what_if")


@pytest.mark.parametrize("name", sorted({*ASK_A_LOG} - {*NEEDS_HOURS}))
def test_a_notebook_runs_on_strikes_alone(name: str, tmp_path: Path) -> None:
    html = shown(name, season=strikes_alone(tmp_path / "heron-2026"))
    assert ">nan<" not in " ".join(html).lower()


@pytest.mark.parametrize("name", NEEDS_HOURS)
def test_what_cannot_be_asked_of_strikes_alone_is_said(name: str, tmp_path: Path) -> None:
    with pytest.raises(RodhoursError, match="cannot tell"):
        shown(name, season=strikes_alone(tmp_path / "heron-2026"))
