"""Owns the tests of tables: marked headers, escaping, plain text."""

import pytest
from bs4 import BeautifulSoup

from analysis.show.base.tables import Table


def table() -> Table:
    return Table(
        caption="Rates & hours",
        columns={"Depth": ["30–40 ft", "<b>40</b>"], "Hours": ["62", "1,204"]},
        numbers=frozenset({"Hours"}),
        named=(False, True),
    )


def test_headers_are_marked_and_rows_named() -> None:
    page = BeautifulSoup(table().html, "html.parser")
    assert [cell["scope"] for cell in page.select("thead th")] == ["col", "col"]
    assert [cell["scope"] for cell in page.select("tbody th")] == ["row", "row"]
    assert [row.get("class") for row in page.select("tbody tr")] == [None, ["named"]]
    assert [cell["class"][0] for cell in page.select("td")] == ["number", "number"]


def test_all_text_is_escaped() -> None:
    markup = table().html
    assert "<b>" not in markup
    assert "&lt;b&gt;40&lt;/b&gt;" in markup
    assert 'aria-label="Rates &amp; hours"' in markup


def test_plain_text_lines_up() -> None:
    assert table().text().splitlines() == [
        "Depth      Hours",
        "30–40 ft      62",
        "<b>40</b>  1,204",
    ]


def test_table_without_rows_says_so() -> None:
    empty = Table(caption="Gaps", columns={"What": []}, nothing="No gap.")
    assert empty.html == '<p class="absent">No gap.</p>'
    assert empty.text() == "No gap."


def test_columns_of_different_length_are_refused() -> None:
    with pytest.raises(ValueError, match=r"one length, not \[1, 2\]"):
        Table(caption="", columns={"a": ["1"], "b": ["1", "2"]})


def test_row_without_a_name_has_a_dash_for_those_who_listen() -> None:
    page = BeautifulSoup(Table(caption="c", columns={"a": [""], "b": [""]}).html, "html.parser")
    assert [cell.text for cell in page.select("tbody th, tbody td")] == ["–", ""]
