"""Owns what a review holds beside its page: what cards rest on, and cards to print."""

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
from matplotlib.figure import Figure

from analysis.report.card.months import write_month_sheets
from analysis.report.card.stored_fit import Waters, fit_of, species_of, stage_fit
from analysis.result_rows import PlannedRod, records
from analysis.show.base.printed import write_pages
from analysis.show.card.spread import SIZES_IN, spread_card
from analysis.show.season.spread import heading, of_boats, own_units
from analysis.units import Units

if TYPE_CHECKING:
    from analysis.season import Season


def write_others(season: "Season", folder: Path, *, with_fit: bool) -> None:
    """Write what the page does not show.

    Parameters
    ----------
    season : Season
    folder : Path
        A scratch folder.
    with_fit : bool
        Whether to write what cards rest on, and the sheet of cards for its months.
    """
    if with_fit:
        waters = Waters(season)
        fit = fit_of(season, waters)
        stage_fit(fit, folder)
        write_month_sheets(fit, species_of(season, waters), folder)
    _write_spread_cards(season, folder)


def _write_spread_cards(season: "Season", folder: Path) -> None:
    """Write the cards of the starting spreads: a file a paper, a page a boat."""
    tables = season.tables
    boats = of_boats(tables.get("plan", pd.DataFrame()), tables.get("clearance", pd.DataFrame()))
    if not boats:
        return
    units = Units(**season.summary["units"])
    for size in SIZES_IN:
        pages = (_spread_card(*boat, units, size) for boat in boats)
        write_pages(pages, folder / f"spread-card-{size}.pdf")


def _spread_card(
    boat: str, plan: pd.DataFrame, clearance: pd.DataFrame, units: Units, size: str
) -> Figure:
    """Draw the card of a boat's starting spread in its own units."""
    rod = records(PlannedRod, plan)[0]
    words = heading(boat, rod.period)
    return spread_card(plan, clearance, own_units(rod, units), heading=words, size=size)
