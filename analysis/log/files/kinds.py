"""Owns the table that holds every kind of row, a column of which tells the kinds apart."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from analysis.errors import LogError
from analysis.log.files.dialect import Record
from analysis.log.files.headings import Wanted
from analysis.log.files.tables import TextTable, is_example, table_of
from analysis.log.schema import TABLES
from analysis.log.wording.spelling import bare, surely


def kind_of(word: str, values: Mapping[str, str]) -> list[str]:
    """Return the tables that a word of the kinds' column can mean: one is certain.

    Examples
    --------
    >>> kind_of("Strike", {}), kind_of("Tur", {"tur": "trips"}), kind_of("weather", {})
    (['strikes'], ['trips'], [])
    """
    told = {bare(own): table for own, table in values.items()}
    if bare(word) in told:
        return [told[bare(word)]]
    return surely(word, TABLES) or [name for name in TABLES if bare(word) + "s" == name]


def split_kinds(
    records: list[Record],
    kind: str,
    values: Mapping[str, str],
    wanted: Callable[[str], Wanted],
    *,
    file: Path,
    sha256: str,
    sheet: bool,
    notes: Sequence[str] = (),
) -> dict[str, TextTable]:
    """Part the rows of one table by the column that tells their kinds.

    Parameters
    ----------
    records : list of Record
        The header and the rows.
    kind : str
        Heading of the column that tells the kinds apart.
    values : mapping
        The boat's words for our tables.
    wanted : callable
        Table -> what it should have.
    file : pathlib.Path
        Where it was read.
    sha256, sheet, notes
        See `analysis.log.files.tables.table_of`.

    Returns
    -------
    dict
        Each table has the headings that any of its rows fills, and those of its rods.

    Raises
    ------
    LogError
        Where the column is not there, or a word of it names no table, or two.
    """
    header = records[0][2] if records else []
    folded = [heading.casefold() for heading in header]
    if kind.casefold() not in folded:
        msg = f"there is no column {kind}, which tells the kinds of rows apart"
        remedy = "correct kind under [tables] in boat.toml"
        raise LogError(msg, file=file, row=records[0][0] if records else 1, remedy=remedy)
    at = folded.index(kind.casefold())
    parts: dict[str, list[Record]] = {}
    for first, last, cells in records[1:]:
        word = cells[at] if at < len(cells) else ""
        meant = kind_of(word, values)
        if is_example(cells):
            continue
        if len(meant) != 1:
            shown = " or ".join(meant) if meant else "none of our tables"
            msg = f"this kind of row may be {shown}"
            remedy = f'write "{word}" = "..." under [values.table] in boat.toml'
            raise LogError(msg, file=file, row=first, column=kind, value=word, remedy=remedy)
        parts.setdefault(meant[0], []).append((first, last, cells))
    tables = {}
    for name, rows in parts.items():
        of = wanted(name)
        rods = {heading.casefold() for heading in of.rods}
        filled = [
            i
            for i in range(len(header))
            if i != at
            and (folded[i] in rods or any(i < len(cells) and cells[i] for _, _, cells in rows))
        ]
        # what runs over the header stays, to be told as a row that has too many fields
        cut = [
            (
                first,
                last,
                [*(cells[i] if i < len(cells) else "" for i in filled), *cells[len(header) :]],
            )
            for first, last, cells in rows
        ]
        head = (records[0][0], records[0][1], [header[i] for i in filled])
        tables[name] = table_of(
            [head, *cut], name, of, file=file, sha256=sha256, sheet=sheet, notes=notes
        )
    return tables
