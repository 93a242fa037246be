"""Owns what a file holds, as bytes: whatever is no ordinary file, or far too large, is refused."""

import codecs
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from analysis.errors import LogError

MAY_READ = "check that it is a file you may read"
MOST_BYTES = 600_000_000
"""A table with more is refused: no season is as large, and it would fill the memory."""
LARGE_BYTES = 40_000_000
"""A file with more is looked through before it is read whole, and a table must be plain: row by
row it would fill the memory."""
_PIECE = 1 << 20
_WIDE = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE)


def refuse_holes(file: Path) -> None:
    """Refuse a large file with zero bytes before it is read whole; UTF-16 has them by right.

    Raises
    ------
    LogError
    OSError
    """
    if file.stat().st_size <= LARGE_BYTES:
        return
    with file.open("rb") as stream:
        piece = stream.read(_PIECE)
        zeros = [piece[at:1000:2].count(0) for at in (0, 1)]
        # of Latin letters as pairs of bytes one is zero, and always the same one
        if piece.startswith(_WIDE) or (max(zeros) > 0 and min(zeros) == 0):
            return
        while piece:
            if b"\0" in piece:
                msg = "this file is not text: it holds bytes that no text has"
                raise LogError(msg, file=file, remedy="save it again as CSV (UTF-8)")
            piece = stream.read(_PIECE)


def refuse_odd_file(file: Path) -> None:
    """Refuse what is no ordinary file: to read it might never end.

    Raises
    ------
    LogError
        For a folder, a pipe or a device.
    OSError
        Where there is no such file, or it may not be looked at.
    """
    if not stat.S_ISREG(file.stat().st_mode):
        msg = "this file cannot be read (it is a folder, a pipe or a device)"
        raise LogError(msg, file=file, remedy="put an ordinary file in its place")


def content_of(
    file: Path,
    remedy: str = MAY_READ,
    most: int = MOST_BYTES,
    look: Callable[[Path], None] = refuse_holes,
) -> bytes:
    """Return what a file holds; `look` may refuse it before it is read whole.

    Raises
    ------
    LogError
        For a file that cannot be read, is none, or is far too large.
    """
    with readable(file, remedy):
        refuse_too_large(file, most)
        look(file)
        return file.read_bytes()


@contextmanager
def readable(file: Path, remedy: str = MAY_READ) -> Iterator[None]:
    """Say of what the system refuses to read that it cannot be read.

    Raises
    ------
    LogError
    """
    try:
        yield
    except OSError as error:
        msg = f"this file cannot be read ({error.strerror})"
        raise LogError(msg, file=file, remedy=remedy) from error


def refuse_too_large(file: Path, most: int = MOST_BYTES) -> None:
    """Refuse what is no ordinary file, or larger than any season.

    Raises
    ------
    LogError
    OSError
        Where there is no such file, or it may not be looked at.
    """
    refuse_odd_file(file)
    size = file.stat().st_size
    if size > most:
        msg = f"this file holds {size / 1e6:.0f} MB, and no season is as large"
        raise LogError(msg, file=file, remedy="keep only the rows of the season in it")
