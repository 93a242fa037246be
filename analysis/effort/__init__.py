"""Count rod-hours: slices, strikes placed in them, temperatures there, what gaps cost."""

from analysis.effort.count import Effort, count_effort

__all__ = ["Effort", "count_effort"]
