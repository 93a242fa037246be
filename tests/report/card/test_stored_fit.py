"""Owns the tests of the stored fit: the same numbers back, and nothing but numbers."""

import pytest
from same_record import same

from analysis.report.card.stored_fit import STORE, find_fit, store_fit


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
