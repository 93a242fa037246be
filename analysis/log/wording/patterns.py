"""Owns the regular expressions of a boat.toml: which are refused, and their use within a time."""

from __future__ import annotations

import math
import re
import time
from collections.abc import Collection, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.errors import LogError

if TYPE_CHECKING:
    import regex

    from analysis.log.wording.toml_keys import TomlKeys

MOST_REPEATS = 1000
"""Product of the numbers in braces of a pattern: one that repeats more often fills the memory."""
LONGEST_S = 0.5
"""A pattern that takes longer over a column has no end: it tries the same letters over and over."""
_REPEATS = re.compile(r"\{\s*(\d*)\s*,?\s*(\d*)\s*\}")


def read_pattern(
    keys: TomlKeys, where: str, text: object, known: Collection[str]
) -> regex.Pattern[str]:
    """Read one pattern, whose named groups must be columns of ours.

    Parameters
    ----------
    keys : analysis.log.wording.toml_keys.TomlKeys
    where : str
        The key that it stands behind.
    text : object
        What stands there.
    known : collection of str
        The columns that its groups may name.

    Raises
    ------
    LogError
    """
    import regex  # for the few logs that have patterns

    if isinstance(text, str) and _repeats(text) > MOST_REPEATS:
        msg = f"this pattern repeats its parts more than {MOST_REPEATS} times"
        raise keys.fail(msg, where, "write + or * in place of large numbers in braces", text)
    try:
        pattern = regex.compile(text)
    except (regex.error, TypeError) as error:
        msg = f"this is no regular expression ({error})"
        remedy = "write it in single quotation marks, with groups such as (?P<gear>[a-z]+)"
        raise keys.fail(msg, where, remedy, text) from error
    stray = [group for group in pattern.groupindex if group not in known]
    if stray or not pattern.groupindex:
        msg = f"its group {stray[0]} is no column of ours" if stray else "it has no group"
        remedy = f"name the groups after columns, as (?P<{[*known][1]}>...)"
        raise keys.fail(msg, where, remedy, text)
    return pattern


def _repeats(pattern: str) -> int:
    """Return how often the innermost part of a pattern may be repeated by numbers in braces.

    Examples
    --------
    >>> _repeats("[0-9]{1,3}"), _repeats("((a{9}){9,}){1,9}"), _repeats("[0-9]+")
    (3, 729, 1)
    """
    numbers = (max(int(low or 1), int(high or 1)) for low, high in _REPEATS.findall(pattern))
    return math.prod(max(number, 1) for number in numbers)


def split_words(
    pattern: regex.Pattern[str], words: Iterable[str], file: Path, key: str
) -> dict[str, dict[str, str] | None]:
    """Split each distinct word by a pattern; None for one that it does not fit.

    Parameters
    ----------
    pattern : regex.Pattern
    words : iterable of str
    file : pathlib.Path
        The boat.toml that has the pattern.
    key : str
        Where in it.

    Returns
    -------
    dict
        Word -> (our column -> its part, stripped, empty where the pattern leaves it out).

    Raises
    ------
    LogError
        Where that takes longer than `LONGEST_S`.
    """
    until = time.monotonic() + LONGEST_S
    found: dict[str, dict[str, str] | None] = {}
    try:
        for word in dict.fromkeys(words):
            match = pattern.fullmatch(word, timeout=max(until - time.monotonic(), 1e-3))
            found[word] = match and {
                group: (match[group] or "").strip() for group in pattern.groupindex
            }
    except TimeoutError as error:
        msg = f"this pattern is not done with the column after {LONGEST_S:g} s"
        remedy = "write it without a repeated group of repeated letters, such as (a+)+"
        raise LogError(msg, file=file, key=key, value=pattern.pattern, remedy=remedy) from error
    return found
