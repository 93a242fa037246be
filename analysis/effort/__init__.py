"""Count rod-hours: slices, strikes placed in them, what gaps cost."""

from analysis.effort.count import Effort, count_effort
from analysis.effort.gaps import Gap, coverage

__all__ = ["Effort", "Gap", "count_effort", "coverage"]
