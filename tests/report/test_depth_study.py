"""Owns the tests of the depth notebook and of the tables behind it, on the demo's boats."""

from pathlib import Path

import numpy as np
import pytest

from analysis.effort import count_effort
from analysis.errors import LogError, UsageError
from analysis.log import read_log
from analysis.places import NOTEBOOKS
from analysis.rates.build_exposure import BoatSeason
from analysis.render.notebook import run_notebook
from analysis.report.depth_study import DepthStudy, study_depth
from analysis.show.depth import tables as depth_tables

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


@pytest.fixture
def small(tmp_path, season_files) -> Path:
    """A season whose two rods have tips at different heights, and three trials of the diver."""
    return season_files.write(
        tmp_path / "Dunlin-2026",
        boat=season_files.BOAT.replace("tip_height_m = 2.0", "tip_height_m = { P1 = 1.2, S1 = 3 }"),
        soaks=season_files.add("soaks", "diver,2.5,100,2.4,40,,", "diver,3,120,2.4,41,,"),
    )


def test_the_notebook_and_the_review_share_one_calibration(small: Path) -> None:
    """Once each had its own rod-tip height: 10.8 degrees in one, 6.2 in the other."""
    log = read_log(small)
    season = BoatSeason.of(log, count_effort(log))
    study = study_depth(small, speed=2.5, depth=30.0)
    assert study.gear == "diver"
    assert study.learnt["shift"].abs().max() > 0.5
    for row, other in zip(
        study.learnt.itertuples(), season.calibrations["diver"].learnt, strict=True
    ):
        assert (row.label, row.shift, row.sd) == (other.label, other.shift, other.sd)


def test_no_setting_is_shown_that_the_log_never_used(small: Path) -> None:
    """The default dial has a mark 0 and a mark 2, which this log never fished; it fished 2.5."""
    study = study_depth(small, speed=2.5, depth=30.0)
    for table in (study.chosen, study.equal_depth, study.uses, study.ends):
        assert set(table["setting"].dropna()) == {1.0, 2.5, 3.0}
    assert study.next_trial["setting"].item() in (1.0, 2.5, 3.0)
    assert not any("setting 2;" in note for note in study.notes)


@pytest.mark.parametrize("wrong", [0, -1, "fast", float("nan"), 28.0, True])
def test_a_speed_at_which_nothing_is_towed_is_refused(small: Path, wrong: object) -> None:
    with pytest.raises(UsageError, match=r"^speed .*: give a number above 0 and up to 22.37, in m"):
        study_depth(small, speed=wrong, depth=30.0)


def test_reasons_speak_the_boats_units(small: Path) -> None:
    study = study_depth(small, speed=2.5, depth=120.0)
    shown = "".join(
        table(frame, study.units).html
        for table, frame in (
            (depth_tables.equal_depth, study.equal_depth),
            (depth_tables.spread_lines, study.ends),
        )
    )
    assert "cannot reach 120 ft: 492 ft out runs" in shown
    assert " m out" not in shown


@pytest.mark.parametrize(
    "parameters",
    [
        {},
        {"season": "../data/demo/petrel-2026", "speed": 4.0, "depth": 15.0},
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
    assert len(pictures) == 6
    assert "nan" not in " ".join(text for text in texts if "<img" not in text)
