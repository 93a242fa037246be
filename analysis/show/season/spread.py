"""Owns the part of the review on next season's starting spread: boat by boat, to set and to see."""

from dataclasses import replace

import pandas as pd
from markupsafe import Markup

from analysis import labels
from analysis.result_rows import PlannedRod, records
from analysis.show.base.folds import folded
from analysis.show.base.html import Fragment, paragraph
from analysis.show.base.pictures import picture
from analysis.show.season.alt_text import planned_spread as described
from analysis.show.season.gear_figures import planned_spread
from analysis.show.season.tables import clearance as clearance_table
from analysis.show.season.tables import plan as plan_table
from analysis.units import UNITS, Units

_HEIGHT_IN = 4.7


def of_boats(
    plan: pd.DataFrame, clearance: pd.DataFrame
) -> list[tuple[str, pd.DataFrame, pd.DataFrame]]:
    """Return each boat's name, plan and clearances, in the order of the plan.

    Parameters
    ----------
    plan, clearance : pandas.DataFrame
        The result tables of these names.
    """
    if plan.empty:
        return []
    found = []
    for boat, rows in plan.groupby("boat", sort=False):
        near = clearance if clearance.empty else clearance[clearance["boat"] == boat]
        found.append((str(boat), rows, near))
    return found


def heading(boat: str, period: str) -> str:
    """Name a boat's plan with the period it is for.

    Examples
    --------
    >>> heading("Dunlin", "2026-06")
    'Dunlin, to start in June'
    >>> heading("Dunlin", "season")
    'Dunlin, to start with'
    """
    if period == "season":
        return f"{boat}, to start with"
    return f"{boat}, to start in {labels.month(period)}"


def own_units(rod: PlannedRod, units: Units) -> Units:
    """Return the units with length and depth as the boat of a plan writes them.

    Parameters
    ----------
    rod : PlannedRod
        Any rod of the boat's plan.
    units : Units
        Units of the review.
    """
    own = {"length": rod.unit, "depth": rod.depth_unit}
    return replace(units, **{name: unit for name, unit in own.items() if unit in UNITS[name]})


def starting_spreads(plan: pd.DataFrame, clearance: pd.DataFrame, units: Units) -> Fragment:
    """Show every boat's starting spread: what to set, where it runs, what may tangle.

    Parameters
    ----------
    plan, clearance : pandas.DataFrame
        The result tables of these names.
    units : Units
        Units of the review; depths and distances of a boat's spread are in its own.
    """
    boats = of_boats(plan, clearance)
    if not boats:
        return paragraph("No spread could be planned: the log names no depth to cover.", "absent")
    parts: list[Markup] = []
    for boat, rows, near in boats:
        rod = records(PlannedRod, rows)[0]
        own = own_units(rod, units)
        parts += [
            Markup("<h3>{}</h3>").format(heading(boat, rod.period)),
            plan_table(rows, own).html,
            picture(
                planned_spread,
                rows,
                near,
                own,
                height_in=_HEIGHT_IN,
                told=described(rows, near, own),
            ).html,
            folded("How near the lines come", clearance_table(near, own)).html,
        ]
    return Fragment(Markup("\n").join(parts))
