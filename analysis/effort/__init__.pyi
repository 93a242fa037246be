from .count import Effort, count_effort
from .gaps import Gap, coverage

__all__ = [
    "Effort",
    "Gap",
    "count_effort",
    "coverage",
]
