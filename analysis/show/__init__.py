"""Pictures, tables and sentences from frames."""

from analysis.show import (
    data_tables,
    describe,
    figures,
    gear_figures,
    gear_tables,
    rows,
    season_figures,
    season_tables,
    spread,
    step_tables,
    week,
    words,
)
from analysis.show.fragments import Fragment, Told, figure, height_of, picture

__all__ = [
    "Fragment",
    "Told",
    "data_tables",
    "describe",
    "figure",
    "figures",
    "gear_figures",
    "gear_tables",
    "height_of",
    "picture",
    "rows",
    "season_figures",
    "season_tables",
    "spread",
    "step_tables",
    "week",
    "words",
]
