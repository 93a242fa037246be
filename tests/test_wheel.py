"""Owns the test of what is installed: all that the commands need, and nothing else."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from analysis.places import PROJECT

NOT_A_CLONE = "print(places.IN_A_CLONE, places.NOTEBOOKS.is_dir(), places.default_reports())"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel built of the repository, without a network."""
    folder = tmp_path_factory.mktemp("wheel")
    # By the backend's own interface (PEP 517), as `pip wheel --no-build-isolation` calls it.
    code = f"from hatchling.build import build_wheel; build_wheel({str(folder)!r})"
    subprocess.run([sys.executable, "-c", code], cwd=PROJECT, check=True, capture_output=True)
    (built,) = folder.glob("rodhours-*.whl")
    return built


def tracked(*places: str) -> set[str]:
    """Files of the repository under some folders, those that no clone has left out."""
    return {
        path.relative_to(PROJECT).as_posix()
        for place in places
        for path in (PROJECT / place).rglob("*")
        if path.is_file() and not {"__pycache__", ".ipynb_checkpoints"} & set(path.parts)
    }


def test_wheel_holds_every_module_notebook_template_and_the_demo(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        names = {name for name in packed.namelist() if ".dist-info/" not in name}
    data = {f"rodhours/{name}" for name in tracked("notebooks", "data/demo", "reports/sample")}
    modules = tracked("analysis") - {"analysis/alias.py"}  # which is rodhours/__init__.py there
    assert names == modules | data | {"rodhours/__init__.py"}
    assert "analysis/render/template/rodhours/page.css" in names


def test_wheel_unpacked_anywhere_is_whole_and_writes_where_one_works(
    wheel: Path, tmp_path: Path
) -> None:
    packages, work = tmp_path / "packages", tmp_path / "work"
    work.mkdir()
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(packages)
    (work / "analysis.py").write_text("raise RuntimeError('not ours')\n")
    code = (
        f"import sys; sys.path.insert(1, {str(packages)!r})\n"
        "sys.meta_path[:] = [f for f in sys.meta_path if 'editable' not in type(f).__module__]\n"
        f"from rodhours import places\n{NOT_A_CLONE}\n"
        "from rodhours.cli import main\nraise SystemExit(main(['check']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=work, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == f"False True {work / 'reports'}"
    assert f"{packages / 'rodhours' / 'data' / 'demo' / 'dunlin-2025'}: Dunlin" in done.stdout
