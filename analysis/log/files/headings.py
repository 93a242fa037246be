"""Owns the header of a table: which of its headings is which of our columns."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from analysis.errors import LogError
from analysis.log.wording.spelling import nearest
from analysis.log.wording.unit_words import split_heading

_GAP = re.compile(r"[\W_]+")
FIRST_ROWS = 12
"""Rows among which the header is looked for."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a table should have.

    Parameters
    ----------
    known : collection of str
        Our column names of this table.
    required : collection of str
        Those without which the table is of no use.
    renames : mapping
        The boat's own headings -> ours.
    generous : bool
        Whether spaces, dashes and a unit in a heading are read through.
    made : collection of str
        Columns that are made from others, and need no heading.
    rods : collection of str
        Headings of columns that are rods, which a table has although nothing stands below them.
    """

    known: Collection[str]
    required: Collection[str] = ()
    renames: Mapping[str, str]
    generous: bool = True
    made: Collection[str] = ()
    rods: Collection[str] = ()


def folded(heading: str) -> str:
    """Return what the spellings of one heading share.

    Examples
    --------
    >>> folded("Line-out"), folded("Time  In.")
    ('line_out', 'time_in')
    """
    return _GAP.sub("_", heading.casefold()).strip("_")


def our_names(header: list[str], wanted: Wanted, file: Path, row: int) -> list[str]:
    """Give each heading our name, keep the others, and refuse two of one known name.

    Raises
    ------
    LogError
        Where two headings are one column of ours.
    """
    ours = {heading.casefold(): name for heading, name in wanted.renames.items()}
    plain = {heading.casefold() for heading in header}
    names: dict[str, None] = {}
    for number, heading in enumerate(header, start=1):
        name = ours.get(heading.casefold()) or _ours(heading, wanted, plain, set(ours.values()))
        if name in wanted.known and name in names:
            msg = "two columns have this name"
            remedy = "rename or delete one, or correct [columns] in boat.toml"
            raise LogError(msg, file=file, row=row, column=name, remedy=remedy)
        name = name or f"column {number}"
        while name in names:
            name += " again"
        names[name] = None
    return list(names)


def _ours(heading: str, wanted: Wanted, plain: set[str], taken: set[str]) -> str:
    """Return the column of ours that a heading names by itself, or the heading."""
    if heading.casefold() in wanted.known:
        return heading.casefold()
    if wanted.generous:
        for name in (folded(heading), folded(split_heading(heading)[0])):
            # a heading that is exactly ours goes before one that is nearly
            if name in wanted.known and name not in plain and name not in taken:
                return name
    return heading


def header_at(rows: Sequence[list[str]], wanted: Wanted) -> int:
    """Return which of the first rows is the header: titles and notes may stand above it.

    It is the first with every column that nothing can be said without; where none has them, the
    first row, of which it is then said what it lacks.
    """
    ours = {heading.casefold(): name for heading, name in wanted.renames.items()}
    taken = set(ours.values())
    needed = set(wanted.required) - set(wanted.made)
    for at, row in enumerate(rows[:FIRST_ROWS]):
        plain = {heading.casefold() for heading in row}
        names = {ours.get(cell.casefold()) or _ours(cell, wanted, plain, taken) for cell in row}
        if names >= needed:
            return at
    return 0


def require(names: list[str], wanted: Wanted, table: str, file: Path, row: int) -> None:
    """Refuse a table that lacks a column nothing can be said without.

    Raises
    ------
    LogError
        Naming the column, and the heading most like it.
    """
    others = [name for name in names if name not in wanted.known]
    for column in wanted.required:
        if column in names or column in wanted.made:
            continue
        like = nearest(column, others)
        meant = f'if "{like}" is meant, ' if like else "if it has another heading, "
        shown = like or "your heading"
        remedy = f'add it; {meant}write "{shown}" = "{column}" under [columns.{table}] in boat.toml'
        msg = "this column is missing"
        raise LogError(msg, file=file, row=row, column=column, remedy=remedy)
