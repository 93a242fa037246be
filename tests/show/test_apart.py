"""Owns the tests of labels: none lies on another, however near their points are."""

from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show.base.apart import label_apart
from analysis.show.depth import figures
from analysis.units import Units


@pytest.fixture
def ax() -> Axes:
    return Figure(figsize=(6.4, 6.0), layout="constrained").subplots()


def overlaps(panel: Axes) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes share a pixel in the drawn figure."""
    fig = panel.get_figure(root=True)
    fig.draw_without_rendering()
    boxes = [(text.get_text(), text.get_window_extent()) for text in panel.texts]
    named = [(name, box) for name, box in boxes if name]
    return [
        (one, other) for (one, a), (other, b) in combinations(named, 2) if a.overlaps(b)
    ]  # fmt: skip


@pytest.mark.parametrize("apart", [0.0, 0.01, 0.05])
def test_labels_of_near_points_lie_apart(ax: Axes, apart: float) -> None:
    points = [(0.5 + apart * number, 0.5) for number in range(12)]
    names = [f"rod {number}" for number in range(12)]
    ax.set_xlim(0, 1)
    label_apart(ax, np.array(points), names)
    assert [text.get_text() for text in ax.texts if text.get_text()] == names
    assert overlaps(ax) == []


def test_no_label_lies_on_a_point_and_each_stands_on_its_outer_side(ax: Axes) -> None:
    ax.set_xlim(-10, 10)
    ax.set_ylim(20, 0)
    points = np.array([(-4.0, 11.0), (-3.0, 11.2), (3.0, 11.2), (4.0, 11.0)])
    written = label_apart(ax, points, ["PR", "PW", "SW", "SR"])
    ax.figure.draw_without_rendering()
    for label in written:
        box = label.get_window_extent()
        assert not any(box.contains(*at) for at in ax.transData.transform(points))
    middle = {label.get_text(): label.get_window_extent().x0 for label in (written[0], written[3])}
    at_points = ax.transData.transform(points)
    assert middle["PR"] < at_points[0][0]
    assert middle["SR"] > at_points[3][0]


def test_a_label_does_not_lie_on_the_axis_below_its_point(ax: Axes) -> None:
    ax.set_xlim(-10, 10)
    ax.set_ylim(20, 0)
    (label,) = label_apart(ax, np.array([(-1.0, 19.5)]), ["PW"])
    ax.figure.draw_without_rendering()
    assert label.get_window_extent().y0 > ax.bbox.y0


def test_the_check_would_find_a_pile(ax: Axes) -> None:
    for name in ("P1", "P2"):
        ax.annotate(name, (0.5, 0.5), xytext=(6, -8), textcoords="offset points")
    assert overlaps(ax) == [("P1", "P2")]


def test_rods_of_a_wide_spread_are_told_apart_from_behind_and_above(ax: Axes) -> None:
    """Twelve rods whose lures run within a few feet of depth, as one spread puts them."""
    names = [f"{side}{place}" for place in range(1, 7) for side in "PS"]
    across = [(-1 if name[0] == "P" else 1) * (2.0 + 1.5 * int(name[1])) for name in names]
    ends = pd.DataFrame(
        {
            "rod": names, "side": "port", "gear": "disc", "setting": 1.0, "line_out_m": 30.0,
            "depth_m": 14.0, "depth_sd_m": 1.0, "across_m": across, "astern_m": 25.0, "reason": "",
        }
    )  # fmt: skip
    paths = pd.concat(
        pd.DataFrame(
            {"rod": name, "astern_m": [25.0, 0.0], "across_m": [x, x / 4], "depth_m": [14.0, -2.0]}
        )
        for name, x in zip(names, across, strict=True)
    )
    units = Units(
        length="m", depth="m", speed="km/h", temperature="C", fish_length="cm", fish_weight="kg"
    )
    figures.spread_shape(paths, ends, units, ax=ax)
    panels = [panel for panel in ax.figure.axes if panel.get_title(loc="left")]
    for panel in panels:
        assert sorted(text.get_text() for text in panel.texts if text.get_text()) == sorted(names)
        assert overlaps(panel) == []
