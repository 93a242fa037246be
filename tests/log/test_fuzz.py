"""Owns a few of the thousands of spoiled logs that tests/benchmarks/fuzz_logs.py reads."""

import importlib.util
from pathlib import Path

import pytest

BENCHMARK = Path(__file__).parents[1] / "benchmarks" / "fuzz_logs.py"
SEEDS = range(12)


@pytest.fixture(scope="module")
def fuzz():
    spec = importlib.util.spec_from_file_location("fuzz_logs", BENCHMARK)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_spoiled_log_is_read_with_every_row_told_or_refused_in_our_words(fuzz, tmp_path):
    went = []
    for seed in SEEDS:
        fuzz.spoiled(seed, tmp_path / str(seed))
        went.append(fuzz.faults_of(tmp_path / str(seed)))
    assert went.count("read") >= len(went) / 4


def test_a_row_that_is_lost_would_be_seen(fuzz, tmp_path, monkeypatch):
    fuzz.spoiled(0, tmp_path / "log")
    monkeypatch.setattr(fuzz, "read_log", lambda folder: (_ for _ in ()).throw(KeyError("row")))
    with pytest.raises(KeyError, match="row"):
        fuzz.faults_of(tmp_path / "log")
