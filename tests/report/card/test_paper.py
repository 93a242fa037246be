"""Owns the tests of a card on paper: what is printed large enough for a wet deck stays apart."""

from itertools import combinations

import numpy as np
import pytest

from analysis.show.base.style import CARD_SIZES_IN
from analysis.show.card.paper import card_page
from analysis.show.card.text import CardText, RodText


def card_of(rods):
    """A card of the widest cells that boats of feet and degrees Fahrenheit have."""
    made = [
        RodText(
            rod=f"P{number}",
            gear="diver 3",
            line_out="300 ft",
            line_outs="235–280 for a rod alone",
            depth="145 ± 10 ft",
            temp="47 ± 11 °F",
            rate="0.28",
            rates="0.17–0.42",
            slow="+190 %",
            fast="−156 %",
            at=45.0,
            low=35.0,
            high=55.0,
        )
        for number in range(rods)
    ]
    return CardText(
        boat="Old Mary",
        when="14 June 2026",
        answer=("Fish 40–60 ft: likely, not sure.", "It is 98 % sure."),
        facts=(("Speed", "2.3 mph"),),
        rods=tuple(made),
        total="6 rods",
        notes=("Rests on 118 strikes.",),
        profile=np.empty((0, 4)),
        band=(40.0, 60.0),
        depth_unit="ft",
        temp_unit="°F",
        alt="",
    )


@pytest.mark.parametrize("size", CARD_SIZES_IN)
@pytest.mark.parametrize("rods", [2, 6, 12])
def test_no_number_of_a_row_runs_into_the_next(rods, size):
    """45 ± 10 ft and 47 ± 11 °F stood as "10 ft47"."""
    fig = card_page(card_of(rods), size=size)
    fig.draw_without_rendering()
    boxes = [
        (text.get_text(), text.get_window_extent())
        for text in fig.texts
        if text.get_text() and text.get_text().strip()
    ]
    by_line = [
        (one, other)
        for one, other in combinations(boxes, 2)
        if min(one[1].y1, other[1].y1) - max(one[1].y0, other[1].y0)
        > 0.5 * min(one[1].height, other[1].height)
    ]
    assert len(by_line) >= 10 * rods
    for (left, one), (right, other) in by_line:
        assert one.x1 <= other.x0 or other.x1 <= one.x0, (left, right)
