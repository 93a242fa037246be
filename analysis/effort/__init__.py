"""Count rod-hours: slices, strikes placed in them, temperatures there, what gaps cost."""

from analysis.effort.count import Effort, count_effort
from analysis.effort.gaps import Gap, coverage
from analysis.effort.temperature import Reach, TemperatureField

__all__ = ["Effort", "Gap", "Reach", "TemperatureField", "count_effort", "coverage"]
