"""Owns the errors a reader meets: each names the place, what is wrong there and the remedy."""

import json
import re
from pathlib import Path

SET_ASIDE_COLUMNS = ("table", "row", "column", "value", "reason", "remedy")
"""Columns of every list of rows set aside; ``row`` is the line of the file."""


def _sentence(place: str, problem: str, remedy: str) -> str:
    """Join place, problem and remedy so that the message reads as plain text."""
    end = "" if remedy.endswith((".", "?")) else "."
    return f"{place}: {problem.rstrip('.')}. Remedy: {remedy}{end}"


def toml_key(*names: str) -> str:
    """Write a dotted key of ``boat.toml`` as TOML takes it, quoting names where it must.

    >>> toml_key("gear", "lead core", "parts")
    'gear."lead core".parts'
    """
    bare = re.compile(r"[A-Za-z0-9_-]+")
    quoted = (json.dumps(name, ensure_ascii=False) for name in names)
    return ".".join(
        name if bare.fullmatch(name) else text for name, text in zip(names, quoted, strict=True)
    )


def toml_table(*names: str) -> str:
    """Write the heading of a table of ``boat.toml``.

    >>> toml_table("gear", "lead core")
    '[gear."lead core"]'
    """
    return f"[{toml_key(*names)}]"


class RodhoursError(Exception):
    """Anything that stops the work and that the person at the keyboard can put right."""

    def _render_traceback_(self) -> list[str]:
        """Return what a notebook shows of it: the message, and no lines of ours."""
        return [str(self)]


class UsageError(RodhoursError):
    """A wish that cannot be granted as it was typed; the command line exits with 2."""


class NameNotThereError(UsageError, AttributeError):
    """A name after a dot that nothing has; Python asks for an `AttributeError` there."""


def reason_of(error: Exception) -> str:
    """Say in one line what went wrong; of an error that nobody foresaw its kind, too."""
    return str(error) if isinstance(error, RodhoursError) else f"{type(error).__name__}: {error}"


class LogError(RodhoursError):
    """A season folder that cannot be read as a whole (single bad rows are set aside instead).

    Parameters
    ----------
    problem : str
        What was found, in plain words.
    file : path or str
        The file or folder at fault.
    remedy : str
        What to do about it.
    key : str, optional
        Key of ``boat.toml`` at fault, such as ``units.speed``.
    row : int, optional
        Line of the file at fault.
    column : str, optional
        Column at fault.
    value : object, optional
        The value found there.
    """

    def __init__(
        self,
        problem: str,
        *,
        file: Path | str,
        remedy: str,
        key: str | None = None,
        row: int | None = None,
        column: str | None = None,
        value: object = None,
    ) -> None:
        self.problem = problem
        self.file = str(file)
        self.key = key
        self.row = row
        self.column = column
        self.value = value
        self.remedy = remedy
        place = self.file
        for word, part in (("key", key), ("line", row), ("column", column)):
            if part is not None:
                place += f", {word} {part}"
        if value is not None:
            problem = f"{problem.rstrip('.')} (found {value!r})"
        super().__init__(_sentence(place, problem, remedy))


class GearError(RodhoursError):
    """A gear of ``boat.toml`` whose parameters cannot be used.

    Parameters
    ----------
    problem : str
        What was found, in plain words.
    key : str
        The key at fault, such as ``gear.diver.roll_deg``.
    remedy : str
        What to do about it.
    """

    def __init__(self, problem: str, *, key: str, remedy: str) -> None:
        self.problem = problem
        self.key = key
        self.remedy = remedy
        super().__init__(_sentence(f"key {key}", problem, remedy))


class FitError(RodhoursError):
    """A table that a catch-rate model cannot be fitted to: names what and the remedy."""
