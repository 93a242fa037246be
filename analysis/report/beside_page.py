"""Owns what a review holds beside its page: what cards rest on, and cards to print."""

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
from matplotlib.figure import Figure

from analysis.report.card.months import write_month_sheets
from analysis.report.card.stored_fit import Waters, fit_of, species_of, stage_fit
from analysis.result_rows import PlannedRod, records
from analysis.show.base.printed import write_pages
from analysis.show.card.spread import spread_card
from analysis.show.season.spread import heading, of_boats, own_units
from analysis.units import Units

if TYPE_CHECKING:
    from analysis.season import Season


def write_fit(season: "Season", folder: Path, month_cards: str) -> None:
    """Write what cards of a day rest on, and the sheets of cards for a season's months.

    Parameters
    ----------
    season : Season
    folder : Path
        A scratch folder.
    month_cards : str
        Name of the file of sheets.
    """
    waters = Waters(season)
    fit = fit_of(season, waters)
    stage_fit(fit, folder)
    write_month_sheets(fit, species_of(season, waters), folder / month_cards)


def write_spread_cards(season: "Season", size: str, file: Path) -> None:
    """Write the cards of the starting spreads for one paper, a page a boat; no file without any.

    Parameters
    ----------
    season : Season
    size : str
        A key of `CARD_SIZES_IN`.
    file : Path
    """
    tables = season.tables
    boats = of_boats(tables.get("plan", pd.DataFrame()), tables.get("clearance", pd.DataFrame()))
    if not boats:
        return
    units = Units(**season.summary["units"])
    write_pages((_spread_card(*boat, units, size) for boat in boats), file)


def _spread_card(
    boat: str, plan: pd.DataFrame, clearance: pd.DataFrame, units: Units, size: str
) -> Figure:
    """Draw the card of a boat's starting spread in its own units."""
    rod = records(PlannedRod, plan)[0]
    words = heading(boat, rod.period)
    return spread_card(plan, clearance, own_units(rod, units), heading=words, size=size)
