"""Owns putting files in place: a reader sees the old file or the new one, never half of one."""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from analysis.errors import RodhoursError


class WriteError(RodhoursError):
    """A report or result that could not be written; what was there before is untouched."""


def _reason(error: OSError) -> str:
    """Return the system's own words for an error, without the path that our message names."""
    return (error.strerror or type(error).__name__).lower()


def _unfinished(error: OSError, folder: Path, scratch: Path) -> WriteError:
    """Say why writing ended early, and what helps: space only where it is short."""
    what = _reason(error)
    # A file of the scratch folder means nothing to a reader; any other is where to look.
    if error.filename is not None and scratch not in Path(error.filename).absolute().parents:
        what += f" ({error.filename})"
    remedy = "make it readable and writable, or choose another folder with --out"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        remedy = "free some space or choose another folder with --out"
    elif isinstance(error, FileNotFoundError):
        remedy = "see that nothing moves or removes files there, and run it again"
    return WriteError(
        f"could not finish writing into {folder}: {what}. What was there before is still there. "
        f"Remedy: {remedy}."
    )


@contextmanager
def staging(folder: Path) -> Iterator[Path]:
    """Give a scratch folder inside `folder`, so that its files can be moved into place whole.

    Parameters
    ----------
    folder : Path
        Where the files will end; made if absent.

    Yields
    ------
    Path
        An empty folder on the same file system, removed on the way out; its path is absolute,
        so that it holds in any thread and any working folder.

    Raises
    ------
    WriteError
        When `folder` cannot be made or written to, or the disk is full.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=".rodhours-", dir=folder.absolute()))
    except OSError as error:
        msg = (
            f"cannot write into {folder}: {_reason(error)}. Nothing was changed. "
            "Remedy: choose another folder with --out, or make this one writable."
        )
        raise WriteError(msg) from error
    try:
        yield scratch
    except OSError as error:
        raise _unfinished(error, folder, scratch) from error
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def put_in_place(scratch: Path, folder: Path) -> list[Path]:
    """Move every file under `scratch` to the same place under `folder`, each by one rename.

    All contents are on disk before the first rename, so a crash leaves whole files only.

    Parameters
    ----------
    scratch : Path
        A folder from `staging`, on the same file system as `folder`.
    folder : Path
        Where the files go; older files of the same names are replaced.

    Returns
    -------
    list of Path
        The files now in place, in order of their names.
    """
    sources = sorted(path for path in scratch.rglob("*") if path.is_file())
    for source in sources:
        with source.open("rb") as file:
            os.fsync(file.fileno())
    placed = []
    for source in sources:
        target = folder / source.relative_to(scratch)
        target.parent.mkdir(parents=True, exist_ok=True)
        source.replace(target)
        placed.append(target)
    return placed


@contextmanager
def only_run(folder: Path, name: str) -> Iterator[None]:
    """Hold the lock of one report, so that two runs never write it at once.

    Parameters
    ----------
    folder : Path
        The folder the report goes to; made if absent.
    name : str
        The report's name; another name in the same folder has its own lock.

    Raises
    ------
    WriteError
        When another run holds the lock, or the folder cannot be written to.
    """
    lock = FileLock(folder / f".{name}.lock", timeout=0)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire()
    except Timeout as error:
        msg = (
            f"another run is writing {name} in {folder} now. "
            "Remedy: try again when it has ended, or choose another folder with --out."
        )
        raise WriteError(msg) from error
    except OSError as error:
        msg = (
            f"cannot write into {folder}: {_reason(error)}. Nothing was changed. "
            "Remedy: choose another folder with --out, or make this one writable."
        )
        raise WriteError(msg) from error
    try:
        yield
    finally:
        lock.release()
