"""Owns fixtures that several rooms' tests share."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def made_up() -> ModuleType:
    """The module of made-up result tables; see tests/result_tables.py."""
    path = Path(__file__).with_name("result_tables.py")
    spec = importlib.util.spec_from_file_location("result_tables", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
