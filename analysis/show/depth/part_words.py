"""Owns what the parts of lines are called in pictures, and the sizes that are drawn."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class PartWords(NamedTuple):
    """Heading of a part's panel, and what is drawn there in full."""

    title: str
    size: str


PARTS: Mapping[str, PartWords] = MappingProxyType(
    {
        "second line": PartWords("second line on the cable", "20 ft above a 10 lb ball"),
        "clipped weight": PartWords("weight clipped on", "3 oz 60 ft ahead of the lure"),
        "planer": PartWords("planer", "three colours of lead core behind it"),
        "keel weight": PartWords("keel weight", "3 oz ahead of a 6 ft leader"),
        "plug": PartWords("lure that dives", "a medium one on 20 lb mono"),
        "tripped": PartWords("diver that tripped", "on setting 1"),
        "joined core": PartWords("core joined to a diver", "three colours next to the disc"),
    }
)
"""By the part's name in `analysis.report.depth_parts`."""
