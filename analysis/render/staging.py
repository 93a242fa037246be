"""Owns putting files in place: a reader sees the old file or the new one, never half of one."""

import errno
import os
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from analysis.errors import RodhoursError
from analysis.render.scratch import COMMITTED, abandoned, scratch_folder


class WriteError(RodhoursError):
    """A report or result that could not be written; what was there before is untouched."""


def _reason(error: OSError) -> str:
    """Return the system's own words for an error, without the path that our message names."""
    return (error.strerror or type(error).__name__).lower()


def _not_begun(error: OSError, folder: Path) -> WriteError:
    """Say that a folder cannot be written to."""
    return WriteError(
        f"cannot write into {folder}: {_reason(error)}. Nothing was changed. "
        "Remedy: choose another folder with --out, or make this one writable."
    )


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
    kept = "What was there before is still there"
    if any(scratch.rglob(COMMITTED)):
        kept = "Some files are new; the next run that writes there replaces the others"
    return WriteError(f"could not finish writing into {folder}: {what}. {kept}. Remedy: {remedy}.")


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
        stack = ExitStack()
        scratch = stack.enter_context(scratch_folder(folder))
    except OSError as error:
        raise _not_begun(error, folder) from error
    with stack:
        try:
            yield scratch
        except OSError as error:
            raise _unfinished(error, folder, scratch) from error


def put_in_place(scratch: Path, folder: Path, gone: Sequence[str] = ()) -> list[Path]:
    """Move every file under `scratch` to the same place under `folder`, all or none of them.

    All contents are on disk before the first rename, and so is the word that they are to be
    moved: what a crash leaves unmoved, `only_run` moves before anything else is done there.

    Parameters
    ----------
    scratch : Path
        A folder from `staging`, or one in it.
    folder : Path
        Where the files go; older files of the same names are replaced.
    gone : sequence of str
        Names of older files, seen from `folder`, that go at the same time.

    Returns
    -------
    list of Path
        The files now in place, those that tell what the others were made of (JSON) last.
    """
    for source in scratch.rglob("*"):
        if source.is_file():
            with source.open("rb") as file:
                os.fsync(file.fileno())
    draft = scratch / f"{COMMITTED}.draft"
    with draft.open("w", encoding="utf-8") as file:
        file.write("\n".join(gone))
        file.flush()
        os.fsync(file.fileno())
    draft.replace(scratch / COMMITTED)
    return _move(scratch, folder)


def _move(scratch: Path, folder: Path) -> list[Path]:
    """Move what is committed, or what is left of it."""
    word = scratch / COMMITTED
    gone = word.read_text(encoding="utf-8").splitlines()
    sources = [path for path in scratch.rglob("*") if path.is_file() and path != word]
    placed = []
    for source in sorted(sources, key=lambda path: (path.suffix == ".json", path)):
        target = folder / source.relative_to(scratch)
        target.parent.mkdir(parents=True, exist_ok=True)
        source.replace(target)
        placed.append(target)
    for name in gone:
        (folder / name).unlink(missing_ok=True)
    word.unlink()
    return placed


def sweep(folder: Path) -> None:
    """Finish what killed runs had begun to move into a folder, and remove what else they left.

    In the temporary folder, too.

    Raises
    ------
    WriteError
        When a file cannot be moved; it is kept for the next time.
    """
    try:
        for scratch in abandoned(folder):
            for word in scratch.rglob(COMMITTED):
                _move(word.parent, folder)
    except OSError as error:
        raise _not_begun(error, folder) from error
    for _ in abandoned(Path(tempfile.gettempdir())):
        pass  # nothing there is worth keeping


@contextmanager
def only_run(folder: Path, name: str) -> Iterator[None]:
    """Hold the lock of one report, so that two runs never write it at once.

    What killed runs left is swept first.

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
        raise _not_begun(error, folder) from error
    try:
        sweep(folder)
        yield
    finally:
        lock.release()
