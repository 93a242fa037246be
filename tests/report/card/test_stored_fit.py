"""Owns the tests of the stored fit: the same numbers back, and nothing but numbers."""

from dataclasses import fields, is_dataclass

import numpy as np
import pytest

from analysis.report.card.packed import UnreadableError, pack, unpack
from analysis.report.card.stored_fit import STORE, StoredFit, find_fit, store_fit
from analysis.units import Units

METRES = Units(
    length="m", depth="m", speed="kn", temperature="C", fish_length="cm", fish_weight="kg"
)


def same(one: object, other: object) -> bool:
    """Whether two records hold the same, field by field."""
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(
            one, other, equal_nan=one.dtype.kind == "f"
        )
    if is_dataclass(one):
        return type(one) is type(other) and all(
            same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one)
        )
    if isinstance(one, dict) or hasattr(one, "items"):
        return set(one) == set(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and np.isnan(one):
        return np.isnan(other)
    return one == other


def test_what_is_stored_comes_back_the_same(stored, tmp_path):
    store_fit(stored, tmp_path)
    found = find_fit([tmp_path / "nowhere", tmp_path], stored.key)
    assert found is not None
    assert same(found, stored)


def test_another_log_or_program_finds_nothing(stored, tmp_path):
    store_fit(stored, tmp_path)
    assert find_fit([tmp_path], "another key") is None


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 no archive", b"\x80\x04K\x01."])
def test_a_damaged_file_is_no_fit(stored, tmp_path, content):
    (tmp_path / STORE).write_bytes(content)
    assert find_fit([tmp_path], stored.key) is None


def test_a_file_cut_short_is_no_fit(stored, tmp_path):
    store_fit(stored, tmp_path)
    whole = (tmp_path / STORE).read_bytes()
    (tmp_path / STORE).write_bytes(whole[: len(whole) // 2])
    assert find_fit([tmp_path], stored.key) is None


def test_only_classes_that_the_reader_lists_are_made(tmp_path):
    pack(METRES, tmp_path / "one.npz")
    assert unpack(tmp_path / "one.npz", Units, ()) == METRES
    with pytest.raises(UnreadableError, match=r"one\.npz"):
        unpack(tmp_path / "one.npz", StoredFit, ())


def test_an_array_of_objects_is_neither_written_nor_read(tmp_path):
    with pytest.raises(TypeError, match="array of objects"):
        pack(StoredFit(key="k", boats=(np.array([{}], dtype=object),)), tmp_path / "one.npz")
    file = tmp_path / "other.npz"
    np.savez(file, tree=np.array(['{"of": "array"}'], dtype=object))
    with pytest.raises(UnreadableError, match=r"other\.npz"):
        unpack(file, StoredFit, ())
