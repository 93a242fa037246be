"""Owns the store of what was worked out before, by a fingerprint of logs, wishes and program.

Nothing in it is needed: a folder that is deleted, full or read-only costs time alone.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from platformdirs import user_cache_path

from analysis.render.scratch import scratch_folder
from analysis.report.fingerprints import digest, program_digest
from analysis.report.packed import UnreadableError, pack, unpack

FOLDER_VARIABLE = "RODHOURS_CACHE"
"""Environment variable that puts the store elsewhere."""
LEAST_S = 1.0
"""What took less is as quickly made again."""
MOST_FILES = 12
"""The oldest beyond these are removed: a club's season takes some 100 MB."""
_REFUSED = (
    "what was kept here cannot be read, so it is worked out and written anew. Nothing is lost."
)

Made = TypeVar("Made")


def store_folder() -> Path:
    """Return the folder of the store: the user's own cache, or where `FOLDER_VARIABLE` says."""
    named = os.environ.get(FOLDER_VARIABLE)
    return Path(named) if named else user_cache_path("rodhours", appauthor=False)


def fingerprint(folders: Sequence[Path]) -> str:
    """Return what tells these logs, as they are now, and this program from all others.

    It is taken before a log is read: what is worked out later is of the log as it was then, even
    if somebody has typed on since.
    """
    return digest([program_digest(), *map(_content, folders)])


def reused(what: str, logs: str, wishes: str, kind: type[Made], make: Callable[[], Made]) -> Made:
    """Return what was made of the same logs, wishes and program before, or make it.

    A file of the store that is damaged or not of our making is told of, and what it should hold is
    made anew.

    Parameters
    ----------
    what : str
        Which step this is.
    logs : str
        Their `fingerprint`: their files' content counts, and where they lie.
    wishes : str
        Everything else that the result depends on.
    kind : type
        Of the result, a dataclass that `analysis.report.packed` can write.
    make : callable
        Makes it where it is not there.
    """
    file = store_folder() / f"{_key(what, logs, wishes)}.season"
    try:
        found = unpack(file, kind)
        file.touch()
    except (OSError, UnreadableError) as error:
        if isinstance(error, UnreadableError) and file.is_file():
            print(f"{file}: {_REFUSED}", file=sys.stderr)
        began = time.monotonic()
        found = make()
        if time.monotonic() - began >= LEAST_S:
            _put_down(found, file)
    return found


def kept_folder(what: str, folders: Sequence[Path], wishes: str) -> Path:
    """Return the store's folder for files made of some logs, wishes and program; it may be new."""
    return store_folder() / _key(what, fingerprint(folders), wishes)


def _key(what: str, logs: str, wishes: str) -> str:
    return digest([what, wishes, logs])[:32]


def _content(folder: Path) -> str:
    """Return a fingerprint of a folder: where it lies and every file in it that is not hidden."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    named = [(path.relative_to(folder), path) for path in files]
    told = [
        (str(name), path.read_bytes())
        for name, path in named
        if not any(part.startswith(".") for part in name.parts)
    ]
    return digest([str(folder.resolve()), *(part for pair in told for part in pair)])


def _put_down(made: object, file: Path) -> None:
    """Write a result whole or not at all, and remove the oldest of many."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with scratch_folder(file.parent) as scratch:
            pack(made, scratch / file.name)
            (scratch / file.name).replace(file)
        by_age = sorted(file.parent.glob("*.season"), key=lambda path: path.stat().st_mtime)
        for old in by_age[:-MOST_FILES]:
            old.unlink(missing_ok=True)
    except (OSError, TypeError):  # no place for it, or no way to write it: it is made again
        return
