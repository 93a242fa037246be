"""Owns which files of a folder are a card's: what else has their names is never written over."""

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

from analysis.errors import UsageError
from analysis.render.staging import WriteError

WRITTEN = ".card-files.json"
"""Hidden file beside a card: the SHA-256 of each of its files."""


def remember(folder: Path, names: Sequence[str]) -> None:
    """Write down what a card's files are, to be put in place with them."""
    found = {name: _digest(folder / name) for name in names}
    (folder / WRITTEN).write_text(json.dumps(found), encoding="utf-8")


def refuse_to_replace(folder: Path, names: Sequence[str]) -> None:
    """Refuse a folder whose files a card would write over, or that is a log's.

    Raises
    ------
    UsageError
        For a season folder, whose tables alone belong there.
    WriteError
        Where a file of these names is no card's, or was changed since it was written.
    """
    if (folder / "boat.toml").exists():
        msg = (
            f"{folder} is a season folder, and a card in it would be taken for a part of the log. "
            "Remedy: choose another folder with --out."
        )
        raise UsageError(msg)
    try:
        written = dict(json.loads((folder / WRITTEN).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        written = {}
    for name in names:
        file = folder / name
        if file.is_file() and _digest(file) != written.get(name):
            msg = (
                f"{file} is no card's, or was changed since: a card would write over it. Nothing "
                "was changed. Remedy: rename it, or choose another folder with --out."
            )
            raise WriteError(msg)


def _digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()
