"""Owns the tests of which files a card may write over: its own, as it left them, and no other."""

import json

import pytest

from analysis.errors import UsageError
from analysis.render.staging import WriteError
from analysis.report.card.own_files import WRITTEN, refuse_to_replace, remember

NAMES = ("card.html", "lines.csv")


@pytest.fixture
def card(tmp_path):
    """A folder with the files of a card, which are remembered."""
    for name in NAMES:
        (tmp_path / name).write_text(f"of a card: {name}")
    remember(tmp_path, NAMES)
    return tmp_path


def test_a_card_may_be_replaced_and_what_else_lies_there_does_not_matter(card):
    (card / "notes.txt").write_text("of a person")
    refuse_to_replace(card, NAMES)


def test_nothing_is_refused_where_nothing_lies(tmp_path):
    refuse_to_replace(tmp_path, NAMES)
    refuse_to_replace(tmp_path / "not there yet", NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_file_that_was_changed_since_is_refused_and_kept(card, name):
    (card / name).write_text("changed by a person")
    with pytest.raises(WriteError, match=rf"{name} is no card's, or was changed since"):
        refuse_to_replace(card, NAMES)
    assert (card / name).read_text() == "changed by a person"


def test_a_card_that_lost_a_file_may_be_replaced(card):
    (card / NAMES[0]).unlink()
    refuse_to_replace(card, NAMES)


@pytest.mark.parametrize("record", [None, "", "{", "[]", "7"])
def test_without_a_record_that_can_be_read_every_file_is_a_persons(card, record):
    if record is None:
        (card / WRITTEN).unlink()
    else:
        (card / WRITTEN).write_text(record)
    with pytest.raises(WriteError, match=r"is no card's"):
        refuse_to_replace(card, NAMES)


def test_a_season_folder_is_refused_though_all_its_files_be_a_cards(card):
    (card / "boat.toml").touch()
    with pytest.raises(UsageError, match=r"is a season folder.*choose another folder with --out"):
        refuse_to_replace(card, NAMES)


def test_the_record_is_hidden_and_names_the_files_alone(card):
    assert WRITTEN.startswith(".")
    assert sorted(json.loads((card / WRITTEN).read_text())) == sorted(NAMES)
