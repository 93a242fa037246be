"""Owns the sheet of a season's months: words alone, so written as such, without a figure."""

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fpdf import FPDF
from matplotlib.colors import to_rgb
from matplotlib.font_manager import FontProperties, findfont

from analysis.show.base.html import shortened
from analysis.show.base.pictures import drawable
from analysis.show.base.style import INK, LINE, SETTINGS, SOFT
from analysis.show.card.text import CardText

SHEET_IN = (8.27, 11.0)
"""As wide as A4 and as tall as letter, so that one sheet is printed on either."""
MOST_RODS = 12
FEWEST_ROWS = 3
"""Of cards for which a sheet has room: the card of a single month is not drawn out over it."""
_POINT_IN = 1.0 / 72.0
_MARGIN_IN = 0.35
_WRITTEN = datetime(2000, 1, 1, tzinfo=UTC)
"""Date in every file, so that the same sheets are the same file."""
_COLUMNS = ((0.0, "L", True), (0.14, "L", False), (0.66, "R", True), (1.0, "R", False))
"""Place of a column as a share of the card's width, the side it is flush with, and whether bold:
rod, gear, line-out, and where it runs."""


@dataclass(frozen=True, kw_only=True)
class MonthSheet:
    """The cards of a boat's months.

    Attributes
    ----------
    heading, note : str
        What the sheet is of, and whose strikes it rests on.
    cards : sequence of CardText
        Eight at most.
    """

    heading: str
    note: str
    cards: Sequence[CardText]


def write_sheets(sheets: Iterable[MonthSheet], file: Path) -> None:
    """Write sheets as the pages of a PDF, black on white, two cards beside each other."""
    pdf = FPDF(unit="in", format=SHEET_IN)
    pdf.set_auto_page_break(auto=False)
    pdf.set_creation_date(_WRITTEN)
    for style, weight in (("", "normal"), ("B", "bold")):
        font = FontProperties(family=SETTINGS["font.family"], weight=weight)
        pdf.add_font("house", style, findfont(font))
    for sheet in sheets:
        pdf.add_page()
        writer = _Writer(pdf)
        writer.text(_MARGIN_IN, 0.5, shortened(sheet.heading, 44), 17, bold=True)
        writer.text(_MARGIN_IN, 0.72, shortened(sheet.note, 106), 10, colour=SOFT)
        rows = max((len(sheet.cards) + 1) // 2, FEWEST_ROWS)
        tall = (SHEET_IN[1] - 1.2) / rows
        for number, card in enumerate(sheet.cards):
            left = _MARGIN_IN + (number % 2) * (SHEET_IN[0] - _MARGIN_IN) / 2
            top = 0.8 + (number // 2) * tall
            _write_card(writer, card, left, top, tall - 0.1)
    pdf.output(str(file))


def _write_card(writer: "_Writer", card: CardText, left: float, top: float, tall: float) -> None:
    """Write one month's card: its answer, and a line a rod; places and sizes in inches."""
    wide = (SHEET_IN[0] - 3 * _MARGIN_IN) / 2
    rods = card.rods[:MOST_RODS]
    answer = textwrap.wrap(card.answer[0], 42)
    count = len(rods) + len(answer) + 2.6
    points = min(11.5, (tall - 0.1) / _POINT_IN / count / 1.3)

    def at(line: float) -> float:
        return top + line * tall / count

    writer.rule(left, at(0.05), wide)
    writer.text(left, at(1.1), card.when, points + 2, bold=True)
    writer.text(left + wide, at(1.1), dict(card.facts)["Speed"], points, align="R")
    for number, line in enumerate(answer):
        writer.text(left, at(2.4 + number), line, points)
    for number, rod in enumerate(rods):
        cells = shortened(rod.rod, 5), shortened(rod.gear, 14), rod.line_out, rod.depth
        for (x, align, bold), cell in zip(_COLUMNS, cells, strict=True):
            place = left + x * wide, at(2.6 + len(answer) + number)
            writer.text(*place, cell, points, bold=bold, align=align)


class _Writer:
    """Words and rules on a page; places in inches from its left and top."""

    def __init__(self, pdf: FPDF) -> None:
        self._pdf = pdf

    def text(
        self,
        x: float,
        y: float,
        text: str,
        points: float,
        *,
        bold: bool = False,
        align: str = "L",
        colour: str = INK,
    ) -> None:
        """Write a line that stands on ``y``, flush left or right with ``x``."""
        self._pdf.set_font("house", "B" if bold else "", points)
        self._pdf.set_text_color(*_of_255(colour))
        known = drawable(text)
        before = self._pdf.get_string_width(known) if align == "R" else 0.0
        self._pdf.text(x - before, y, known)

    def rule(self, x: float, y: float, wide: float) -> None:
        """Draw a line across."""
        self._pdf.set_draw_color(*_of_255(LINE))
        self._pdf.set_line_width(_POINT_IN)
        self._pdf.line(x, y, x + wide, y)


def _of_255(colour: str) -> tuple[int, int, int]:
    red, green, blue = (round(255 * part) for part in to_rgb(colour))
    return red, green, blue
