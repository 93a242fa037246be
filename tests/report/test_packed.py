"""Owns the tests of packed records: the same back, and nothing made but records of the program."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from same_record import same

from analysis.report.packed import UnreadableError, pack, unpack
from analysis.season import read_seasons
from analysis.units import Units
from analysis.workbook import example
from analysis.workbook.counted import Counted
from analysis.workbook.opening import Years

METRES = Units(
    length="m", depth="m", speed="kn", temperature="C", fish_length="cm", fish_weight="kg"
)


@pytest.fixture(scope="module")
def heron(tmp_path_factory: pytest.TempPathFactory) -> Counted:
    return Counted.of(read_seasons([example(tmp_path_factory.mktemp("logs") / "heron-2026")]))


def test_a_season_as_counted_comes_back_the_same(heron, warm, tmp_path) -> None:
    # One log of a few lines, whose tables have empty columns, and one with water and soaks.
    for one in (heron, Counted.of(warm.seasons)):
        pack(one, tmp_path / "one.npz")
        assert same(one, unpack(tmp_path / "one.npz", Counted))


def test_an_answer_comes_back_the_same(warm, tmp_path) -> None:
    pack(warm.answer, tmp_path / "answer.npz")
    assert same(warm.answer, unpack(tmp_path / "answer.npz", type(warm.answer)))


def test_what_stands_in_two_places_is_written_once_and_comes_back_as_one(heron, tmp_path) -> None:
    other = replace(heron, strikes=heron.strikes.head(0))
    pack(Years(counted=(heron, other)), tmp_path / "two.npz")
    one, two = unpack(tmp_path / "two.npz", Years).counted
    # seasons that share a water are told by its being the same object
    assert one.seasons[0].water is two.seasons[0].water
    assert len(two.strikes) == 0


@pytest.mark.parametrize(
    "tree",
    [
        {"of": "record", "class": ["pathlib", "Path"], "number": 0, "fields": {}},
        {"of": "record", "class": ["analysis.cli", "main"], "number": 0, "fields": {}},
        {"of": "record", "class": ["analysis.report.packed", "Path"], "number": 0, "fields": {}},
        {"of": "record", "class": ["analysis.nowhere", "X"], "number": 0, "fields": {}},
        {"of": "record", "class": ["analysis.units", "Units"], "number": 0, "fields": {"x": 1}},
        {"of": "record", "class": ["analysis.units", "Units"]},
        {"of": "again", "number": 3},
        {"of": "array", "name": "none"},
        {"of": "call", "items": []},
        ["metres"],
    ],
)
def test_only_records_of_the_program_are_made(tree: object, tmp_path: Path) -> None:
    file = tmp_path / "own.npz"
    pack(METRES, file)
    assert unpack(file, Units) == METRES
    np.savez(file, tree=np.frombuffer(json.dumps(tree).encode(), dtype=np.uint8))
    with pytest.raises(UnreadableError, match=r"own\.npz"):
        unpack(file, Units)


def test_another_record_than_asked_for_is_refused(tmp_path) -> None:
    pack(METRES, tmp_path / "one.npz")
    with pytest.raises(UnreadableError, match=r"one\.npz"):
        unpack(tmp_path / "one.npz", Counted)


def test_pickled_objects_are_neither_written_nor_read(tmp_path) -> None:
    with pytest.raises(TypeError, match="object cannot be packed"):
        pack(Years(counted=(np.array([object()]),)), tmp_path / "one.npz")
    file = tmp_path / "other.npz"
    np.savez(file, tree=np.array(['{"of": "array"}'], dtype=object))
    with pytest.raises(UnreadableError, match=r"other\.npz"):
        unpack(file, Units)
