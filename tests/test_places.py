"""Owns the test that every command finds its files from any folder, by either kind of path."""

import os
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from analysis.cli import main

DAYS = [f"2026-06-{day:02d}" for day in (2, 9, 16, 23, 30)]
"""Days enough for a named band, and so for the cards of a starting spread."""
TABLE = "gear,setting,line_out,speed\ndiver,1,100,2\n"
REVIEW = {
    *("season-review.html", "season-review.ipynb", "tables/bands.csv"),
    *("spread-card-a5.pdf", "spread-card-half-letter.pdf"),
}
WEEK = {f"2026-W26.{form}" for form in ("html", "txt", "json")} | {"index.html"}

COMMANDS: dict[str, tuple[list[str], set[str]]] = {
    "check": (["check", "LOG"], set()),
    "review": (["review", "LOG", "--out", "OUT"], REVIEW),
    "tables": (["review", "LOG", "--out", "OUT", "--tables-only"], {"tables/bands.csv"}),
    "weekly": (["weekly", "LOG", "--week", "2026-W26", "--out", "OUT"], WEEK),
    "depth": (
        ["depth", "TABLE", "--gear", "LOG/boat.toml", "--out", "OUT/depths.csv"],
        {"depths.csv"},
    ),
}
"""What is typed, and the files that must be in OUT then."""


@pytest.fixture(scope="module")
def home(club_files: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a season, a table, and an empty folder beside them."""
    folder = tmp_path_factory.mktemp("home")
    club_files.write_boat(folder / "season", "Dunlin", DAYS, strikes_a_trip=8)
    (folder / "table.csv").write_text(TABLE)
    (folder / "elsewhere").mkdir()
    return folder


def beside(path: Path) -> str:
    """Write a path as seen from the working folder."""
    return os.path.relpath(path)


@pytest.mark.parametrize(
    ("written", "where"),
    [(beside, "."), (beside, "elsewhere"), (str, "elsewhere")],
    ids=["relative-here", "relative-elsewhere", "absolute-elsewhere"],
)
@pytest.mark.parametrize("command", COMMANDS)
def test_command_works_from_any_folder(
    command: str,
    written: Callable[[Path], str],
    where: str,
    home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(home / where)
    typed, wanted = COMMANDS[command]
    places = {"OUT": tmp_path / "out", "LOG": home / "season", "TABLE": home / "table.csv"}
    arguments = []
    if command == "depth":
        places["OUT"].mkdir()
    for word in typed:
        name, _, rest = word.partition("/")
        arguments.append(written(places[name] / rest) if name in places else word)
    assert main(arguments) == 0
    assert Path.cwd() == home / where
    there = {
        path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*")
    }
    assert wanted <= there
    assert sorted(path.name for path in home.iterdir()) == ["elsewhere", "season", "table.csv"]
    assert list((home / "elsewhere").iterdir()) == []
