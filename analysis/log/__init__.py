"""Read a season folder and vet it: clean tables in SI, and what was set aside."""

from typing import TYPE_CHECKING, Any

from analysis.lazily import fetch

if TYPE_CHECKING:
    from analysis.log.boat import Boat
    from analysis.log.read import SeasonLog, read_log

__all__ = ["Boat", "SeasonLog", "read_log"]


def __getattr__(name: str) -> Any:
    """Import what is asked for: its smaller modules need no reader of logs."""
    return fetch(__name__, {"Boat": "boat", "SeasonLog": "read", "read_log": "read"}, name)
