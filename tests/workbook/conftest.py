"""Owns the seasons that the tests of the workbook ask; nothing is kept outside their folders."""

from pathlib import Path

import pytest

from analysis.workbook import Season, kept
from analysis.workbook.counted import Counted
from analysis.workbook.kept import FOLDER_VARIABLE
from analysis.workbook.source import Source


@pytest.fixture(autouse=True)
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A store of its own for every test."""
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "store"))
    monkeypatch.setattr(kept, "LEAST_S", 0.0)
    return tmp_path / "store"


@pytest.fixture(scope="session")
def asked(warm) -> Season:
    """The season in which fish follow a temperature, its answer as it was fitted for all tests."""
    source = Source(logs="", counted=Counted.of(warm.seasons))
    vars(source)["answer"] = warm.answer
    return Season(source)
