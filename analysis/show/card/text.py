"""Owns what stands on a card, in words, and the card as plain text."""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass

from numpy import float64
from numpy.typing import NDArray

Array = NDArray[float64]

WIDTH = 72
_TOGETHER = re.compile(r" (?=±|%)|(?<=±) |(?<=\d) (?=(?:ft|m|mph|kn|km/h|m/s|°F|°C)\b)")
RULE = "± and ranges hold nine times in ten."
"""The doubt beside every number of a card is its 90 % interval."""
CAUTION = (
    "Past fishing, no advice on safety: the skipper judges the day. Wear flotation, keep hands and "
    "face clear of lines and cables under load, and ask the local authority for limits and rules."
)
"""What of the cautions a card on paper has room for."""


@dataclass(frozen=True, kw_only=True)
class RodText:
    """One rod's line of a card, written in the boat's units.

    Attributes
    ----------
    rod, gear, line_out, line_outs, depth, temp, rate, rates, slow, fast : str
        ``line_outs`` says the range that does nearly as well, empty where it is one; ``rates`` the
        rate's interval; ``slow`` and ``fast`` what a speed off by a quarter costs.
    at, low, high : float
        Depth with its bounds, for the picture.
    """

    rod: str
    gear: str
    line_out: str
    line_outs: str
    depth: str
    temp: str
    rate: str
    rates: str
    slow: str
    fast: str
    at: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class CardText:
    """All that stands on a card.

    Attributes
    ----------
    boat, when : str
    answer : tuple of str
        Two sentences.
    facts : tuple of pairs of str
        What to set beside line-outs: speed, water, leaders.
    rods : tuple of RodText
    total : str
    notes : tuple of str
        What it rests on, and cautions about it.
    profile : (depths, 4) array
        Depth, temperature and its bounds in the boat's units, for the picture.
    band : tuple of float or None
    depth_unit, temp_unit : str
    alt : str
        The picture's finding.
    """

    boat: str
    when: str
    answer: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    rods: tuple[RodText, ...]
    total: str
    notes: tuple[str, ...]
    profile: Array
    band: tuple[float, float] | None
    depth_unit: str
    temp_unit: str
    alt: str

    @property
    def heading(self) -> str:
        """Boat and day."""
        return f"{self.boat}, {self.when}"


def plain_text(card: CardText, cautions: tuple[str, ...]) -> str:
    """Write a card for a screen or a message: nothing wider than `WIDTH`.

    Parameters
    ----------
    card : CardText
    cautions : tuple of str
        What stands on every report.
    """
    lines = [card.heading.upper(), "", *_wrapped(" ".join(card.answer)), ""]
    lines += [f"{name}: {value}" for name, value in card.facts]
    for rod in card.rods:
        lines += ["", f"{rod.rod}  {rod.gear}  {rod.line_out}"]
        water = f", {rod.temp}" if rod.temp else ""
        others = f"{rod.line_outs}; " if rod.line_outs else ""
        said = (
            f"{others}runs at {rod.depth}{water}; {rod.rate} an hour ({rod.rates}); "
            f"a quarter slower {rod.slow}, faster {rod.fast}"
        )
        lines += _wrapped(said, "    ")
    lines += ["", *_wrapped(card.total), RULE, ""]
    lines += [line for note in card.notes for line in _wrapped(note, "- ")]
    lines += ["", *(line for caution in cautions for line in _wrapped(caution))]
    return "\n".join(lines).rstrip() + "\n"


def kept(text: str) -> str:
    """Return a text in which no line breaks between a number and what belongs to it.

    Examples
    --------
    >>> kept("48 ± 7 ft, 51 %") == "48\u00a0±\u00a07\u00a0ft, 51\u00a0%"
    True
    """
    return _TOGETHER.sub("\u00a0", text)


def _wrapped(text: str, first: str = "") -> list[str]:
    lines = textwrap.wrap(
        kept(text), WIDTH, initial_indent=first, subsequent_indent=" " * len(first)
    )
    return [line.replace("\u00a0", " ") for line in lines]
