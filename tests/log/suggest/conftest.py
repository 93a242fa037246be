"""Owns the fixture that hands out the writer of logs in other habits."""

import importlib.util
import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def log_habits():
    """The module that writes invented logs; see habits.py beside this file."""
    spec = importlib.util.spec_from_file_location(
        "log_habits", Path(__file__).with_name("habits.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["log_habits"] = module
    spec.loader.exec_module(module)
    return module
