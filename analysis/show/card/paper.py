"""Owns cards on paper: large print for a wet deck, one page a card."""

import textwrap
from collections.abc import Sequence
from itertools import pairwise

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from analysis.show.base.html import shortened
from analysis.show.base.pictures import drawable
from analysis.show.base.style import CARD_SIZES_IN, INK, LINE, SETTINGS, SOFT
from analysis.show.card.picture import rods_in_water
from analysis.show.card.text import CAUTION, RULE, CardText, kept

MOST_RODS = 12
_POINT_IN = 1.0 / 72.0
_MARGIN_IN = 0.35
_GAP = 0.02
"""Share of the width between two cells of a row."""
_COLUMNS = ((0.0, "left"), (0.13, "left"), (0.53, "right"), (0.78, "right"), (1.0, "right"))
_HEADINGS = ("rod", "gear", "line out", "runs at", "water")


class _Page:
    """A page that is written from the top down."""

    def __init__(self, fig: Figure) -> None:
        self.fig = fig
        self.width, self.height = fig.get_size_inches()
        self.at = self.height - _MARGIN_IN

    @property
    def inside(self) -> float:
        return float(self.width - 2 * _MARGIN_IN)

    def text(self, text: str, points: float, *, bold: bool = False, colour: str = INK) -> None:
        """Write a paragraph over the whole width."""
        wide = int(self.inside / (points * _POINT_IN * (0.6 if bold else 0.55)))
        for line in textwrap.wrap(drawable(kept(text)), wide):
            self.at -= 1.25 * points * _POINT_IN
            self.fig.text(
                _MARGIN_IN / self.width,
                self.at / self.height,
                line,
                fontsize=points,
                fontweight="bold" if bold else "normal",
                color=colour,
            )

    def fitting(self, rows: Sequence[Sequence[str]], points: float) -> float:
        """Return the size, so many points at most, at which no cell of rows runs into the next."""
        for cells in rows:
            told = [(*at, cell) for at, cell in zip(_COLUMNS, cells, strict=True) if cell]
            for (x, align, cell), (next_x, next_align, following) in pairwise(told):
                wide = _width(cell) * (align == "left") + _width(following) * (
                    next_align == "right"
                )
                room = (next_x - x - _GAP) * self.inside / _POINT_IN
                points = min(points, room / wide) if wide > 0 else points
        return points

    def row(
        self,
        cells: Sequence[str],
        points: float,
        *,
        bold: Sequence[int] = (),
        colour: str = INK,
    ) -> None:
        """Write one row of the rods' table."""
        self.at -= 1.2 * points * _POINT_IN
        for number, ((x, align), cell) in enumerate(zip(_COLUMNS, cells, strict=True)):
            self.fig.text(
                (_MARGIN_IN + x * self.inside) / self.width,
                self.at / self.height,
                cell,
                fontsize=points,
                ha=align,
                fontweight="bold" if number in bold else "normal",
                color=colour,
            )

    def rule(self) -> None:
        """Draw a line across."""
        self.at -= 0.06
        ends = [_MARGIN_IN / self.width, 1.0 - _MARGIN_IN / self.width]
        self.fig.add_artist(
            mpl.lines.Line2D(ends, [self.at / self.height] * 2, color=LINE, linewidth=1.0)
        )

    def space(self, inches: float) -> None:
        self.at -= inches

    def axes(self, least_in: float) -> Axes | None:
        """Give what is left of the page to a picture; None where that is too little."""
        left, low = 0.75, 0.62
        high = self.at - 0.12
        if high - low < least_in:
            return None
        return self.fig.add_axes(
            (
                left / self.width,
                low / self.height,
                (self.width - left - _MARGIN_IN) / self.width,
                (high - low) / self.height,
            )
        )


def _width(text: str) -> float:
    """Width of a text in points, at one point."""
    bold = FontProperties(weight="bold", size=1)
    return text_to_path.get_text_width_height_descent(text, bold, ismath=False)[0]


def card_page(card: CardText, *, size: str) -> Figure:
    """Draw a day's card.

    Parameters
    ----------
    card : CardText
    size : str
        A key of `CARD_SIZES_IN`.

    Returns
    -------
    matplotlib.figure.Figure
        One page; black on white, so that any printer will do.
    """
    with mpl.rc_context(dict(SETTINGS)):
        page = _Page(Figure(figsize=CARD_SIZES_IN[size]))
        page.text(shortened(card.heading, 34), 17, bold=True)
        page.space(0.05)
        page.text(card.answer[0], 15, bold=True)
        for sentence in card.answer[1:]:
            page.text(sentence, 11)
        page.space(0.06)
        page.text("   ".join(f"{name}: {value}" for name, value in card.facts), 10.5)
        _rods(page, card)
        page.text(card.total, 11, bold=True)
        for note in card.notes:
            page.text(f"· {note}", 7.5, colour=SOFT)
        page.text(f"· {RULE}", 7.5, colour=SOFT)
        page.text(f"· {CAUTION}", 7.5, colour=SOFT)
        if card.rods and (ax := page.axes(1.2)) is not None:
            rods_in_water(card, ax=ax)
    return page.fig


def _rods(page: _Page, card: CardText) -> None:
    """Write a line for each rod, and small beneath it what else is to know."""
    rods = card.rods[:MOST_RODS]
    points = max(9.5, min(15.0, 110.0 / max(len(rods), 1)))
    page.space(0.05)
    page.row(_HEADINGS, 8.5, colour=SOFT)
    large = [
        (
            shortened(drawable(rod.rod), 5),
            shortened(drawable(rod.gear), 15),
            rod.line_out,
            rod.depth,
            rod.temp or "–",
        )
        for rod in rods
    ]
    small = [
        (
            "",
            f"{rod.rate} ({rod.rates})",
            rod.line_outs,
            f"slow {rod.slow}, fast {rod.fast}",
            "",
        )
        for rod in rods
    ]
    points, fine = page.fitting(large, points), page.fitting(small, 7.5)
    for cells, beneath in zip(large, small, strict=True):
        page.rule()
        page.row(cells, points, bold=(0, 2))
        page.row(beneath, fine, colour=SOFT)
    page.rule()
    page.space(0.05)
