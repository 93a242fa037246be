"""The workbook: a season opened to be asked, in Python, in notebooks and by controls."""

from typing import TYPE_CHECKING, Any

from analysis.lazily import fetch

if TYPE_CHECKING:
    from analysis.workbook.opening import example, open_season
    from analysis.workbook.season import Season

__all__ = ["Season", "example", "open_season"]


def __getattr__(name: str) -> Any:
    """Import what is asked for: a notebook that only shows results needs no analysis."""
    places = {"example": "opening", "open_season": "opening", "Season": "season"}
    return fetch(__name__, places, name)
