"""Pictures, tables and sentences from frames."""

from analysis.show import week
from analysis.show.base import rows
from analysis.show.base.html import Fragment, Told, figure, height_of, picture
from analysis.show.season import (
    alt_text,
    course_figures,
    data_tables,
    figures,
    gear_figures,
    gear_tables,
    spread,
    step_tables,
    tables,
    words,
)

__all__ = [
    "Fragment",
    "Told",
    "alt_text",
    "course_figures",
    "data_tables",
    "figure",
    "figures",
    "gear_figures",
    "gear_tables",
    "height_of",
    "picture",
    "rows",
    "spread",
    "step_tables",
    "tables",
    "week",
    "words",
]
