"""Owns fixtures that several rooms' tests share."""

import importlib
import importlib.util
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from threadpoolctl import threadpool_limits

pytest_plugins = ["known_seasons", "open_data"]


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    """Small matrices are slower with more threads, and far slower on a busy machine."""
    importlib.import_module("scipy.linalg")  # what is not loaded yet cannot be limited
    with threadpool_limits(1):
        yield


def _beside(name: str) -> ModuleType:
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The module of made-up result tables; see tests/result_tables.py."""
    return _beside("result_tables")


@pytest.fixture(scope="session")
def season_files() -> ModuleType:
    """The module that writes a small season folder; see tests/season_files.py."""
    return _beside("season_files")


@pytest.fixture(scope="session")
def club_files() -> ModuleType:
    """The module that writes a small club's logs; see tests/club_files.py."""
    return _beside("club_files")


@pytest.fixture(scope="session")
def short_form_files() -> ModuleType:
    """The module that writes a season in short form; see tests/short_form_files.py."""
    return _beside("short_form_files")
