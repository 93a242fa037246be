"""Owns the test that the page of the Python interface holds all of it, each with an example."""

import inspect
import re

import pytest
import rodhours

from analysis.workbook.api import api, documented
from analysis.workbook.comparison import Comparison
from analysis.workbook.contrasts import Breakdown
from analysis.workbook.plot import Plots
from analysis.workbook.season import Season
from analysis.workbook.what_if import WhatIf

HANDED_OUT = {
    "season": Season,
    "season.plot": Plots,
    "comparison": Comparison,
    "breakdown": Breakdown,
    "whatif": WhatIf,
}
"""What a person has in hand after one call of a notebook -> what it is called on the page."""


@pytest.fixture(scope="module")
def names() -> list[str]:
    return [one.name for one in documented()]


@pytest.mark.parametrize("place", HANDED_OUT)
def test_every_public_name_of_what_is_handed_out_is_on_the_page(names, place) -> None:
    of = HANDED_OUT[place]
    public = {name for name, _ in inspect.getmembers(of) if not name.startswith("_")}
    assert "table" in public or len(public) > 3
    assert {f"{place}.{name}" for name in public} <= set(names)
    assert of.__name__ in names


def test_what_stands_at_the_top_of_the_package_is_on_the_page(names) -> None:
    assert {"rodhours.open", "rodhours.example", "Season"} <= set(names)
    assert rodhours.open.__name__ == "open_season"  # as the page's name says it is called
    assert len(names) == len(set(names))


def test_every_name_is_described_and_every_call_has_an_example() -> None:
    for one in documented():
        assert one.doc.strip(), one.name
        if one.call or one.is_class:
            assert ">>> " in one.doc, one.name


def test_the_page_shows_calls_without_types_and_escapes_what_it_shows() -> None:
    page = str(api().html)
    assert "<h2><code>rodhours.open(season=None, *, band=None, leave_out=())</code></h2>" in page
    assert "<h3><code>season.compare(other)</code></h3>" in page
    assert "&gt;&gt;&gt; import rodhours" in page
    assert re.findall(r"-{4,}|``", page) == []
