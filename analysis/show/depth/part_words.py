"""Owns what the parts of lines are called in pictures, and how their sizes are told."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class PartWords(NamedTuple):
    """Heading of a part's panel, and what is drawn there in full."""

    title: str
    size: str


PARTS: Mapping[str, PartWords] = MappingProxyType(
    {
        "second line": PartWords("second line on the cable", "{length} above a {weight} ball"),
        "clipped weight": PartWords("weight clipped on", "{weight} {length} ahead of the lure"),
        "planer": PartWords("planer", "{colours} colours of lead core behind it"),
        "keel weight": PartWords("keel weight", "{weight} ahead of {length} of leader"),
        "plug": PartWords("lure that dives", "a {dives} one on {line}"),
        "tripped": PartWords("diver that tripped", "on setting {setting:g}"),
        "joined core": PartWords("core joined to a diver", "{colours} colours next to the disc"),
    }
)
"""By the part's name in `analysis.report.depth_parts`, which has the sizes."""
