"""Owns labels that stand beside their points and never on each other, a point or the axis."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.text import Annotation
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from analysis.show.base.pictures import drawable
from analysis.show.base.style import INK, SOFT

Array = NDArray[np.float64]
GAP_PX = 2.0
"""Least room about a label."""
DOT_PT = 10.0
"""Width of the room that a point's mark takes, in points of type."""
RINGS = np.arange(6.0, 200.0, 7.0)
"""Distances from its point, in points of type, at which a label is tried, nearest first."""
ANGLES = np.deg2rad([-45.0, 45.0, 0.0, -135.0, 135.0, 180.0, -90.0, 90.0])
"""Directions in which a label is tried in the right half of a panel; mirrored in the left half."""
FAR_PT = 14.0
"""Beyond this a thin line leads from the label to its point."""


def label_apart(panel: Axes, points: Array, names: Sequence[str]) -> list[Annotation]:
    """Write a name beside each point, at the nearest place where it touches no name, point or axis.

    Call it when the panel's limits stand; the figure is laid out to know where points are.

    Parameters
    ----------
    panel : Axes
    points : (names, 2) array
        In the panel's data.
    names : sequence of str

    Returns
    -------
    list of Annotation
    """
    fig = panel.get_figure(root=True)
    assert fig is not None
    fig.draw_without_rendering()
    pixels = fig.dpi / 72.0
    middle = np.mean(panel.get_xlim())
    taken = [_dot(at, DOT_PT * pixels) for at in panel.transData.transform(points)]
    taken.append(_below(panel))
    written = []
    for (x, y), name in zip(points, names, strict=True):
        label = panel.annotate(
            drawable(name),
            (x, y),
            xytext=(0, 0),
            textcoords="offset points",
            ha="center",
            va="center",
            fontweight="bold",
            color=INK,
            annotation_clip=False,
        )
        label.set_in_layout(False)
        box = label.get_window_extent()
        half = np.array([box.width, box.height]) / 2.0
        outward = ANGLES if x >= middle else np.pi - ANGLES
        shift = free_shift(box, half, taken, RINGS * pixels, outward)
        label.set_position(tuple(shift / pixels))
        taken.append(_moved(box, shift))
        if np.hypot(*shift) > FAR_PT * pixels + half.max():
            panel.annotate(
                "", (x, y), xytext=tuple(shift / pixels), textcoords="offset points",
                arrowprops={"arrowstyle": "-", "color": SOFT, "linewidth": 0.8}, zorder=1,
            ).set_in_layout(False)  # fmt: skip
        written.append(label)
    return written


def _below(panel: Axes) -> Bbox:
    """Return the room of the axis under a panel and of its numbers."""
    fig = panel.get_figure(root=True)
    assert fig is not None
    return Bbox.from_extents(panel.bbox.x0, fig.bbox.y0, panel.bbox.x1, panel.bbox.y0)


def _dot(center: Array, width: float) -> Bbox:
    half = width / 2.0
    return Bbox([center - half, center + half])


def free_shift(box: Bbox, half: Array, taken: Sequence[Bbox], rings: Array, angles: Array) -> Array:
    """Return the shift, in pixels, to the nearest place that nothing has taken."""
    shift: Array = np.zeros(2)
    for ring in rings:
        for angle in angles:
            way = np.array([np.cos(angle), np.sin(angle)])
            shift = way * (ring + half)
            if not any(_moved(box, shift).padded(GAP_PX).overlaps(other) for other in taken):
                return shift
    return shift


def _moved(box: Bbox, shift: Array) -> Bbox:
    return Bbox.from_extents(*(box.extents + np.tile(shift, 2)))
