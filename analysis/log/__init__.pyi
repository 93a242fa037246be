from .boat import Boat
from .read import SeasonLog, read_log

__all__ = [
    "Boat",
    "SeasonLog",
    "read_log",
]
