"""Owns what the parts of lines are called in pictures, and the sizes that are drawn."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class PartWords(NamedTuple):
    """Heading of a part's panel, what is drawn there in full, and a length in it, in metres."""

    title: str
    size: str
    length_m: float = 0.0


PARTS: Mapping[str, PartWords] = MappingProxyType(
    {
        "second line": PartWords("second line on the cable", "{} above a 10 lb ball", 6.1),
        "clipped weight": PartWords("weight clipped on", "3 oz {} ahead of the lure", 18.3),
        "planer": PartWords("planer", "three colours of lead core behind it"),
        "keel weight": PartWords("keel weight", "3 oz ahead of {} of leader", 1.8),
        "plug": PartWords("lure that dives", "a medium one on 20 lb mono"),
        "tripped": PartWords("diver that tripped", "on setting 1"),
        "joined core": PartWords("core joined to a diver", "three colours next to the disc"),
    }
)
"""By the part's name in `analysis.report.depth_parts`."""
