"""Owns the sheet of a boat's month cards that stands beside a review."""

from datetime import date
from pathlib import Path

from matplotlib.backends.backend_pdf import PdfPages

from analysis.rates.standardised import SEASON
from analysis.report.card.stored_fit import StoredFit
from analysis.show.card.paper import SHEETS_IN, month_sheet
from analysis.show.card.text import CardText
from analysis.show.card.words import month_text
from analysis.spread.basis import Basis
from analysis.spread.card import make_card

MIDDLE_DAY = 15
"""Of a month, whose water stands on its card."""
MOST_MONTHS = 8


def write_month_sheets(fit: StoredFit, folder: Path) -> None:
    """Write the months of the latest season: a file a size of paper, a page a boat.

    Parameters
    ----------
    fit : StoredFit
    folder : Path
        A scratch folder; it gets no file where no month can be told.
    """
    latest = max((basis.season for basis in fit.boats), default=0)
    sheets = [
        cards for basis in fit.boats if basis.season == latest and (cards := month_cards(basis))
    ]
    if not sheets:
        return
    for size in SHEETS_IN:
        with PdfPages(folder / f"month-cards-{size}.pdf", metadata={"CreationDate": None}) as pdf:
            for cards in sheets:
                pdf.savefig(month_sheet(cards, size=size))


def month_cards(basis: Basis) -> list[CardText]:
    """Return the card of each month in which a depth could be judged."""
    found = []
    for period in basis.periods:
        if period.name == SEASON or not period.judged.any() or period.curve is None:
            continue
        day = date(int(period.name[:4]), int(period.name[5:7]), MIDDLE_DAY)
        known = basis.water
        water = None if known is None else known.on((day - date(1970, 1, 1)).days)
        found.append(month_text(make_card(basis, day, water, period=period.name)))
    return found[:MOST_MONTHS]
