"""Owns the words of the tour: files as written, what a check prints, what each table bought."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from markupsafe import Markup

from analysis import labels
from analysis.show.base.html import Fragment
from analysis.show.base.tables import Table, from_rows
from analysis.show.workbook.cards import Card
from analysis.show.workbook.rows import Bought
from analysis.units import Units

_LINES = Markup('<pre tabindex="0" role="group" aria-label="{}" style="{}">{}</pre>')
_SCROLLS = "overflow-x: auto; white-space: pre; font-size: 88%; padding: 0.6em"
"""Lines stay as a terminal has them; 80 letters fit beside the lab's list of files."""
_VERDICTS = ("clear", "leaning", "open")
UNKNOWN = "unknown"


def file(name: str, content: str) -> Fragment:
    """Show what was written into a file."""
    head = Markup("<p>Written into <code>{}</code>:</p>").format(name)
    return Fragment(head + _LINES.format(name, _SCROLLS, content))


def printed(text: str) -> Fragment:
    """Show what a command prints, as it stands in a terminal."""
    return Fragment(_LINES.format("What the check prints", _SCROLLS, text.rstrip()))


def reviewed(boats: Sequence[str], first_lines: Sequence[str], page: Path) -> Card:
    """Say what stands first in a review, and where its page is."""
    return Card(
        title=f"The review of {labels.listing(boats)}",
        lines=[*first_lines, f"Its page, for any browser until this kernel ends: {page}"],
    )


def bought(steps: Sequence[Bought], units: Units) -> Table:
    """Set side by side how sure a season is with ever more of its tables.

    Parameters
    ----------
    steps : sequence of Bought
    units : Units
    """
    rows = [
        (
            step.tables,
            f"{labels.number(step.placed)} of {labels.number(step.strikes)}",
            labels.number(step.rod_hours),
            _give(step.depth_m, step.depth_sd_m, "depth", units),
            _give(step.temp_c, step.temp_sd_c, "temperature", units),
            step.verdict,
            _months(step.months),
            step.says,
        )
        for step in steps
    ]
    headings = (
        "The log with",
        "Strikes that count",
        "Rod-hours",
        "A usual lure's depth",
        "The water there",
        "Season",
        "Months",
        "What it says first",
    )
    return from_rows(
        "One season, told with ever more of its tables; ± spans 90 % of where a lure may have been",
        headings,
        rows,
        numbers=headings[1:5],
    )


def _give(mean: float, sd: float, quantity: str, units: Units) -> str:
    known = math.isfinite(mean) and math.isfinite(sd)
    return labels.give(mean, sd, quantity, units) if known else UNKNOWN


def _months(verdicts: Sequence[str]) -> str:
    """Count verdicts, the surest first.

    Examples
    --------
    >>> _months(["open", "clear", "clear"])
    '2 clear, 1 open'
    """
    counts = Counter(verdicts)
    return ", ".join(f"{counts[one]} {one}" for one in _VERDICTS if counts[one]) or "none"
