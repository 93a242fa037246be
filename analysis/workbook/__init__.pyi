from .opening import example, open_season
from .season import Season

__all__ = [
    "Season",
    "example",
    "open_season",
]
