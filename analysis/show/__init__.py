"""Pictures, tables and sentences from frames; each is imported when it is first asked for."""

from importlib import import_module
from typing import Any

_ROOMS = {
    **dict.fromkeys(("week",), "analysis.show"),
    **dict.fromkeys(("rows",), "analysis.show.base"),
    **dict.fromkeys(("day_figures", "pictured", "water_figures"), "analysis.show.course"),
    **dict.fromkeys(
        (
            *("alt_text", "course_figures", "data_tables", "figures", "first_screen"),
            *("gear_figures", "gear_tables", "spread", "step_tables", "tables", "words"),
        ),
        "analysis.show.season",
    ),
}
"""Module -> the package it stands in."""
_NAMES = {
    "Fragment": "html",
    "beside": "folds",
    "folded": "folds",
    "together": "folds",
    "Told": "html",
    "figure": "pictures",
    "height_of": "pictures",
    "picture": "pictures",
}
"""Class or function -> the module of `analysis.show.base` it stands in."""

__all__ = sorted([*_ROOMS, *_NAMES])


def __getattr__(name: str) -> Any:
    """Import what notebooks name, so that a command that shows no picture needs no matplotlib."""
    if name in _NAMES:
        return getattr(import_module(f"analysis.show.base.{_NAMES[name]}"), name)
    if name in _ROOMS:
        return import_module(f"{_ROOMS[name]}.{name}")
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)
