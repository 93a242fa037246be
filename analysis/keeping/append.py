"""Owns the adding of rows to a log's own CSV: whole or not at all, and taken back alone."""

import csv
import io
import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from filelock import FileLock, Timeout

from analysis.errors import LogError
from analysis.log.files.content import content_of
from analysis.log.files.dialect import decode

COPIES = ".before"
"""Folder beside the tables that keeps each file as it was before a window first wrote to it."""
_LOCK = ".rodhours.lock"
_PATIENCE_S = 10.0


@dataclass(frozen=True, kw_only=True)
class Added:
    """One row that was added, to be taken back."""

    file: Path
    text: str


class Appender:
    """Adds rows to the tables of one season folder, and takes back its own.

    Parameters
    ----------
    folder : Path
        The season folder.
    now : datetime
        Names the copies of the files as they were.
    """

    def __init__(self, folder: Path, now: datetime) -> None:
        self.folder = folder
        self.stamp = now.strftime("%Y-%m-%d %H.%M.%S")
        self._copied: set[Path] = set()

    def append(self, file: Path, row: Mapping[str, str], renames: Mapping[str, str]) -> Added:
        """Add a row under the file's own headings.

        Parameters
        ----------
        file : Path
            A table of the folder.
        row : mapping
            Our column -> text; an empty one need not have a heading.
        renames : mapping
            The boat's own headings -> ours.

        Raises
        ------
        LogError
            Where the file lacks a heading for something typed, or cannot be written.
        """
        with self._alone(file):
            content = content_of(file)
            text = decode(content, file)
            header = next(csv.reader(io.StringIO(text, newline="")), [])
            ours = {heading.casefold(): name for heading, name in renames.items()}
            names = [ours.get(cell.strip().casefold(), cell.strip().casefold()) for cell in header]
            homeless = [name for name, cell in row.items() if cell and name not in names]
            if homeless:
                msg = f"this table has no column {homeless[0]}"
                remedy = f"add the heading {homeless[0]} at the end of its first line"
                raise LogError(msg, file=file, row=1, column=homeless[0], remedy=remedy)
            end = "\r\n" if "\r\n" in text else "\n"
            out = io.StringIO()
            csv.writer(out, lineterminator=end).writerow([row.get(name, "") for name in names])
            joint = b"" if not content or content.endswith(b"\n") else end.encode()
            self._copy(file, content)
            _replace(file, content + joint + out.getvalue().encode("utf-8"))
        return Added(file=file, text=out.getvalue())

    def take_back(self, added: Added) -> None:
        """Remove a row that was added, and nothing that others added since.

        Raises
        ------
        LogError
            Where the row is not there any more as it was written.
        """
        with self._alone(added.file):
            content = content_of(added.file)
            line = added.text.encode("utf-8")
            before, found, after = content.rpartition(line)
            if not found or not before.endswith(b"\n"):
                msg = "the row is not there any more as it was written: nothing was taken back"
                remedy = "open the file and look for it by hand"
                raise LogError(msg, file=added.file, value=added.text.strip(), remedy=remedy)
            _replace(added.file, before + after)

    @contextmanager
    def _alone(self, file: Path) -> Iterator[None]:
        """Keep other windows from writing to the folder meanwhile."""
        try:
            with FileLock(self.folder / _LOCK, timeout=_PATIENCE_S):
                yield
        except Timeout as error:
            msg = "another window is writing to this season and does not end; nothing was written"
            raise LogError(msg, file=file, remedy="close the other window, try again") from error
        except OSError as error:
            msg = f"this file cannot be written to ({error.strerror}); it is as it was"
            raise LogError(msg, file=file, remedy="close it in other programs") from error

    def _copy(self, file: Path, content: bytes) -> None:
        """Keep the file as it was before this window first wrote to it."""
        if file in self._copied:
            return
        place = self.folder / COPIES
        place.mkdir(exist_ok=True)
        copy = place / f"{file.stem} {self.stamp}{file.suffix}"
        if not copy.exists():  # that of a window opened in the same second is as good
            copy.write_bytes(content)
        self._copied.add(file)


def _replace(file: Path, content: bytes) -> None:
    """Put a whole new file in the place of an old one: after a crash it is one or the other."""
    handle, name = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as opened:
            opened.write(content)
            opened.flush()
            os.fsync(opened.fileno())
        Path(name).chmod(file.stat().st_mode)
        Path(name).replace(file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
