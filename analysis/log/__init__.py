"""Read a season folder and vet it: clean tables in SI, and what was set aside."""

from analysis.log.boat import Boat
from analysis.log.read import SeasonLog, read_log

__all__ = ["Boat", "SeasonLog", "read_log"]
