"""Owns that figures of equal logs are worked out once for all processes of a test run."""

import copy
import os
import pickle
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from analysis.report.fingerprints import digest, inputs_digest
from analysis.report.weekly import fit

_WHOLE = (fit.fit_into, fit.read_seasons, fit.season_answer, fit.week_figures)


@pytest.fixture
def one_fit_a_club(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Let `fit_into` remember by its logs' content what it found.

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
        parts = (_WHOLE[0], fit.read_seasons, fit.season_answer, fit.week_figures)
        if parts != _WHOLE:
            _WHOLE[0](store, folders, weeks, band, units, tell)
            return
        names = [Path(folder).name for folder in folders]
        asked = digest([inputs_digest(folders), *map(repr, (names, weeks, band, list(units)))])
        kept = shared / f"figures-{asked[:16]}.pickle"
        with FileLock(f"{kept}.lock"):
            if not kept.exists():
                found: dict[str, Any] = {"weeks": {}}
                _WHOLE[0](found, folders, weeks, band, units, tell)
                kept.write_bytes(pickle.dumps(found))
        found = copy.deepcopy(pickle.loads(kept.read_bytes()))
        store["weeks"] |= found.pop("weeks")
        store |= found

    monkeypatch.setattr(fit, "fit_into", remembered)
