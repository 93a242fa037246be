"""Owns the spread drawn as lines of a page, quick enough to move with a slider that is dragged.

`analysis.show.depth.figures.spread_shape` draws the same for paper, in half a second; this takes
milliseconds, and lies so low and wide that it is seen together with the controls that move it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from markupsafe import Markup
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from analysis import labels
from analysis.result_rows import records
from analysis.show.base.apart import ANGLES, RINGS, free_shift
from analysis.show.base.html import Fragment, Told, each, paragraph
from analysis.show.base.style import BEST, EFFORT, INK, LINE, OTHER, SOFT
from analysis.show.depth.rows import LineEnd
from analysis.units import Units, from_si

Array = NDArray[np.float64]
_BEHIND_PX, _ABOVE_PX, _TALL_PX = 300.0, 370.0, 190.0
"""Most width of each view, and height of both, in which a view is drawn to its own scale."""
_LEFT_PX, _TOP_PX, _BOTTOM_PX, _EDGE_PX = 58.0, 26.0, 40.0, 22.0
"""Room for the words about a view, and within it for names beside the outermost lures."""
_DOT_PX = 5.0
_LETTER_PX, _LINE_PX = 8.0, 14.0
"""Room of a bold letter of 12 px, and of a line of them: no browser's sans is wider."""
_BOLD = Markup(' font-weight="bold" stroke="white" stroke-width="3" paint-order="stroke"')
"""Names stand on lines, and are read by their white rim."""
_TICKS = MaxNLocator(nbins=5, steps=[1, 2, 5, 10])


def spread_lines(paths: pd.DataFrame, ends: pd.DataFrame, units: Units, *, told: Told) -> Fragment:
    """Draw each line of a spread from behind and, beside it, from above.

    Parameters
    ----------
    paths : pandas.DataFrame
        ``rod, astern_m, across_m, depth_m``, points from lure to rod tip.
    ends : pandas.DataFrame
        ``rod, across_m, astern_m, depth_m, depth_sd_m, reason``.
    units : Units
    told : Told
        Its description and caption; what stands instead where no line reaches the depth.
    """
    known = [row for row in records(LineEnd, ends) if not row.reason]
    if not known:
        return paragraph(told.missing, "absent")
    names, unit = [row.rod for row in known], labels.unit_of("length", units)
    across, depth, astern, doubt = _lengths(
        [[row.across_m, row.depth_m, row.astern_m, labels.Z90 * row.depth_sd_m] for row in known],
        units,
    ).T
    lines = [
        _lengths(line[["across_m", "depth_m", "astern_m"]], units).T
        for _, line in paths.groupby("rod", sort=False)
    ]
    side = max(float(np.abs(line[0]).max(initial=1.0)) for line in lines)
    tip = min(float(line[1].min(initial=0.0)) for line in lines)
    sides = f"port · to the side, {unit} · starboard"
    behind = _View.fitted(
        title="from behind",
        across=sides,
        down=f"depth, {unit}",
        left=_LEFT_PX,
        room=_BEHIND_PX,
        x=(-side, side),
        y=(tip, float((depth + doubt).max())),
    )
    above = _View.fitted(
        title="from above",
        across=f"astern, {unit}",
        down=sides,
        left=behind.left + _BEHIND_PX + _LEFT_PX + _EDGE_PX,
        room=_ABOVE_PX,
        x=(0.0, float(astern.max())),
        y=(-side, side),
    )
    parts = [
        behind.water(),
        *(view.axes() for view in (behind, above)),
        *(behind.line(*line[:2]) for line in lines),
        *(above.line(line[2], -line[0]) for line in lines),
        *(
            behind.line(np.array([x, x]), np.array([max(z - sd, 0.0), z + sd]), SOFT)
            for x, z, sd in zip(across, depth, doubt, strict=True)
        ),
        behind.ends(across, depth, names),
        above.ends(astern, -across, names),
    ]
    drawn = Markup(
        '<svg role="img" aria-label="{}" viewBox="0 0 {w:.0f} {h:.0f}" width="{w:.0f}" '
        'style="max-width:100%;height:auto;display:block" font-family="sans-serif" '
        'font-size="12">{}</svg>'
    ).format(
        told.alt,
        Markup().join(parts),
        w=above.left + _ABOVE_PX + _EDGE_PX,
        h=max(behind.bottom, above.bottom) + _BOTTOM_PX,
    )
    below = each("<figcaption>{}</figcaption>", [told.caption])
    return Fragment(
        Markup('<figure style="margin:0;background:white;color:{}">{}{}</figure>').format(
            INK, drawn, below
        )
    )


def _lengths(values_m: object, units: Units) -> Array:
    return np.asarray(from_si(np.asarray(values_m, dtype=float), "length", units.length))


