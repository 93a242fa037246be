"""Owns the sheet of a boat's month cards that stands beside a review."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from analysis.rates.standardised import SEASON
from analysis.report.card.stored_fit import StoredFit
from analysis.show.card.month_sheet import MonthSheet, write_sheets
from analysis.show.card.text import CardText
from analysis.show.card.words import month_text, sheet_words
from analysis.spread.basis import Basis
from analysis.spread.card import make_card

MIDDLE_DAY = 15
"""Of a month, whose water stands on its card."""
MOST_MONTHS = 8


def write_month_sheets(fit: StoredFit, species: Sequence[Basis], file: Path) -> None:
    """Write the months of the latest season, a page a boat and species.

    Parameters
    ----------
    fit : StoredFit
    species : sequence of Basis
        Of `species_of`; each gets a page after its boat's for all species together.
    file : Path
        A PDF; there is none where no month can be told.
    """
    latest = max((basis.season for basis in fit.boats), default=0)
    sheets = [
        MonthSheet(heading=heading, note=note, cards=cards)
        for boat in fit.boats
        if boat.season == latest
        for own in [[one for one in species if one.boat == boat.boat]]
        for basis in (boat, *own)
        if (cards := month_cards(basis))
        for heading, note in [sheet_words(basis, [one.species for one in own])]
    ]
    if sheets:
        write_sheets(sheets, file)


def month_cards(basis: Basis) -> list[CardText]:
    """Return the card of each month in which a depth could be judged."""
    found = []
    for period in basis.periods:
        if period.name == SEASON or not period.judged.any() or period.curve is None:
            continue
        day = date(int(period.name[:4]), int(period.name[5:7]), MIDDLE_DAY)
        known = basis.water
        water = None if known is None else known.on((day - date(1970, 1, 1)).days)
        card = make_card(basis, day, water, period=period.name, tangles=False)  # no room for them
        found.append(month_text(card))
    return found[:MOST_MONTHS]
