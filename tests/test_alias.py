"""Owns the tests of the name `rodhours`: the same modules, whatever else is called `analysis`."""

import subprocess
import sys
from pathlib import Path

import pytest

STRANGER = "raise RuntimeError('an analysis.py of somebody else was taken')\n"


def run(code: str, folder: Path) -> str:
    """Run code as a notebook's kernel does: the working folder comes before all packages."""
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_both_names_are_the_same_modules(tmp_path: Path) -> None:
    code = (
        "from rodhours.errors import LogError\nimport rodhours.log.files.tables as one\n"
        "import analysis.errors, analysis.log.files.tables as two\n"
        "print(LogError is analysis.errors.LogError, one is two, two.__name__, two.__spec__.name)"
    )
    assert run(code, tmp_path) == "True True analysis.log.files.tables analysis.log.files.tables"


def test_an_analysis_of_somebody_else_breaks_nothing(tmp_path: Path) -> None:
    (tmp_path / "analysis.py").write_text(STRANGER)
    assert run("from rodhours.units import to_si\nprint(to_si(10, 'depth', 'ft'))", tmp_path) == (
        "3.048"
    )


def test_what_was_imported_before_by_that_name_stays_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "analysis.py").write_text("mine = 7\n")
    code = "import analysis\nfrom rodhours import units\nprint(analysis.mine, units.__name__)"
    assert run(code, tmp_path) == "7 analysis.units"


def test_module_that_is_not_there_is_named(tmp_path: Path) -> None:
    code = "try:\n    import rodhours.moon\nexcept ModuleNotFoundError as error:\n    print(error)"
    assert run(code, tmp_path) == "No module named 'rodhours.moon'"


NOTEBOOKS = ["season_review", "weekly_report", "depth_explorer", "run_depth", "log_entry"]


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebooks_import_by_the_name_that_is_ours_alone(name: str) -> None:
    text = (Path(__file__).parents[1] / "notebooks" / f"{name}.ipynb").read_text(encoding="utf-8")
    assert "from rodhours" in text
    assert "from analysis" not in text
    assert "import analysis" not in text