@dataclass(frozen=True, kw_only=True)
class _View:
    """One view of the spread: its words, its place in the picture, and what lies where in it."""

    title: str
    across: str
    down: str
    left: float
    scale: float
    x: tuple[float, float]
    y: tuple[float, float]

    @classmethod
    def fitted(cls, *, room: float, **view: Any) -> _View:
        """Return a view at the greatest scale, the same both ways, that its room allows."""
        wide, tall = (high - low for low, high in (view["x"], view["y"]))
        return cls(**view, scale=min((room - 2 * _EDGE_PX) / wide, _TALL_PX / tall))

    @property
    def right(self) -> float:
        return self.left + 2 * _EDGE_PX + (self.x[1] - self.x[0]) * self.scale

    @property
    def bottom(self) -> float:
        return _TOP_PX + 2 * _EDGE_PX + (self.y[1] - self.y[0]) * self.scale

    def at_x(self, value: Any) -> Any:
        return self.left + _EDGE_PX + (value - self.x[0]) * self.scale

    def at_y(self, value: Any) -> Any:
        return _TOP_PX + _EDGE_PX + (value - self.y[0]) * self.scale

    def water(self) -> Markup:
        top = self.at_y(0.0)
        return Markup(
            '<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" fill="{}" '
            'fill-opacity="0.5"/>'
        ).format(self.left, top, self.right - self.left, self.bottom - top, EFFORT)

    def axes(self) -> Markup:
        """Write the view's title, its two scales and what they are."""
        middle_x, middle_y = (self.left + self.right) / 2, (_TOP_PX + self.bottom) / 2
        below, beside = _ticks(*self.x), _ticks(*self.y)
        frame = [
            ((self.left, self.left), (_TOP_PX, self.bottom)),
            ((self.left, self.right), (self.bottom, self.bottom)),
            *(((x, x), (self.bottom, self.bottom + 4)) for x in map(self.at_x, below)),
            *(((self.left - 4, self.left), (y, y)) for y in map(self.at_y, beside)),
        ]
        return Markup().join(
            [
                *(_polyline(*stroke, LINE) for stroke in frame),
                _text(self.left, _TOP_PX - 10, self.title, "start", bold=True),
                _text(middle_x, self.bottom + 33, self.across),
                *(_text(self.at_x(x), self.bottom + 17, f"{abs(x):g}") for x in below),
                *(_text(self.left - 7, self.at_y(y) + 4, f"{abs(y):g}", "end") for y in beside),
                Markup('<g transform="translate({:.1f} {:.1f}) rotate(-90)">{}</g>').format(
                    self.left - 40, middle_y, _text(0, 0, self.down)
                ),
            ]
        )

    def line(self, x: Array, y: Array, colour: str = OTHER) -> Markup:
        return _polyline(self.at_x(x), self.at_y(y), colour)

    def ends(self, x: Array, y: Array, names: Sequence[str]) -> Markup:
        """Mark the lures, each with its rod beside it where it touches no other."""
        dots = np.column_stack([self.at_x(x), self.at_y(y)])
        taken = [Bbox([dot - _DOT_PX, dot + _DOT_PX]) for dot in dots]
        marked, written = [], []
        for dot, name in zip(dots, names, strict=True):
            half = np.array([_LETTER_PX * len(name), _LINE_PX]) / 2.0
            box = Bbox([dot - half, dot + half])
            outward = ANGLES if dot[0] >= (self.left + self.right) / 2 else np.pi - ANGLES
            shift = free_shift(box, half, taken, RINGS, outward)
            there = dot + shift
            taken.append(Bbox([there - half, there + half]))
            if np.hypot(*shift) > 3 * _DOT_PX + half.max():
                along, down = np.column_stack([dot, there])
                marked.append(_polyline(along, down, SOFT))
            circle = Markup('<circle cx="{:.1f}" cy="{:.1f}" r="{}" fill="{}"/>')
            marked.append(circle.format(*dot, _DOT_PX, BEST))
            written.append(_text(there[0], there[1] + 4, name, bold=True))
        return Markup().join([*marked, *written])


def _ticks(low: float, high: float) -> list[float]:
    return [float(one) for one in _TICKS.tick_values(low, high) if low <= one <= high]


def _text(x: float, y: float, text: str, anchor: str = "middle", *, bold: bool = False) -> Markup:
    return Markup('<text x="{:.1f}" y="{:.1f}" text-anchor="{}" fill="{}"{}>{}</text>').format(
        x, y, anchor, INK, _BOLD if bold else "", text
    )


def _polyline(x: Sequence[float] | Array, y: Sequence[float] | Array, colour: str) -> Markup:
    points = " ".join(f"{one:.1f},{other:.1f}" for one, other in zip(x, y, strict=True))
    return Markup('<polyline points="{}" fill="none" stroke="{}" stroke-width="1.4"/>').format(
        points, colour
    )
