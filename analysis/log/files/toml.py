"""Owns the way from the text of a boat.toml to its keys: one made to be endless is refused."""

import re
import tomllib
from pathlib import Path
from typing import Any

from analysis.errors import LogError

MOST_CHARACTERS = 500_000
"""A boat.toml with more is refused: it says what a page or two can say."""
_MOST_DOTS = 200
_TOO_DEEP = "this file nests its tables too deep"
_FLATTEN = "write each table under a heading of its own, such as [gear.diver]"


def toml_of(text: str, file: Path, remedy: str) -> dict[str, Any]:
    """Read the text of a boat.toml.

    Parameters
    ----------
    text : str
    file : pathlib.Path
        Where it was read.
    remedy : str
        What to do where it is no TOML.

    Raises
    ------
    LogError
        Naming the line, where it is no TOML, far too long, or nested beyond any use.
    """
    if len(text) > MOST_CHARACTERS:
        msg = f"this file has {len(text)} characters, and no boat.toml is as long"
        raise LogError(msg, file=file, remedy="keep in it only what is said of the boat")
    for row, line in enumerate(text.split("\n"), start=1):
        # the time that a key takes to read grows with the square of its parts
        if line.partition("#")[0].count(".") > _MOST_DOTS:
            raise LogError(_TOO_DEEP, file=file, row=row, remedy=_FLATTEN)
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError as error:
        raise LogError(_TOO_DEEP, file=file, remedy=_FLATTEN) from error
    except tomllib.TOMLDecodeError as error:
        line_of = re.search(r"line (\d+)", str(error))
        msg = f"this file cannot be read as TOML ({error})"
        at = int(line_of[1]) if line_of else None
        raise LogError(msg, file=file, row=at, remedy=remedy) from error
