"""Count rod-hours: slices, strikes placed in them, what gaps cost."""

from typing import TYPE_CHECKING, Any

from analysis.lazily import fetch

if TYPE_CHECKING:
    from analysis.effort.count import Effort, count_effort
    from analysis.effort.gaps import Gap, coverage

__all__ = ["Effort", "Gap", "count_effort", "coverage"]


def __getattr__(name: str) -> Any:
    """Import what is asked for."""
    places = {"Effort": "count", "Gap": "gaps", "count_effort": "count", "coverage": "gaps"}
    return fetch(__name__, places, name)
