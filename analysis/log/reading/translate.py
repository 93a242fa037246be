"""Owns the order in which a log's text is brought into ours: cells, words, numbers, times."""

from collections.abc import Mapping

from analysis.log.boat import Boat
from analysis.log.files.tables import TextTable
from analysis.log.reading.draft import Draft
from analysis.log.reading.mapping import map_cells
from analysis.log.reading.moments import read_moments
from analysis.log.reading.numbers import read_numbers
from analysis.log.reading.two_columns import join_dates
from analysis.log.reading.words import read_words


def translate(
    tables: Mapping[str, TextTable], boat: Boat
) -> tuple[dict[str, TextTable], list[str]]:
    """Bring the text of a log's tables into the text that a log of ours has.

    What the boat's own words say is put in their place; what can be read in one way only is read
    so, and listed; what can be read in two ways is set aside with both, or asked.

    Parameters
    ----------
    tables : mapping
        Name -> table as the files have it.
    boat : analysis.log.boat.Boat

    Returns
    -------
    tables : dict
        The same tables in our words, with what was done to which cell.
    notes : list of str
        What was decided for whole columns.

    Raises
    ------
    LogError
        Where the cells of a column can be read in two ways.
    """
    drafts = [Draft.of(table) for table in tables.values()]
    notes: list[str] = []
    for draft in drafts:
        map_cells(draft, boat.wording)
    read_words(drafts, boat.wording, boat.gears)
    for draft in drafts:
        notes += read_numbers(draft, boat.wording, boat.units)
    notes += join_dates(drafts)
    notes += read_moments(drafts, boat.wording)
    return {draft.name: draft.done() for draft in drafts}, notes
