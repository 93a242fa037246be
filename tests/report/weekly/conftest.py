"""Owns what spares the weekly tests work: figures of equal logs are worked out once for all
processes of a test run, and nothing to render with is started where nothing is rendered."""

import copy
import os
import pickle
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from analysis.report.fingerprints import digest
from analysis.report.weekly import fit
from analysis.report.weekly.workers import Tools

_WHOLE = (fit.fit_into, fit.read_seasons, fit.season_answer, fit.week_figures)


def _said(folder: Path) -> str:
    """Fingerprint what a log says: a remark in boat.toml changes no figure."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    toml = folder / "boat.toml"
    tables = [(path.name, path.read_bytes()) for path in files if path != toml]
    meant = repr(tomllib.loads(toml.read_text(encoding="utf-8")))
    return digest([folder.name, meant, *(part for table in tables for part in table)])


@pytest.fixture(scope="session")
def remembering(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., None]:
    """`fit_into` that remembers what it found, by what the logs say.

    A fit takes seconds, and a dozen tests start with the same club. Where a test puts something in
    place of a part of it, nothing is remembered.
    """
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent

    def remembered(
        store: dict[str, Any],
        folders: Sequence[Path],
        weeks: Sequence[str] | None,
        band: str | None,
        units: Sequence[str],
        tell: fit.Progress,
    ) -> None:
        # figures are worked out for all weeks of the years asked for
        years = None if weeks is None else sorted({week[:4] for week in weeks})
        logs = [_said(Path(folder)) for folder in folders]
        asked = digest([*logs, *map(repr, (years, band, list(units)))])
        kept = shared / f"figures-{asked[:16]}.pickle"
        with FileLock(f"{kept}.lock"):
            if not kept.exists():
                new: dict[str, Any] = {"weeks": {}}
                _WHOLE[0](new, folders, weeks, band, units, tell)
                kept.write_bytes(pickle.dumps(new))
        found = copy.deepcopy(pickle.loads(kept.read_bytes()))
        if set(weeks or ()) <= set(found["weeks"]):
            store["weeks"] |= found.pop("weeks")
            store |= found
        else:
            _WHOLE[0](store, folders, weeks, band, units, tell)

    def unless_replaced(*asked: Any) -> None:
        whole = (_WHOLE[0], fit.read_seasons, fit.season_answer, fit.week_figures) == _WHOLE
        (remembered if whole else _WHOLE[0])(*asked)

    return unless_replaced


@pytest.fixture
def one_fit_a_club(remembering: Callable[..., None], monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `fit_into` remember by what its logs say what it found."""
    monkeypatch.setattr(fit, "fit_into", remembering)


@pytest.fixture
def no_tools(monkeypatch: pytest.MonkeyPatch) -> None:
    """Start neither kernel nor browser: for tests that render nothing."""
    monkeypatch.setattr(Tools, "start", lambda tools: None)
