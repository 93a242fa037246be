"""Owns fingerprints of logs and of the program: what was made of the same with the same is kept."""

import hashlib
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from pathlib import Path

import analysis
from analysis.errors import LogError
from analysis.log.files.content import content_of

PACKAGE = Path(analysis.__file__).parent
_OF_A_LOG = (".toml", ".csv", ".xlsx", ".ods")
_RECORDED = ("loggers", "tracks")
"""Folders of which every file is of the log."""
_SOURCES = (".py", ".ipynb", ".j2", ".css", ".json", ".md")


def digest(parts: Iterable[bytes | str]) -> str:
    """Return one SHA-256 of several parts, each kept apart from the next."""
    whole = hashlib.sha256()
    for part in parts:
        raw = part.encode() if isinstance(part, str) else part
        whole.update(len(raw).to_bytes(8, "big") + raw)
    return whole.hexdigest()


def inputs_digest(folders: Sequence[Path]) -> str:
    """Return one fingerprint of all logs; their order and their folders' names do not matter.

    A log that cannot be read has a fingerprint too, which no log that can be read shares: reading
    it says in better words what is wrong.
    """
    logs = []
    for folder in folders:
        try:
            within = sorted(folder.iterdir())
            mine = [path for path in within if path.suffix.casefold() in _OF_A_LOG]
            for path in within:
                if path.name.casefold() in _RECORDED and path.is_dir():
                    mine += sorted(path.iterdir())
            parts = ((path.relative_to(folder).as_posix(), content_of(path)) for path in mine)
            logs.append(digest(part for pair in parts for part in pair))
        except (OSError, LogError) as error:
            logs.append(digest([str(folder), str(error)]))
    return digest(sorted(logs))


def program_digest(*more: Path) -> str:
    """Return a fingerprint of the program: its version, its every file, and such as a notebook."""
    files = [*more, *sorted(path for path in PACKAGE.rglob("*") if path.is_file())]
    sources = [path for path in files if path.suffix in _SOURCES]
    return digest([version("rodhours"), *(path.read_bytes() for path in sources)])
