"""Owns the tests of the depth notebook and of the tables behind it, on the demo's boats."""

from pathlib import Path

import numpy as np
import pytest

from analysis.errors import LogError
from analysis.report.depth_study import DepthStudy, study_depth
from analysis.report.notebook import NOTEBOOKS, run_notebook

DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def study() -> DepthStudy:
    return study_depth(DEMO / "dunlin-2026", gear="diver", speed=2.5, depth=45.0)


def test_trials_bring_the_prediction_to_the_logger(study: DepthStudy) -> None:
    kept = study.trials[~study.trials["left_out"]]
    before, after = (np.sqrt(np.mean(kept[name] ** 2)) for name in ("before", "after"))
    assert after < 0.03 < before
    assert (study.uses["after_sd"] < study.uses["before_sd"]).all()


def test_curves_hold_every_gear_and_setting_and_rise_with_line_out(study: DepthStudy) -> None:
    assert set(study.curves["gear"]) == {"diver", "rigger", "core"}
    for _, line in study.curves.groupby(["gear", "setting"], dropna=False):
        assert (np.diff(line["depth_m"]) > 0).all()
        assert (line["low_m"] < line["depth_m"]).all()
        assert (line["depth_m"] < line["high_m"]).all()
    assert set(study.chosen["gear"]) == {"diver"}
    assert set(study.others["gear"]) == {"rigger", "core"}


def test_effects_go_through_nothing_at_the_boats_own_values(study: DepthStudy) -> None:
    by_term = {term: rows for term, rows in study.effects.groupby("term")}
    own = by_term["line_diameter"]
    assert own.loc[np.isclose(own["at"], 1.0), "change"].item() == pytest.approx(0.0, abs=1e-12)
    for term in ("line_diameter", "lure_drag_area_m2", "tip_height_m", "speed_mps"):
        assert (np.diff(by_term[term]["change"]) < 0).all()


def test_spread_runs_at_the_depth_asked_for(study: DepthStudy) -> None:
    reached = study.ends[study.ends["reason"] == ""]
    assert set(reached["rod"]) >= {"P1", "P2", "P3", "S1", "S2", "S3"}
    np.testing.assert_allclose(reached["depth_m"], 45 * 0.3048, rtol=1e-6)
    assert (reached.loc[reached["side"] == "port", "across_m"] < 0).all()
    assert len(study.clearance) == len(reached) - 1
    assert set(study.paths["rod"]) == set(reached["rod"])


def test_a_boat_without_soaks_stays_at_its_defaults() -> None:
    study = study_depth(DEMO / "whimbrel-2026", gear="diver", speed=2.5, depth=45.0)
    assert study.trials.empty
    assert study.notes == ("no trial could be used: everything stays at its prior",)


def test_an_unknown_gear_is_named_with_those_on_board() -> None:
    with pytest.raises(LogError, match=r"no gear 'disc'.*diver, rigger, core"):
        study_depth(DEMO / "dunlin-2026", gear="disc", speed=2.5, depth=45.0)


@pytest.mark.parametrize(
    "parameters",
    [
        {},
        {"log_dir": "../data/demo/petrel-2026", "gear": "disc", "speed": 4.0, "depth": 15.0},
    ],
    ids=["feet", "metres"],
)
def test_run_depth_runs(parameters: dict[str, object]) -> None:
    executed = run_notebook(
        NOTEBOOKS / "run_depth.ipynb", parameters, folder=NOTEBOOKS, progress=False
    )
    shown = [output for cell in executed.cells for output in cell.get("outputs", [])]
    assert len(shown) >= 11
    texts = [output.data["text/html"] for output in shown]
    pictures = [text for text in texts if "<img" in text]
    assert len(pictures) == 5
    assert "nan" not in " ".join(text for text in texts if "<img" not in text)
