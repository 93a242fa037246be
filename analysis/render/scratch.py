"""Owns scratch folders: locked while their run lives, so that what a killed run left is known."""

import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

_PREFIX = ".rodhours-"
_HELD = ".held"
"""Ending of the lock beside a scratch folder; the system opens it when its run ends, however."""
COMMITTED = ".committed"
"""Name of the file that a scratch folder holds from the moment its files are to be moved on."""


@contextmanager
def scratch_folder(parent: Path) -> Iterator[Path]:
    """Give an empty folder that is removed on the way out.

    One that still has files to be moved on is left for `abandoned`.

    Parameters
    ----------
    parent : Path
        Where to make it.

    Yields
    ------
    Path
        An absolute path, so that it holds in any thread and any working folder.

    Raises
    ------
    OSError
        When it cannot be made.
    """
    folder = parent.absolute() / f"{_PREFIX}{secrets.token_hex(6)}"
    held = Path(f"{folder}{_HELD}")
    try:
        with FileLock(held):
            folder.mkdir(mode=0o700)
            try:
                yield folder
            finally:
                if not any(folder.rglob(COMMITTED)):
                    shutil.rmtree(folder, ignore_errors=True)
    finally:
        if not folder.exists():
            held.unlink(missing_ok=True)


def abandoned(parent: Path) -> Iterator[Path]:
    """Give each scratch folder whose run was killed, and remove it afterwards.

    Parameters
    ----------
    parent : Path
        Where they were made.

    Yields
    ------
    Path
        Nobody else has it meanwhile.
    """
    for held in sorted(parent.glob(f"{_PREFIX}*{_HELD}")):
        folder = held.with_suffix("")
        try:
            with FileLock(held, timeout=0):
                if folder.is_dir():
                    yield folder
                shutil.rmtree(folder, ignore_errors=True)
        except (Timeout, OSError):
            continue  # its run lives, or it is another user's
        held.unlink(missing_ok=True)
